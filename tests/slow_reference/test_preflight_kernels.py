"""Plain twins of the preflight's kernels: distances by dense sampling, joint speeds by repeated relaxation.

Sampling sees only points of the path, so its distance is never below the exact one, and above it by at most the
spacing of the points; the relaxation repeats both passes until nothing changes.
"""

from __future__ import annotations

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.gcode.motions import LINE
from millcalc.preflight.feed_kernels import joint_speeds, motion_times
from millcalc.preflight.geometry import gap_to_box, gap_to_cylinder, places_mm
from tests.helpers.tables import arc_move, table

POINTS = 4001
number = st.floats(-20, 20).map(lambda v: round(v, 2))


@st.composite
def motions(draw):
    start = np.array([draw(number) for _ in range(3)])
    if draw(st.booleans()):
        return table([{"kind": LINE, "from": start, "to": [draw(number) for _ in range(3)]}])
    centre = np.array([draw(number) for _ in range(3)])
    sweep = draw(st.floats(0.05, 13)) * draw(st.sampled_from([-1, 1]))
    return table(
        [arc_move(start, centre, sweep, draw(st.floats(-5, 5)), draw(st.sampled_from([17, 18, 19])))]
    )


@settings(max_examples=120, deadline=None, database=None)
@given(motions(), number, number, st.floats(0, 8), st.floats(-15, 15))
def test_distances_against_sampling(path, x, y, size, level):
    points = places_mm(path, np.array([0]), np.linspace(0, 1, POINTS))[0]
    spacing = float(np.linalg.norm(np.diff(points, axis=0), axis=1).max())
    below = points[points[:, 2] < level - 1e-6]
    # arcs out of the XY plane are followed by chords within 0.001 mm: where a path runs nearly level, that much
    # in height moves the clip sideways by more, so the lower bound is taken a little above the level
    nearly = points[points[:, 2] < level + 2e-3]
    options = {"top_mm": level, "body_radius_mm": 0.0, "reach_mm": 1e6}

    def from_axis(p):
        return np.hypot(p[:, 0] - x, p[:, 1] - y)

    def from_box(p):
        beside_x = np.maximum(np.maximum(x - p[:, 0], p[:, 0] - x - size), 0)
        return np.hypot(beside_x, np.maximum(np.maximum(y - p[:, 1], p[:, 1] - y - size), 0))

    box = {"sides_mm": (x, x + size, y, y + size)}
    for gap, distance in (
        (gap_to_cylinder(path, x_mm=x, y_mm=y, radius_mm=0.0, **options).gap_mm[0], from_axis),
        (gap_to_box(path, **box, **options).gap_mm[0], from_box),
    ):
        if not len(below):
            assert math.isinf(gap) or points[:, 2].min() < level + spacing + 2e-3
            continue
        assert gap <= distance(below).min() + 1e-9
        assert gap >= distance(nearly).min() - spacing - 2e-3


def relaxed(limit, accel, length, entry):
    """Lower every joint until no motion needs more than its acceleration."""
    speed = entry.copy()
    for i, (top, s) in enumerate(zip(limit, length, strict=True)):
        if not s > 0 or math.isnan(top):
            speed[i] = speed[i + 1] = 0.0
    changed = True
    while changed:
        changed = False
        for i, (top, a, s) in enumerate(zip(limit, accel, length, strict=True)):
            if not s > 0 or math.isnan(top):
                continue
            for here, there in ((i, i + 1), (i + 1, i)):
                best = min(speed[here], top, math.sqrt(speed[there] ** 2 + 2 * a * s))
                if best < speed[here] - 1e-12:
                    speed[here], changed = best, True
    return speed


@settings(max_examples=80, deadline=None, database=None)
@given(
    st.lists(
        st.tuples(st.floats(1, 100), st.floats(10, 500), st.sampled_from([0.0, math.nan, 0.05, 1.0, 20.0])),
        min_size=1,
        max_size=15,
    ),
    st.floats(0, 100),
)
def test_joint_speeds_against_relaxation(parts, corner):
    limit, accel, length = (np.array(column) for column in zip(*parts, strict=True))
    entry = np.full(len(parts) + 1, corner)
    entry[0] = entry[-1] = 0.0
    expected = relaxed(limit, accel, length, entry)
    got = entry.copy()
    joint_speeds(limit, accel, length, got)
    assert np.allclose(got, expected, atol=1e-9)
    time = np.zeros(len(parts))
    motion_times(limit, accel, length, got, time)
    for i, (top, a, s) in enumerate(parts):
        if math.isnan(s):
            assert math.isnan(time[i])
        elif s == 0:
            assert time[i] == 0
        else:
            assert time[i] >= s / top - 1e-9  # never faster than the feed
            assert time[i] <= s / top + 2 * top / a + 2 * math.sqrt(s / a) + 1e-9
