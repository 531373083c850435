"""Shank and collet nut against the stock, and depth into the bed. Kind of number: exact."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from millcalc.stock.cutter_shapes import flat
from millcalc.stock.shapes import CutterShape
from tests.stock.paths import Box, arc_move, cut, run

THICK = Box(z_min=-20.0)


def fitted(
    flutes: float = 50.0, shank: float = 0.0, stickout: float = math.inf, nut: float = 0.0
) -> CutterShape:
    return replace(
        flat(6.0),
        flute_length_mm=flutes,
        shank_radius_mm=shank / 2,
        stickout_mm=stickout,
        nut_radius_mm=nut / 2,
    )


def levels(bottom: float, step: float = 2.0) -> list[dict[str, object]]:
    moves: list[dict[str, object]] = []
    depth = step
    while depth < bottom + 1e-9:
        moves += cut([(30, 40), (70, 40)], -depth)
        depth += step
    return moves


def test_shank_rubs_below_the_flutes() -> None:
    """A slot 12 mm deep with 8 mm of flutes and a shank of the cutter's diameter: 4 mm of wall against the shank."""
    removal = run(levels(12.0), fitted(flutes=8.0, shank=6.0), THICK)
    assert removal.shank_contact_mm[22] == pytest.approx(4.0, abs=1e-3)
    assert removal.shank_contact_mm[14] == 0  # the level at 8 mm is just reached by the flutes
    assert removal.shank_contact_mm[18] == pytest.approx(2.0, abs=1e-3)


def test_thinner_shank_is_free_and_thicker_one_hits_sooner() -> None:
    assert run(levels(12.0), fitted(flutes=8.0, shank=5.0), THICK).shank_contact_mm.max() == 0
    assert run(levels(12.0), fitted(flutes=8.0, shank=8.0), THICK).shank_contact_mm[22] == pytest.approx(
        4.0, abs=1e-3
    )


def test_open_side_does_not_rub() -> None:
    """Along the stock's edge, cutter half outside, the wall on the other side is what counts; outside, nothing is."""
    moves = cut([(10, -2.9), (90, -2.9)], -12.0)
    assert run(moves, fitted(flutes=8.0, shank=6.0), THICK).shank_contact_mm.max() == pytest.approx(
        4.0, abs=1e-3
    )
    away = cut([(10, -5.0), (90, -5.0)], -12.0)
    assert run(away, fitted(flutes=8.0, shank=6.0), THICK).shank_contact_mm.max() == 0


def test_nut_reaches_the_stock() -> None:
    """Stickout 10 mm, slot 12 mm deep: the nut would be 2 mm in the top of the stock."""
    removal = run(levels(12.0), fitted(stickout=10.0, nut=19.0), THICK)
    assert removal.holder_contact_mm[22] == pytest.approx(2.0, abs=1e-3)
    assert removal.holder_contact_mm[18] == 0
    assert run(levels(12.0), fitted(stickout=12.5, nut=19.0), THICK).holder_contact_mm.max() == 0


def test_nut_in_a_wide_pocket_is_free() -> None:
    """The nut goes down where the stock was cleared wider than it."""
    rows = [(x, y) for k in range(13) for x, y in ((30.0, 30.0 + k * 2), (60.0, 30.0 + k * 2))]
    moves = cut(rows, -8.0) + cut([(45, 42)], -14.0)
    shape = fitted(stickout=10.0, nut=19.0)
    assert run(moves, shape, THICK).holder_contact_mm[-2] == 0
    assert run(cut([(45, 42)], -14.0), shape, THICK).holder_contact_mm[1] == pytest.approx(4.0, abs=1e-3)


def test_bed_depth_of_upright_arcs() -> None:
    """The lowest point of an arc in XZ lies between its ends."""
    start = (45.0, 40.0, -3.0)
    moves = [
        {"kind": 0, "to": (45, 40, 5)},
        {"to": start},
        arc_move(start, (50, 40, -3.0), -math.pi, plane=18),
    ]
    removal = run(moves, flat(6.0))
    assert removal.bed_depth_mm[2] == pytest.approx(2.0, abs=1e-6)
    up = [{"kind": 0, "to": (45, 40, 5)}, {"to": start}, arc_move(start, (50, 40, -3.0), math.pi, plane=18)]
    assert run(up, flat(6.0)).bed_depth_mm.max() == 0
    along_y = (45.0, 40.0, -3.0)
    low = [arc_move(along_y, (45, 45, -3.0), sweep, plane=19) for sweep in (math.pi, -math.pi)]
    depths = [
        run([{"kind": 0, "to": (45, 40, 5)}, {"to": along_y}, arc], flat(6.0)).bed_depth_mm[2] for arc in low
    ]
    assert sorted(map(float, depths)) == pytest.approx([0.0, 2.0], abs=1e-6)
