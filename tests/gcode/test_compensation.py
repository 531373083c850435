"""Where the cutter's centre goes under G41 and G42: worked by hand from the offset of lines and arcs by the radius."""

from __future__ import annotations

import math

import pytest

from millcalc.gcode.comp import compensated_extents
from millcalc.gcode.motions import FLAG_COMP_LEFT, FLAG_COMP_RIGHT
from tests.helpers.tables import arc_move, table

R = 3.0
AWAY = R / math.sqrt(2)


def extents(points, flag, radius=R, begin=(0.0, 0.0, -1.0)):
    low, high = compensated_extents(table([{"to": p, "flags": flag} for p in points], start=begin), radius)
    return low.round(9).tolist(), high.round(9).tolist()


@pytest.mark.parametrize(
    ("points", "flag", "low", "high"),
    [
        # round an outside corner the tool turns about the corner itself: as far as the radius beyond it
        ([(10, 10, -1), (20, 0, -1)], FLAG_COMP_LEFT, (-AWAY, AWAY, -1), (10.0, 13.0, -1)),
        ([(10, -10, -1), (20, 0, -1)], FLAG_COMP_RIGHT, (-AWAY, -13.0, -1), (10.0, -AWAY, -1)),
        ([(10, 10, -1), (0, 20, -1)], FLAG_COMP_RIGHT, (AWAY, -AWAY, -1), (13.0, 10.0, -1)),
        ([(-10, 10, -1), (0, 20, -1)], FLAG_COMP_LEFT, (-13.0, -AWAY, -1), (-AWAY, 10.0, -1)),
        # an inside corner adds nothing
        ([(10, 10, -1), (20, 0, -1)], FLAG_COMP_RIGHT, (AWAY, -AWAY, -1), (10 + AWAY, 10 - AWAY, -1)),
        # straight on, and a line along an axis
        ([(10, 0, -1), (20, 0, -1)], FLAG_COMP_LEFT, (0.0, 3.0, -1), (10.0, 3.0, -1)),
        ([(10, 0, -1), (20, 0, -1)], 0, (0.0, 0.0, -1), (10.0, 0.0, -1)),
    ],
)
def test_first_motion_and_the_corner_after_it(points, flag, low, high):
    lows, highs = extents(points, flag)
    for found, wanted in ((lows[0], low), (highs[0], high)):
        assert found == pytest.approx(wanted)


def test_a_step_straight_down_does_not_hide_the_corner():
    lows, highs = extents([(10, 10, -1), (10, 10, -2), (20, 0, -2)], FLAG_COMP_LEFT)
    assert highs[0][1] == pytest.approx(13.0) and lows[2][2] == -2


def test_an_arc_is_made_at_its_radius_plus_or_minus_the_cutters():
    """Half a circle of 10 mm about X10 Y0, clockwise from X0: outside with G41, inside with G42."""
    for flag, top in ((FLAG_COMP_LEFT, 13.0), (FLAG_COMP_RIGHT, 7.0)):
        motions = table([{**arc_move((0.0, 0.0, -1.0), (10.0, 0.0, -1.0), -math.pi), "flags": flag}])
        low, high = compensated_extents(motions, R)
        assert high[0, 1] == pytest.approx(top) and low[0, 0] == pytest.approx(10 - top)
        assert high[0, 0] == pytest.approx(10 + top)


def test_motions_that_do_not_meet_have_no_corner():
    moves = [{"to": (10, 10, -1), "flags": FLAG_COMP_LEFT}]
    moves.append({"from": (50, 50, -1), "to": (60, 40, -1), "flags": FLAG_COMP_LEFT})
    _, high = compensated_extents(table(moves, start=(0.0, 0.0, -1.0)), R)
    assert high[0, 1] == pytest.approx(10 + AWAY)
