"""Two programs compared by what they do: twins are the same, each change is told as what it is."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.gcode.compare import Comparison, What, compare_programs
from millcalc.gcode.reader import read_program

BASE = """G21 G90 G94 G17
T1 M6
S12000 M3
G0 Z5
G0 X10 Y10
G1 Z-1 F200
G1 X50 F600
G3 X60 Y20 I0 J10
G1 Y50
G4 P1
G0 Z5
M5
M30
"""


def compare(a: str, b: str, **options: float) -> Comparison:
    return compare_programs(read_program(a.encode(), "a.nc"), read_program(b.encode(), "b.nc"), **options)


def test_the_same_bytes_are_the_same() -> None:
    found = compare(BASE, BASE)
    assert found.same and found.same_text and not found.stretches


@pytest.mark.parametrize(
    "twin",
    [
        BASE.replace("\n", "\r\n"),
        "(another name)\n" + BASE.replace("G1 X50 F600", "N100 g01 x50.000 (across) F600."),
        "\n".join(line.replace(" ", "") for line in BASE.splitlines()) + "\n",
        BASE.replace("G3 X60 Y20 I0 J10", "G3 X60 Y20 R10"),
        BASE.replace("G1 Y50", "G91 G1 Y30\nG90"),
    ],
)
def test_another_text_for_the_same_motions_is_the_same(twin: str) -> None:
    found = compare(BASE, twin)
    assert found.same and not found.same_text, (found.stretches, found.events)


def test_an_inch_program_and_its_metric_twin_are_the_same() -> None:
    metric = "G21 G90 G94\nG0 X25.4 Y12.7 Z5.08\nS9000 M3\nG1 Z-2.54 F254\nG1 X101.6 Y38.1\nM30\n"
    inch = "G20 G90 G94\nG0 X1 Y.5 Z.2\nS9000 M3\nG1 Z-.1 F10\nG1 X4 Y1.5\nM30\n"
    assert compare(metric, inch).same


@pytest.mark.parametrize(
    ("old", "new", "what", "count"),
    [
        ("F600", "F300", "feed", 3),
        ("S12000", "S9000", "speed", 8),
        ("M3", "M4", "spindle state", 8),
        ("T1 M6", "T2 M6", "tool", 8),
        ("G1 X50", "M8\nG1 X50", "coolant", 5),
    ],
)
def test_a_setting_is_told_as_that_setting(old: str, new: str, what: str, count: int) -> None:
    found = compare(BASE, BASE.replace(old, new, 1))
    assert found.settings == {what: count}
    assert found.changed_way == found.only_a == found.only_b == 0
    assert found.stretch_count == 1 and found.stretches[0].what.words == (what,)
    assert found.feed_ratio == ((0.5, 0.5) if what == "feed" else None)


def test_another_way_is_one_stretch_with_its_lines() -> None:
    found = compare(BASE, BASE.replace("G1 Y50", "G1 Y55"))
    # the cut itself, the dwell at its end, and the rapid up from there
    assert found.changed_way == 3 and found.same_motions == 5 and not found.settings
    first = found.stretches[0]
    assert (first.what, first.lines_a, first.lines_b) == (What.PATH, (9, 11), (9, 11))


def test_added_and_taken_motions_are_counted() -> None:
    longer = BASE.replace("G1 Y50\n", "G1 Y50\nG1 X70\nG1 X60\n")
    found = compare(BASE, longer)
    assert (found.only_a, found.only_b, found.changed_way) == (0, 2, 0)
    assert found.stretches[0].lines_a is None and found.stretches[0].lines_b == (10, 11)
    found = compare(longer, BASE)
    assert (found.only_a, found.only_b) == (2, 0)


def test_a_program_moved_or_in_the_other_unit_is_seen() -> None:
    known = "G21 G90 G94\nG0 X1 Y2 Z5\nG1 Z-1 F90\nG1 X30 Y20\nM30\n"
    moved = "G21 G90 G94\nG0 X4 Y2 Z4.5\nG1 Z-1.5 F90\nG1 X33 Y20\nM30\n"
    assert compare(known, moved).shift_mm == pytest.approx((3, 0, -0.5))
    assert compare(known, known.replace("G21", "G20")).scale == pytest.approx(25.4)
    assert compare(known.replace("G21", "G20"), known).scale == pytest.approx(1 / 25.4)
    assert compare(known, known.replace("X30", "X31")).shift_mm is None


def test_events_are_compared() -> None:
    found = compare(BASE, BASE.replace("M5\n", "").replace("G4 P1", "G4 P1\nM1"))
    told = [(change.program, change.event.kind) for change in found.events]
    assert sorted(told) == [("A", "spindle"), ("B", "optional stop")]
    assert not found.same and found.stretch_count == 0


def test_tolerance_decides() -> None:
    near = BASE.replace("Y50", "Y50.004")
    assert not compare(BASE, near).same
    assert compare(BASE, near, within_mm=0.01).same


def test_unknown_feed_and_place_compare_equal() -> None:
    bare = "G1 X1\nG1 Y1\nX5\n"
    assert compare(bare, bare + "\n").same
    found = compare(bare, "G1 X1 F90\nG1 Y1\nX5\n")
    assert found.settings == {"feed": 3} and found.feed_ratio is None


def test_nothing_against_something() -> None:
    found = compare("", BASE)
    assert (found.only_a, found.only_b, found.same_motions) == (0, 8, 0)
    assert compare("", "").same


@given(st.lists(st.tuples(st.sampled_from("XYZ"), st.integers(-20, 20)), max_size=25), st.data())
@settings(max_examples=60, deadline=None, database=None)
def test_counts_add_up(moves: list[tuple[str, int]], data: st.DataObject) -> None:
    lines = [f"G1 {axis}{value} F90" for axis, value in moves]
    other = [line for line in lines if data.draw(st.booleans())]
    a, b = (read_program(("G21 G90\n" + "\n".join(x)).encode(), "p") for x in (lines, other))
    there = compare_programs(a, b)
    back = compare_programs(b, a)
    for found, one, two in ((there, a, b), (back, b, a)):
        paired = len(one.motions) - found.only_a
        assert paired == len(two.motions) - found.only_b
        assert found.same_motions + found.changed_way <= paired
        assert (
            sum(stretch.count for stretch in found.stretches)
            == paired - found.same_motions + found.only_a + found.only_b
        )
    assert there.same == back.same == (found.stretch_count == 0 and not found.events)
