"""The map of free places, the words of a verdict, and moves that end on a tenth of a millimetre."""

from __future__ import annotations

import numpy as np
import pytest

from millcalc.holding.find import Wish, find_hold_down
from millcalc.holding.forces import Demand
from millcalc.holding.moves import smallest_move
from millcalc.holding.propose import Plan, load_n
from millcalc.holding.spread import spread
from tests.holding.cases import context, plate, screw
from tests.holding.test_find import MEASURED, OUTLINE, PIECES
from tests.holding.test_sharing_out import planner


def test_the_map_shows_each_piece_where_it_is() -> None:
    """A ring of radius 25 about X45 Y55, cut with 6 mm: nothing to screw into in the groove, a piece inside it."""
    shown = find_hold_down(context(PIECES, plate()), MEASURED).map
    x, y = np.meshgrid(shown.x_mm, shown.y_mm)
    away = np.hypot(x - 45.0, y - 55.0)
    assert shown.kind[(away > 22.6) & (away < 27.4)].max() == 0
    assert shown.kind[away < 20.0].min() == 2
    assert shown.spare_mm[np.abs(away - 25.0) < 1.0].max() < 0.0 < shown.spare_mm[away < 5.0].min()


@pytest.mark.parametrize(
    ("x", "y", "says"),
    [(-5.0, 40.0, "stands 5 mm beside the stock; its head holds nothing"),
     (80.0, 110.4, "stands 0.4 mm beside the stock; its head reaches over it"), (0.5, 40.0, None)],
)  # fmt: skip
def test_a_screw_beside_the_stock_is_told_how_far(x: float, y: float, says: str | None) -> None:
    answer = find_hold_down(context(OUTLINE, plate(screws=[screw(x, y)])), Wish(placed="measured"))
    (verdict,) = answer.verdicts
    assert [note for note in verdict.notes if "stock" in note] == ([says] if says else [])


def test_motions_that_nobody_knows_are_counted_with_the_first_of_them() -> None:
    """Before X and Y are known: up in line 3, and the first way across."""
    answer = find_hold_down(context(OUTLINE, plate()), MEASURED)
    assert "3 motions from or to an unknown place, the first in line 3" in answer.not_checked


def test_the_smallest_move_ends_on_a_tenth_where_that_is_clear() -> None:
    """Room outside a circle of radius 7.03 about zero: from X5 Y0 straight out, to 7.1."""
    move = smallest_move(lambda at: np.hypot(at[:, 0], at[:, 1]) - 7.03, (5.0, 0.0))
    assert move is not None and move.to_mm == pytest.approx((7.1, 0.0), abs=1e-12)


def test_screws_keep_apart_however_they_are_exchanged() -> None:
    """Places along a line, cuts at both ends: two of three go to the ends, none stand nearer than 10 mm."""
    at = np.column_stack([np.arange(0.0, 41.0, 2.0), np.zeros(21)])
    points = np.array([[0.0, 1.0], [40.0, 1.0], [21.0, 1.0]])
    chosen = sorted(at[spread(at, np.full(21, 9.0), points, np.zeros((0, 2)), 3, 10.0), 0])
    assert chosen[0] == 0.0 and chosen[-1] == 40.0 and chosen[1] in (20.0, 22.0)


def test_a_load_is_told_with_all_screws_that_share_it() -> None:
    """Two that stand already and three proposed: five."""
    made = planner([160.0], [2])
    made.say = context(OUTLINE, plate()).say
    plan = Plan([np.zeros((3, 2))], [500.0])
    made._tell(plan, 200.0)
    assert plan.problems == [
        "the sheet: the most loaded of 5 screws would need 500 N of pull, one holds 200 N; longer screws, "
        "shallower passes, or clamps besides"
    ]


def test_a_tool_that_cuts_nothing_here_loads_no_screw() -> None:
    asks = (Demand(1, 80.0, 20.0, 5), Demand(2, 900.0, 90.0, 9))
    points = {1: np.array([[10.0, 0.0]]), 3: np.zeros((0, 2))}
    alone = load_n(np.array([[0.0, 0.0], [20.0, 0.0]]), points, asks)
    assert alone == load_n(np.array([[0.0, 0.0], [20.0, 0.0]]), points, asks[:1])
    assert load_n(np.array([[0.0, 0.0]]), {2: np.zeros((0, 2))}, asks) is None
