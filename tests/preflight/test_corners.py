"""Jumps of engagement in corners: which are told, when the feed is low enough, and the feed that is asked for."""

from __future__ import annotations

import math

import pytest

from millcalc.preflight.rules.corners import _corner_remedy, _sharp, _slowed, _usual_feed_mm_min
from millcalc.stock.result import EngagementJump
from tests.preflight.test_cases import context

# rows: 0 to 2 the head, 3 down, 4 a side cut at F300, 5 a slower one; then T2
MOVES = "T1 M6 / $H / G1 Z-1 F60 / G1 X40 F300 / G1 Y40 F{} / G0 Z5 / T2 M6 / G1 Z-1 F60 / G1 X60 F900"
T2 = {"T2": {"cutter": "flat-6mm-1f", "stickout": "22 mm"}}


def jump(before_deg: float, after_deg: float, row: int = 5) -> EngagementJump:
    return EngagementJump(row, row + 5, (0.0, 0.0, 0.0), math.radians(before_deg), math.radians(after_deg))


@pytest.fixture(scope="module")
def contexts():
    job = {"T1": {"cutter": "flat-3mm-2f", "stickout": "15 mm"}, **T2}
    return {
        feed: context({"p": MOVES.format(feed), "with": {"cutters": job}}) for feed in (98, 101, 104, 300)
    }


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [(16, 80, True), (14, 80, False), (60, 101, True), (60, 99, False), (90, 136, True), (90, 134, False),
     (100, 174, True), (100, 176, False), (100, 150.5, True)],
)  # fmt: skip
def test_a_jump_is_half_again_and_forty_degrees_of_a_side_cut(contexts, before, after, told) -> None:
    """From 15 degrees on, below the 175 of a slot."""
    assert _sharp(contexts[300], jump(before, after)) is told
    assert not _sharp(contexts[300], jump(before, after, row=3))  # straight down


def test_a_corner_is_slow_enough_at_the_feed_that_keeps_the_chip_volume(contexts) -> None:
    """(1 - cos 60) / (1 - cos 120) = 1/3 of F300, and two hundredths for rounding."""
    assert [_slowed(ctx, jump(60, 120), 300.0) for ctx in contexts.values()] == [True, True, False, False]
    assert _usual_feed_mm_min(contexts[300], 1) == 300.0
    assert _usual_feed_mm_min(contexts[300], 2) == 900.0


@pytest.mark.parametrize(("usual", "feed"), [(600.0, "F 200 mm/min"), (555.0, "F 185 mm/min"), (536.0, "")])
def test_a_corner_is_slowed_only_where_the_chip_still_cuts(contexts, usual: float, feed: str) -> None:
    """The least chip of 0.005 mm at 18000 rev/min and two flutes is F180."""
    rounded = "round the inside corner of the path, or clear it first"
    slower = f"{rounded}; or end line 10 3 mm before the corner, go through it at {feed}, and write F 300 mm/min again"
    said = _corner_remedy(contexts[300], jump(60, 120), usual)
    assert said == (f"{slower} after it" if feed else rounded)
