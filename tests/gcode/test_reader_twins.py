"""The compiled reader and the plain one are one language: random programs give equal tables, events and findings."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.gcode import Program, ReadOptions, read_program
from millcalc.gcode.profiles import profile_names
from millcalc.gcode.summary import summarise, word_counts

number = st.one_of(
    st.floats(-60, 60).map(lambda value: f"{value:.3f}"),
    st.integers(-60, 60).map(str),
    st.sampled_from(["-.5", "5.", "+3", "0. 12 3", "-0", "1.23456789", "0.0000001"]),
)
blank = st.sampled_from(["", " ", "  ", "\t"])
axes = st.lists(st.sampled_from("XYZ"), min_size=1, max_size=3, unique=True).flatmap(
    lambda letters: st.tuples(*(st.tuples(st.just(letter), blank, number) for letter in letters)).map(
        lambda words: "".join(letter + gap + value + " " for letter, gap, value in words)
    )
)
plain = st.builds(lambda code, words, feed: f"{code}{words}{feed}", st.sampled_from(["G1 ", "G0", "g01", "", "G38.2"]),
                  axes, st.sampled_from(["", "F200", " F33.5 S900"]))  # fmt: skip
arc = st.builds(lambda code, i, j: f"{code} I{i} J{j}", st.sampled_from(["G2", "G3"]), number, number)
radius_arc = st.builds(lambda code, words, r: f"{code} {words}R{r:.2f}", st.sampled_from(["G2", "G3"]), axes,
                       st.floats(-90, 90))  # fmt: skip
modal = st.sampled_from([
    "G90", "G91", "G20", "G21", "G17", "G18", "G19", "G94", "G93", "G95", "M3 S900", "M5", "M8", "M7",
    "M9", "S500", "F200", "G40", "G64", "G61", "G90.1", "G91.1", "M4", "G41", "G54", "G55", "G92 X0",
    "G28", "G53 G0 Z0", "T1 M6", "G4 P.5", "G81 X1 Y2 Z-1 R2 F50", "G80", "X[1+2] #1=3", "M6", "G43 H1",
    "G68 R5", "G69", "G10 L20 P1 X1", "G0", "G1", "G0 G80 G17", "G0 G28 Z1",
])  # fmt: skip
odd = st.sampled_from([
    "(note)", "(MSG, x)", "; hi!", "", "  ", "N10", "/G1X1", "%", "G1 X1 X2", "K5", "G1 X1O", "G0 I5", "X",
    "G2 X5", "é", "G1 X1e5", "(ü)", "(open", "M3 M5", "G1 G1 X3", "N123456 G1 X5", "G1 A5 X1", "B3",
    "G1 X1 (a) (b)", "O100", "x1 ~", "M30", "G1 X1234567890123456", "G1 X\x00 1", "(hold ! here)",
    "G2 X0 Y0 I1 J0 (c)", "F-1", "M7 M8",
])  # fmt: skip
lines = st.lists(st.one_of(plain, plain, plain, arc, radius_arc, modal, odd), max_size=40)


def same(first: Program, second: Program) -> None:
    assert len(first.motions) == len(second.motions)
    for column in dataclasses.fields(first.motions):
        one, other = getattr(first.motions, column.name), getattr(second.motions, column.name)
        assert one.dtype == other.dtype, column.name
        np.testing.assert_allclose(one, other, rtol=1e-12, atol=1e-12, err_msg=column.name)
    assert repr(first.events) == repr(second.events)
    assert first.findings == second.findings
    assert repr(first.frames) == repr(second.frames)
    assert (first.units_seen, first.modes_seen, first.complete) == (
        second.units_seen,
        second.modes_seen,
        second.complete,
    )
    assert first.line_starts.tolist() == second.line_starts.tolist()


@settings(max_examples=150, deadline=None, database=None)
@given(
    lines,
    st.sampled_from(["\n", "\r\n", "\r"]),
    st.sampled_from(profile_names()),
    st.sampled_from(["utf-8", "cp1252"]),
)
def test_both_readers_give_the_same_program(text: list[str], end: str, profile: str, encoding: str) -> None:
    data = end.join(text).encode(encoding)
    fast = read_program(data, options=ReadOptions(profile=profile, force_fast=True))
    slow = read_program(data, options=ReadOptions(profile=profile, force_slow=True))
    same(fast, slow)


@settings(max_examples=40, deadline=None, database=None)
@given(lines)
def test_words_are_counted_alike(text: list[str]) -> None:
    data = "\n".join(
        line for line in text if "e5" not in line and "12 3" not in line and "(open" not in line
    ).encode()
    assert word_counts(data, 1) == word_counts(data, 1_000_000)


def test_summary_of_a_long_program_reads_only_the_table() -> None:
    data = b"G21 G90 T1 M6 M3 S1000\nG0 X0 Y0 Z5\n" + b"G1 X10 F100\nX0\n" * 3000 + b"M30\n"
    summary = summarise(read_program(data), rapid_mm_min=1000)
    assert summary.motions == {"rapid": 1, "line": 6000}
    assert summary.codes["G1"] == 3000 and summary.letters["X"] == 6001
    (use,) = summary.tools
    assert use.feed_time_s == pytest.approx(6000 * 10 / 100 * 60) and use.feeds_mm_min == (100.0,)
