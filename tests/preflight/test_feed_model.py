"""The feeds a machine reaches, against closed forms of uniformly accelerated motion and an integration in time."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.gcode.motions import DWELL, RAPID
from millcalc.preflight.feed_model import feed_model
from millcalc.tables import load_machine
from tests.helpers.tables import arc_move, table


def machine(accel=100.0, feed=6000.0, rapid=6000.0):
    found = load_machine("gantry-800w")
    three = {"x": accel, "y": accel, "z": accel, "source": "estimate", "confidence": "estimate"}
    top = {**three, "x": feed, "y": feed, "z": feed}
    fast = {**three, "x": rapid, "y": rapid, "z": rapid}
    kind = type(found.acceleration_mm_s2)
    return found.model_copy(
        update={
            "acceleration_mm_s2": kind(**three),
            "max_feed_mm_min": kind(**top),
            "max_rapid_mm_min": kind(**fast),
        }
    )


@pytest.mark.parametrize(
    "length, accel, peak", [(0.5, 100, 424), (1, 100, 600), (2, 300, 1470), (5, 300, 2324), (10, 800, 5367)]
)
def test_rest_to_rest_peaks(length, accel, peak):
    """v = sqrt(a s) from rest to rest: mean feed is half the peak (exact). Digits computed by hand, 1 mm/min."""
    model = feed_model(table([{"to": (length, 0, 0), "feed": 1e9}]), machine(accel, feed=1e9))
    assert 2 * model.mean_quick_mm_min[0] == pytest.approx(peak, abs=1)


def test_trapezoid():
    """10 mm at 600 mm/min and 100 mm/s2: 0.1 s up, 0.1 s down, 9 mm at 10 mm/s: 1.1 s (exact)."""
    model = feed_model(table([{"to": (10, 0, 0), "feed": 600}]), machine(100))
    assert model.time_quick_s[0] == pytest.approx(1.1)


def test_a_straight_line_in_pieces_takes_the_time_of_the_whole():
    pieces = table([{"to": (k, 0, 0), "feed": 600} for k in range(1, 11)])
    model = feed_model(pieces, machine(100))
    assert model.time_quick_s.sum() == pytest.approx(1.1)
    assert model.time_strict_s.sum() == pytest.approx(1.1)


def test_a_right_angle_stops_in_the_strict_case_only():
    corner = table([{"to": (10, 0, 0), "feed": 600}, {"to": (10, 10, 0), "feed": 600}])
    model = feed_model(corner, machine(100))
    assert model.total_strict_s == pytest.approx(2.2)
    assert model.total_quick_s == pytest.approx(2.1)


def test_a_reversal_stops_in_both():
    back = table([{"to": (10, 0, 0), "feed": 600}, {"to": (0, 0, 0), "feed": 600}])
    assert feed_model(back, machine(100)).total_quick_s == pytest.approx(2.2)


def test_small_circle_is_held_to_its_radius():
    """v = sqrt(a r): 100 mm/s2 on 1 mm: 10 mm/s; ten turns from rest to rest."""
    motions = table([arc_move((1, 0, 0), (0, 0, 0), 20 * math.pi) | {"feed": 6000}])
    model = feed_model(motions, machine(100))
    length = 20 * math.pi
    assert model.time_quick_s[0] == pytest.approx(length / 10 + 10 / 100, rel=1e-6)


def test_axis_limits_along_a_diagonal():
    """45 degrees: each axis sees 1 / sqrt(2) of the feed, so sqrt(2) times an axis limit is allowed."""
    model = feed_model(table([{"to": (10, 10, 0), "feed": 600}]), machine(100, feed=1000))
    assert model.top_feed_mm_min[0] == pytest.approx(1000 * math.sqrt(2))


def test_dwells_and_rapids_and_the_unknown():
    motions = table(
        [
            {"kind": RAPID, "from": (np.nan, 0, 0), "to": (0, 0, 0)},
            {"kind": DWELL, "to": (0, 0, 0), "dwell_s": 3.0},
            {"kind": RAPID, "to": (10, 0, 0)},
            {"to": (20, 0, 0), "feed": np.nan},
        ]
    )
    model = feed_model(motions, machine(100, rapid=600))
    assert np.isnan(model.time_quick_s[0]) and np.isnan(model.time_quick_s[3])
    assert model.time_quick_s[1] == 3.0
    assert model.time_quick_s[2] == pytest.approx(1.1)
    assert model.total_quick_s == pytest.approx(4.1)


def test_no_motions():
    assert feed_model(table([]), machine()).total_quick_s == 0.0


def stepped(limits, accel, lengths):
    """Time over a straight path by small steps: the fastest speed from which every later limit can be met."""
    ds = 1e-3
    limit = np.concatenate(
        [np.full(round(length / ds), v) for v, length in zip(limits, lengths, strict=True)]
    )
    speed = np.minimum(limit, np.inf)
    speed = np.concatenate([[0.0], np.minimum(limit[:-1], limit[1:]), [0.0]])
    for i in range(len(speed) - 2, -1, -1):
        speed[i] = min(speed[i], math.sqrt(speed[i + 1] ** 2 + 2 * accel * ds))
    for i in range(1, len(speed)):
        speed[i] = min(speed[i], math.sqrt(speed[i - 1] ** 2 + 2 * accel * ds))
    return float((2 * ds / (speed[1:] + speed[:-1])).sum())


@settings(max_examples=25, deadline=None, database=None)
@given(
    st.lists(st.tuples(st.integers(1, 40), st.floats(60, 3000)), min_size=1, max_size=8),
    st.floats(50, 1000),
)
def test_against_small_steps(pieces, accel):
    """Twin in small steps of 0.001 mm; agreement within 1 %."""
    x, moves = 0.0, []
    for tenths, feed in pieces:
        x += tenths / 10
        moves.append({"to": (x, 0, 0), "feed": feed})
    model = feed_model(table(moves), machine(accel))
    slow = stepped([feed / 60 for _, feed in pieces], accel, [t / 10 for t, _ in pieces])
    assert model.total_quick_s == pytest.approx(slow, rel=0.01)
    assert model.total_strict_s >= model.total_quick_s - 1e-9
