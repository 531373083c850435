"""Numbers and words of remedies: steps in both units, heights of travel, places for screws, and which finding leads."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from millcalc.findings import Finding, Severity, Span
from millcalc.preflight.clearances import clearances
from millcalc.preflight.feed_words import _while
from millcalc.preflight.move_screw import TURNS_DEG, _beside, _candidates, _stands
from millcalc.preflight.order import grouped
from millcalc.preflight.say import _distinct
from millcalc.preflight.wording import lift, travel_over
from tests.preflight.test_cases import context


def test_lengths_are_said_in_steps_of_millimetres_or_a_twentieth_in_inches() -> None:
    """10 mm is 0.3937 in: to 0.05 in 0.4; 7.77 mm is 0.3059 in: to 0.025 in 0.3."""
    inches, mm = context({"p": "$H", "units": "in"}).say, context({"p": "$H"}).say
    assert [inches.mm(10.0, 1.0), inches.mm(7.77, 0.5), mm.mm(7.77, 0.5)] == ["0.4 in", "0.3 in", "8 mm"]
    assert inches.point((25.4, 50.8, math.nan)) == "X 1 in, Y 2 in"
    assert mm.mm(None) == mm.mm(math.nan) == mm.chip(None) == "unknown"
    assert mm.point(None) == mm.point((math.nan, 1.0, 1.0)) == "unknown place"


def test_words_in_comments_are_passed_over() -> None:
    say = context({"p": "(F9 X3) G1 X5 F100 ; S3", "job": "none"}).say
    spans = [say.word_span(1, letter) for letter in ("F", "X", "S", "")]
    assert spans == [Span(1, 15, 19), Span(1, 12, 14), Span(1), Span(1)] and say.word_span(2, "F") == Span(2)


@pytest.mark.parametrize("lines, told", [([7, 5, 5, 7], [5, 7]), ([3, 3, 4], [3, 4]), ([9], [9])])
def test_lines_of_a_loop_are_counted_once(lines, told) -> None:
    assert _distinct(np.array(lines, np.int32)).tolist() == told


@pytest.mark.parametrize(
    ("case", "height"),
    [
        ({"p": "$H"}, "5 mm"), ({"p": "G21 G90 / G0 Z1 / G0 X5 / G0 X9", "job": "none"}, "3 mm"),
        ({"p": "G21 G90 / G1 X5 F100", "job": "none"}, "3 mm"),
        ({"p": "G21 G90 / G0 Z12 / G0 X5 / G0 X9", "job": "none"}, "12 mm"),
        ({"p": "G21 G90 / G0 Z6.5 / G0 X5 / G0 X9", "with": {"zero": {"z": "bed top"}}}, "9 mm"),
    ],
)  # fmt: skip
def test_a_height_to_lift_to_is_that_of_travel_or_three_above_the_work(case, height) -> None:
    assert lift(context(case)) == height


@pytest.mark.parametrize(
    ("least", "z", "height"),
    [(1.0, "stock top", "5 mm"), (7.0, "stock top", "7 mm"), (1.0, "bed top", "11 mm")],
)
def test_travel_is_two_above_the_highest_head(least, z, height) -> None:
    """Heads of 3 mm on the stock; on the bed 6 mm lower is zero."""
    ctx = context({"p": "$H", "with": {"zero": {"z": z}}})
    assert travel_over(ctx, ctx.setup, least) == f"travel at Z {height} or higher"


@pytest.mark.parametrize(
    ("place", "stands"),
    [((5, 5), True), ((4.9, 40), False), ((95, 75), True), ((95.1, 40), False), ((50, 4.9), False),
     ((50, 75.1), False)],
)  # fmt: skip
def test_a_head_of_eight_stands_a_millimetre_inside_the_stock(place, stands) -> None:
    ctx = context({"p": "$H"})
    screw = ctx.setup.screws[0]
    assert _stands(ctx, screw, place) is stands
    assert _stands(ctx, replace(screw, holds=False), place)


@pytest.mark.parametrize(
    ("place", "free"),
    [((17, 5), True), ((16.9, 5), False), ((5, 17), True), ((13.4, 13.4), False)],
)
def test_two_heads_of_eight_leave_four_between_them(place, free) -> None:
    first = context({"p": "$H"}).setup.screws[0]
    assert _beside(first, place, [first]) is free


def test_places_are_tried_straight_away_from_the_cut_first_then_to_both_sides() -> None:
    ctx = context(
        {
            "p": "$H / G1 Z-1 F60 / G1 X50 Y40 / G1 X45",
            "with": {"stock": {"size_x": "400 mm", "size_y": "300 mm"}},
        }
    )
    gap = replace(clearances(ctx)[0], row=5, share=1.0, kept_mm=1.0, gap_mm=-20.0)
    screw = replace(ctx.setup.screws[0], x_mm=200.0, y_mm=150.0)
    away = math.atan2(150.0 - 40.0, 200.0 - 45.0)
    places = [
        place for _, place in zip(range(2 * len(TURNS_DEG)), _candidates(ctx, screw, gap, []), strict=False)
    ]
    for n, (x, y) in enumerate(places):
        ring, turn = divmod(n, 12)
        wanted = away + math.radians((0, 30, -30, 60, -60, 90, -90, 120, -120, 150, -150, 180)[turn])
        assert math.hypot(x - 200.0, y - 150.0) == pytest.approx(21.0 + ring, abs=0.36)
        assert math.cos(math.atan2(y - 150.0, x - 200.0) - wanted) > 0.9997
        assert (x * 2).is_integer() and (y * 2).is_integer()


def test_equal_findings_are_told_by_the_worst_with_the_first_line_beside_it() -> None:
    def told(line: int, measured: float | None) -> Finding:
        limit = None if measured is None else 1.0
        return Finding(
            "FEED-03", Severity.STOP, f"{line}", "slower", spans=(Span(line),), measured=measured, limit=limit
        )

    (one,) = grouped([told(5, 2.0), told(9, 0.0), told(7, 4.0)])
    assert (one.fact, one.spans, one.count, one.last_line) == ("7", (Span(7), Span(5)), 3, 9)
    (one,) = grouped([told(5, None), told(9, None)])
    assert (one.fact, one.spans, one.count, one.last_line) == ("5", (Span(5),), 2, 9)
    (one,) = grouped([told(5, None), told(9, 1.5)])
    assert one.fact == "9"


@pytest.mark.parametrize(
    ("good", "at", "run"),
    [("1110", 1, (0, 2)), ("0111", 2, (1, 3)), ("0110", 1, (1, 2)), ("111", 1, (0, 2)), ("10101", 2, (2, 2))],
)
def test_a_run_of_equal_feeds_ends_where_another_begins(good: str, at: int, run: tuple[int, int]) -> None:
    assert _while(np.array([c == "1" for c in good]), at) == run
