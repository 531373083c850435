"""Columns that are the same all over, and centres that no motion has, take no memory; what they say stays the same."""

from __future__ import annotations

import numpy as np
import pytest

from millcalc.gcode import state as module
from millcalc.gcode.options import ReadOptions
from millcalc.gcode.reader import read_program
from millcalc.preflight.facts import Facts
from millcalc.preflight.feed_model import feed_model
from millcalc.preflight.geometry import motion_bounds_mm, reach_mm, some
from millcalc.tables import load_machine

HEAD = "G21 G90 G17 G94\nT1 M6\nS9000 M3\nG0 X0 Y0 Z5\nF300\n"
LINES = "".join(f"G1 X{k % 40} Y{k % 30}\n" for k in range(60))


@pytest.mark.parametrize("fast", [False, True])
def test_centres_are_kept_from_the_first_arc_on(fast: bool) -> None:
    options = ReadOptions(force_fast=fast, force_slow=not fast)
    plain = read_program((HEAD + LINES + "M30\n").encode(), options=options).motions
    assert plain.centre_mm.strides[0] == 0 and np.isnan(plain.centre_mm).all()
    assert plain.centre_mm.shape == plain.end_mm.shape
    text = HEAD + LINES + "G2 X29 Y29 I5\nG1 X1\nG3 X1 Y1 R40\n" + LINES + "M30\n"
    arcs = read_program(text.encode(), options=options).motions
    known = np.isfinite(arcs.centre_mm).all(axis=1)
    assert (known == arcs.is_arc).all() and known.sum() == 2


def test_equal_columns_of_a_large_table_are_kept_once(monkeypatch: pytest.MonkeyPatch) -> None:
    text = (HEAD + LINES + "F400\n" + LINES + "M30\n").encode()
    before = read_program(text).motions
    monkeypatch.setattr(module, "MANY_MOTIONS", 10)
    after = read_program(text).motions
    assert after.spindle_rpm.strides == (0,) and after.tool.strides == (0,)
    assert after.feed_mm_min.strides != (0,) and after.line.strides != (0,)
    for name in ("spindle_rpm", "tool", "plane", "feed_mode", "spindle_dir", "feed_mm_min", "flags", "line"):
        assert np.array_equal(getattr(after, name), getattr(before, name), equal_nan=name.endswith("min"))


def test_reach_of_some_motions_is_that_of_their_bounds(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("millcalc.preflight.tuning.MOTIONS_AT_ONCE", 7)
    text = HEAD + LINES + "G2 X29 Y29 I5\nG18 G2 X39 Z5 I5\nG17 G1 X1\nG3 X1 Y1 R40\n" + LINES + "M30\n"
    motions = read_program(text.encode()).motions
    rows = np.arange(1, len(motions), 2)
    low, high = motion_bounds_mm(motions)
    found = reach_mm(motions, rows)
    assert motions.is_arc.sum() == 3
    assert found[0] == pytest.approx(np.fmin.reduce(low[rows]))
    assert found[1] == pytest.approx(np.fmax.reduce(high[rows]))
    assert np.array_equal(motion_bounds_mm(some(motions, rows))[0], low[rows], equal_nan=True)


@pytest.mark.parametrize("at_once", [1, 7, 64])
def test_motions_looked_at_in_stretches_give_what_all_at_once_give(
    monkeypatch: pytest.MonkeyPatch, at_once: int
) -> None:
    lifted = HEAD + "G1 Z9\n" + LINES + "G0 Z8\nX0 Y0\nZ30\nG1 Z-1\n"  # feeds above the level of its rapids
    text = lifted + "G1 X1\nG2 X29 Y29 I5\n" + LINES + "M30\n"
    motions = read_program(text.encode()).motions
    machine = load_machine("gantry-800w")
    whole, level = feed_model(motions, machine), Facts(motions, None, None).travel_level_mm
    assert level == 30.0
    monkeypatch.setattr("millcalc.preflight.tuning.MOTIONS_AT_ONCE", at_once)
    parts = feed_model(motions, machine)
    assert np.array_equal(whole.time_strict_s, parts.time_strict_s, equal_nan=True)
    assert np.array_equal(whole.time_quick_s, parts.time_quick_s, equal_nan=True)
    assert Facts(motions, None, None).travel_level_mm == level
