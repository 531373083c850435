"""Feed, acceleration, run-out, speed and push: closed forms, round trips, and clear errors."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.errors import InputError
from millcalc.measure.feed_time import feed_from_time
from millcalc.measure.motion import acceleration_from_long_moves, acceleration_from_short_moves
from millcalc.measure.spindle import (
    SpeedPoint,
    dial_table,
    droop,
    push_from_pulls,
    runout_from_dial,
    runout_from_slots,
    speed_counted,
    speed_from_marks,
    speed_from_tone,
)

quick = settings(max_examples=40, deadline=None, database=None)


@quick
@given(speed=st.floats(2.0, 150.0), a=st.floats(50.0, 2000.0), moves=st.integers(5, 300))
def test_long_moves_and_timed_feed_are_inverse_to_the_trapezoid(speed: float, a: float, moves: int) -> None:
    """T = N (d / v + v / a) (closed form)."""
    distance = 1.5 * speed**2 / a + 10.0
    seconds = moves * (distance / speed + speed / a)
    assert acceleration_from_long_moves(distance, moves, seconds, 60 * speed).value == pytest.approx(
        a, rel=1e-6
    )
    one = distance / speed + speed / a
    assert feed_from_time(distance, one, a).value == pytest.approx(60 * speed, rel=1e-6)


@quick
@given(distance=st.floats(0.5, 10.0), a=st.floats(50.0, 2000.0), moves=st.integers(20, 400))
def test_short_moves_are_inverse_to_the_triangle(distance: float, a: float, moves: int) -> None:
    """Each move takes 2 sqrt(d / a) (closed form)."""
    seconds = moves * 2 * np.sqrt(distance / a)
    assert acceleration_from_short_moves(distance, moves, seconds).value == pytest.approx(a, rel=1e-9)


def test_moves_of_the_wrong_kind_are_refused() -> None:
    with pytest.raises(InputError, match="never reaches"):
        acceleration_from_short_moves(2.0, 200, 40.0, 1000.0)
    with pytest.raises(InputError, match="longer"):
        acceleration_from_long_moves(10.0, 20, 20.0, 3000.0)
    with pytest.raises(InputError):
        acceleration_from_long_moves(200.0, 20, 79.0, 3000.0)
    with pytest.raises(InputError):
        feed_from_time(500.0, 1.0, 100.0)
    with pytest.raises(InputError):
        feed_from_time(0.0, 1.0)


def test_stopwatch_error_is_stated() -> None:
    """0.2 s in 40 s is 1 % in the acceleration."""
    result = acceleration_from_short_moves(2.0, 200, 40.0)
    assert result.sd / result.value == pytest.approx(0.01)
    assert not result.doubts
    assert acceleration_from_short_moves(2.0, 10, 2.0).doubts


def test_four_slots_bound_the_runout_whatever_the_angle() -> None:
    """A one-flute cutter off centre by e at an unknown angle: half the difference is 0.71 to 1 of 2 e (exact)."""
    offset = 0.02
    for start in np.linspace(0, np.pi / 2, 37):
        angles = start + np.pi / 2 * np.arange(4)
        widths = 2 * (1.6 + offset * np.cos(angles))
        found = runout_from_slots(list(widths), 1)
        assert found.low_mm - 1e-9 <= 2 * offset <= found.high_mm + 1e-4


def test_runout_from_dial_and_two_flutes() -> None:
    found = runout_from_dial([[0, 0.012, 0.02, 0.008], [0, 0.01, 0.018, 0.009], [0.005, 0.02, 0.03, 0.01]])
    assert found.value_mm == pytest.approx(0.02)
    assert found.low_mm < 0.018 and found.high_mm > 0.025
    two = runout_from_slots([3.22, 3.21, 3.23], 2, 3.18)
    assert two.value_mm == pytest.approx(0.04) and two.doubts
    for bad in (
        lambda: runout_from_dial([[0.1]]),
        lambda: runout_from_dial([[0.0, 2.0]]),
        lambda: runout_from_slots([3.2, 3.2], 1),
        lambda: runout_from_slots([3.2], 2),
        lambda: runout_from_slots([3.0], 2, 3.2),
    ):
        with pytest.raises(InputError):
            bad()


def test_three_ways_to_one_speed() -> None:
    """18 000 rev/min: 300 Hz; F 3600 with 0.2 mm a mark; a counter."""
    assert {
        speed_from_tone("3", 300.0).rpm,
        speed_from_tone("3", 600.0, 2).rpm,
        speed_from_marks("3", 3600.0, 4.0, 20).rpm,
        speed_counted("3", 18010.0).rpm,
    } == {18000.0}


def test_dial_table_refuses_contradictions() -> None:
    table = dial_table([speed_counted("5", 26000), speed_counted("1", 10000), speed_counted("1", 10100)])
    assert [point.mark for point in table] == ["1", "5"]
    with pytest.raises(InputError, match="multiple"):
        dial_table([SpeedPoint("3", 18000, "pitch"), SpeedPoint("3", 9000, "pitch")])
    with pytest.raises(InputError, match="rise"):
        dial_table([SpeedPoint("3", 18000, "pitch"), SpeedPoint("2", 20000, "pitch")])
    with pytest.raises(InputError):
        speed_from_tone("3", 3.0e6)


def test_droop_and_push() -> None:
    assert droop(18000, 17700)[1].startswith("within 5")
    assert droop(18000, 16900)[1].startswith("5 to 10")
    assert droop(18000, 15000)[1].startswith("more than 10")
    assert "multiple" in droop(18000, 36000)[1]
    push = push_from_pulls("x", [310.0, 290.0, 300.0])
    assert push.thrust_n == 290.0 and not push.doubts
    assert push_from_pulls("x", [310.0]).doubts
    assert push_from_pulls("x", [310.0, 100.0, 300.0]).doubts
    with pytest.raises(InputError):
        push_from_pulls("x", [])
