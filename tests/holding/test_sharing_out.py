"""Screws and clamps over the pieces, worked out by hand: the sheet keeps two, then the largest pieces first."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from millcalc.holding.forces import demands
from millcalc.holding.judge import clamp_areas
from millcalc.holding.places import lattice
from millcalc.holding.propose import Plan, Planner
from millcalc.holding.regions import Regions
from millcalc.holding.room import room_beside
from millcalc.holding.span import span_mm
from millcalc.preflight.context import Context
from tests.holding.cases import context

SIDES = ("x_min", "x_max", "y_min", "y_max")


def planner(sides_mm: list[float], kept: list[int], clamped: set[int] = frozenset()) -> Planner:
    """A sheet and square pieces in it, of these sides, with so many screws kept in each."""
    made = Planner.__new__(Planner)
    made.count, made.clamped = len(sides_mm), set(clamped)
    made.kept = [np.zeros((count, 2)) for count in kept]
    made.open = [SimpleNamespace(at_mm=np.zeros((9, 2))) for _ in sides_mm]
    made.regions = SimpleNamespace(box_mm=lambda k: (10.0, 10.0 + sides_mm[k], 5.0, 5.0 + sides_mm[k]))
    return made


@pytest.mark.parametrize(("side_mm", "least"), [(39.9, 1), (40.0, 2), (60.0, 2)])
def test_a_piece_starts_from_two_screws_from_forty_on(side_mm: float, least: int) -> None:
    assert planner([160.0, side_mm], [0, 0]).least(1) == least
    assert planner([160.0, side_mm], [0, 0]).least(0) == 4
    assert planner([160.0, side_mm], [0, 0], {1}).least(1) == 0


@pytest.mark.parametrize(
    ("kept", "total", "shared"),
    [
        ([0, 0, 0], 1, [1, 0, 0]),
        ([0, 0, 0], 2, [2, 0, 0]),
        ([0, 0, 0], 3, [2, 1, 0]),
        ([0, 0, 0], 4, [2, 1, 1]),
        ([0, 0, 0], 5, [2, 2, 1]),
        ([0, 0, 0], 7, [4, 2, 1]),
        ([1, 0, 0], 5, [2, 2, 1]),
        ([2, 1, 0], 5, [2, 2, 1]),
    ],
)
def test_screws_are_shared_out(kept: list[int], total: int, shared: list[int]) -> None:
    """Pieces of 60 and 30 mm: two screws and one; what is left over goes to the sheet."""
    assert planner([160.0, 60.0, 30.0], kept)._shared_out(total) == shared


def test_a_clamp_holds_the_pieces_whose_cells_it_covers() -> None:
    """Cells of 2 mm with middles at 1, 3 ... 19: the left half is the sheet, the right one a piece."""
    piece = np.zeros((10, 10), np.int32)
    piece[:, 5:] = 1
    piece[:5, :] = -1  # the front half is cut away
    regions = SimpleNamespace(piece=piece, field=SimpleNamespace(x0_mm=1.0, y0_mm=1.0, cell_mm=2.0))

    def met(*box: float) -> set[int]:
        return clamp_areas(
            ((SimpleNamespace(holds=True), SimpleNamespace(**dict(zip(SIDES, box, strict=True)))),), regions
        )

    assert met(0, 20, 0, 8) == set()
    assert met(0, 8, 0, 20) == {0} and met(12, 20, 12, 20) == {1} and met(8, 12, 16, 18) == {0, 1}
    assert met(0, 8, 9.2, 10.8) == set() and met(0, 8, 9.2, 11.2) == {0}
    assert met(8.8, 10.8, 12, 18) == {0} and met(9.2, 11.2, 12, 18) == {1}
    assert clamp_areas(None, regions) == set()


def test_whole_multiples_of_a_step() -> None:
    """Of 2 mm from -3 to 4 and from 5 to 9; of 0.5 mm from 0.6 to 1.4."""
    assert lattice((-3.0, 4.0, 5.0, 9.0), 2.0).tolist() == [[x, y] for y in (6, 8) for x in (-2, 0, 2, 4)]
    assert lattice((0.6, 1.4, 0.5, 1.5), 0.5).tolist() == [[1.0, 0.5], [1.0, 1.0], [1.0, 1.5]]


def test_some_places_of_a_piece_are_spread_over_it() -> None:
    """Ten cells of 2 mm each way from (3, 5): four of a hundred are every fifth."""
    field = SimpleNamespace(x0_mm=3.0, y0_mm=5.0, cell_mm=2.0)
    piece = np.zeros((10, 10), np.int32)
    whole = np.array([[0, 10, 0, 10]])
    rim, edge = np.zeros((10, 10), bool), np.array([True])
    regions = Regions(field, piece, rim, np.array([100]), whole, edge, 0)
    assert regions.some_places(0, 4).tolist() == [[3, 5], [13, 5], [3, 15], [13, 15]]
    assert len(regions.some_places(0, 100)) == 100


def test_a_head_beside_a_clamp_and_another_head() -> None:
    """A clamp from (10, 20) to (30, 40), a head of 4 mm, 4 mm for the driver: sqrt(20^2 + 10^2) - 8 off a corner."""
    clamp = SimpleNamespace(x_min=10.0, x_max=30.0, y_min=20.0, y_max=40.0)
    at = np.array([[50.0, 50.0], [20.0, 60.0], [50.0, 30.0], [20.0, 30.0]])
    found = room_beside(at, (clamp,), np.zeros((0, 3)), 4.0)
    assert found == pytest.approx([math.hypot(20.0, 10.0) - 8.0, 12.0, 12.0, -8.0])
    assert room_beside(at, (), np.array([[50.0, 40.0, 3.0]]), 4.0)[2] == pytest.approx(10.0 - 11.0)


def test_the_farthest_cut_from_a_screw_or_a_clamp() -> None:
    """From the corner (30, 40) of a clamp to (60, 80): 50 mm; a screw at (60, 70) is 10 mm off."""
    clamp = SimpleNamespace(x_min=10.0, x_max=30.0, y_min=20.0, y_max=40.0)
    none = np.zeros((0, 2))
    assert span_mm(np.array([[60.0, 80.0], [20.0, 45.0]]), none, (clamp,)) == pytest.approx(50.0)
    assert span_mm(np.array([[60.0, 80.0]]), np.array([[60.0, 70.0]]), (clamp,)) == pytest.approx(10.0)
    assert span_mm(np.array([[20.0, 30.0], [15.0, 25.0]]), none, (clamp,)) == 0.0
    assert span_mm(none, none, (clamp,)) is None


def test_a_piece_without_a_screw_is_named_by_size_and_place() -> None:
    made = planner([160.0, 44.0], [0, 0])
    made.say = context("G21 G90 G0 Z5\nM30\n").say
    plan = Plan([np.zeros((4, 2)), np.zeros((0, 2))], [None, None])
    made._tell(plan, None)
    assert plan.problems == [
        "the piece of 44 mm by 44 mm about X 32 mm, Y 27 mm: no screw is left for it; "
        "leave it on tabs, or mill all of it away"
    ]


@pytest.mark.parametrize("lacking", ["machine", "material"])
def test_forces_want_machine_and_material(lacking: str) -> None:
    known = context("G21 G90 G0 Z5\nM30\n")
    ctx = Context(known.program, replace(known.setup, **{lacking: None}), None, "mm", {}, "not asked for")
    assert demands(ctx) == ((), ("forces: the machine or the material is unknown",))
    assert demands(known) == ((), ())
