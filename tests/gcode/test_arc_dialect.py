"""Centres written the other way: one cause, told once, and the arcs carried out as they fit."""

from __future__ import annotations

import numpy as np

from millcalc.check.prepare import CheckOptions, make_context
from millcalc.check.run import judge
from tests.ordinary.parts import rounded
from tests.ordinary.writer import Style, write


def test_coordinates_without_the_word_are_told_once_and_followed():
    said = write(rounded(), Style(arcs="coordinate"), "plate")
    unsaid = said.replace(b" G90.1", b"")
    ctx = make_context(unsaid, "unsaid.nc")
    arcs = [f for f in judge(ctx, CheckOptions()).findings if f.code.startswith("ARC")]
    assert [(f.code, f.count) for f in arcs] == [("ARC-03", 12)]
    assert "as coordinates" in arcs[0].fact and "G90.1" in arcs[0].action
    lines = [k for k, line in enumerate(unsaid.splitlines(), 1) if b"I" in line and b"J" in line]
    assert min(s.line for s in arcs[0].spans) == lines[0] and arcs[0].last_line == lines[-1]
    meant, found = make_context(said, "said.nc").program.motions, ctx.program.motions
    assert np.allclose(meant.end_mm, found.end_mm, equal_nan=True)
    assert np.allclose(meant.centre_mm, found.centre_mm, equal_nan=True)


def test_distances_under_the_other_word_are_told_once():
    data = write(rounded(), Style(), "plate").replace(b"G21 G90", b"G21 G90 G90.1")
    arcs = [f for f in judge(make_context(data, "a.nc"), CheckOptions()).findings if f.code.startswith("ARC")]
    assert [(f.code, f.count) for f in arcs] == [("ARC-03", 12)] and "G91.1" in arcs[0].action
