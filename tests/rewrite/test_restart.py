"""Beginning again: the state at a line, the places, the way back in, and the rest unchanged."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from millcalc.errors import ProgramError
from millcalc.gcode.motions import ARC_CCW, LINE
from millcalc.rewrite.restart import Reentry, reenter, state_for, survey
from millcalc.rewrite.way_in import Piece, heights_down, path_back
from tests.properties.test_gcode_fuzz import tries
from tests.rewrite.desks import HEAD, TAIL, desk, plate, slot

TWO = slot(levels=1).replace(TAIL, "G0 Z12\n(second slot)\nG0 X30 Y55\nG0 Z1\nG1 Z0 F70\n"
                             "G1 X50 Z-0.35 F190\nG1 X30\nG1 X90 F380\nG1 X30\n" + TAIL)  # fmt: skip


def begun(text: str, line: int, **changes: object) -> Reentry:
    """Begin again and check what always holds: the rest of the text is the old one's, the motions are the same."""
    work = desk(text, plate(**changes))
    made = reenter(work, survey(work), line)
    rest = b"\n".join(work.data.split(b"\n")[made.begins.line - 1 :])
    assert made.data.endswith(rest)
    old, new = work.read(work.data, None).motions, work.read(made.data, None).motions
    count = len(old) - made.begins.row
    np.testing.assert_allclose(new.end_mm[-count:], old.end_mm[-count:], atol=1e-3)
    np.testing.assert_allclose(new.feed_mm_min[-count:], old.feed_mm_min[-count:])
    assert (new.spindle_rpm[-count:] == old.spindle_rpm[-count:]).all()
    return made


def line_of(text: str, part: str, which: int = 0) -> int:
    return [k for k, line in enumerate(text.splitlines(), 1) if part in line][which]


def test_the_state_at_a_line() -> None:
    text = "G20 G91 G18 G94 G55 G64\nT4 M6\nS9000 M4\nM7\nM8\nG90.1\nG99\nG0 X1 Y2 Z3\nG43 H4\nF12\n"
    text += "(here)\nG1 X1\nM30\n"
    state = state_for(desk(text), line_of(text, "(here)"))
    assert state.line == 12
    words = dict(state.words())
    assert words["units"].startswith("G20") and words["distances"].startswith("G91")
    assert words["plane"] == "G18" and words["work offset"].startswith("G55") and words["path mode"] == "G64"
    assert (
        words["arc centres"].startswith("G90.1")
        and words["feed"] == "F12 (G94)"
        and words["speed"] == "S9000"
    )
    assert words["spindle"].startswith("M4") and words["coolant"] == "M7 and M8" and words["tool"] == "T4"
    assert words["length offset"] == "G43 H4" and not state.to_initial
    assert words["position"].startswith("X unknown")


def test_the_state_in_the_middle_of_a_slot() -> None:
    state = state_for(desk(slot()), line_of(slot(), "G1 X90", 1))
    assert state.position_mm == (30.0, 40.0, -0.7)
    assert (state.feed, state.rpm, state.tool, state.motion) == (190.0, 13200.0, 1, 10)


def test_the_places_are_after_each_retract_with_times() -> None:
    seen = survey(desk(TWO, plate()))
    assert [p.line for p in seen.points] == [line_of(TWO, "X30 Y55"), line_of(TWO, "M5") + 1] or [
        p.line for p in seen.points
    ] == [line_of(TWO, "X30 Y55")]
    first = seen.points[0]
    assert first.place_mm == (30.0, 40.0, 12.0) and first.about == "second slot" and first.tool == 1
    # 20 mm at 190, 20 + 60 + 60 at 380 or less, 6 s of dwell
    assert first.quick_s is not None and 20 < first.quick_s < 60
    assert first.strict_s is not None and first.strict_s >= first.quick_s


def test_a_cut_is_entered_down_a_ramp_on_the_open_path() -> None:
    text = slot()
    made = begun(text, line_of(text, "G1 X90", 1))
    assert made.way == "ramp" and made.good and made.simulated, made.left
    head = made.data.split(text.splitlines()[made.begins.line - 1].encode())[0].decode().splitlines()
    assert any(line.startswith("S13200 M3") for line in head) and any(
        line.startswith("G4 P") for line in head
    )
    ramp = [line for line in head if line.startswith("G1 X")]
    assert ramp and made.ramp_deg < 5
    # the ramp ends where the rest begins, and begins above it by its length times its slope
    program = desk(text, plate()).read(made.data, None).motions
    start = len(program) - (len(desk(text).read(text.encode(), None).motions) - made.begins.row)
    assert program.end_mm[start - 1].tolist() == pytest.approx([30.0, 40.0, -0.7])
    rise = made.ramp_mm * math.tan(math.radians(made.ramp_deg))
    assert program.end_mm[start - 2, 2] == pytest.approx(-0.7 + rise, abs=1e-3)


def head_lines(text: str, at: int, **changes: object) -> list[str]:
    work = desk(text, plate(**changes))
    made = reenter(work, survey(work), at)
    return made.data.decode().split(text.splitlines()[made.begins.line - 1])[0].splitlines()


def test_up_comes_before_everything_else_and_needs_no_offset() -> None:
    """The cutter may still stand in its slot: up by Z alone, as far as from -0.7 to Z12, before T, G43, X, Y."""
    lines = head_lines(slot(), line_of(slot(), "G1 X90", 1))
    assert lines[2:5] == ["G21 G91 G94", "G0 Z12.7", "G90"]
    assert not any(word in line for line in lines[:5] for word in ("X", "Y", "M6", "G43"))


def test_the_head_clears_what_a_stopped_machine_may_keep_and_changes_no_tool() -> None:
    lines = head_lines(slot(), line_of(slot(), "G1 X90", 1))
    assert lines[5:8] == ["G17 G40 G49 G80 G91.1", "G92.1", "G54"]
    assert "(T1 stays in the spindle: it is the one that was cutting)" in lines
    assert not any(line.startswith("T") or "M6" in line for line in lines)


def test_a_length_offset_comes_after_the_rise() -> None:
    text = slot().replace("T1 M6\n", "T1 M6\nG43 H1\n")
    lines = head_lines(text, line_of(text, "G1 X90", 1))
    assert lines.index("G0 Z12.7") < lines.index("G17 G40 G49 G80 G91.1") < lines.index("G43 H1")


def test_overrides_that_were_off_are_off_again() -> None:
    text = slot().replace("G4 P6\n", "G4 P6\nM49\n")
    assert any("M49" in line for line in head_lines(text, line_of(text, "G1 X90", 1)))
    assert not any("M49" in line for line in head_lines(slot(), line_of(slot(), "G1 X90", 1)))


def test_a_program_that_never_starts_its_spindle_says_who_does() -> None:
    text = slot().replace("S13200 M3\nG4 P6\n", "S13200\n")
    lines = head_lines(text, line_of(text, "G1 X90", 1))
    assert "M0 (this program never starts the spindle: start it, let it reach its speed, then go on)" in lines


def test_a_ramp_is_not_ridden_over_uncut_ground() -> None:
    """Before the ramp down has been ridden there is no open path: the old program's own way in is taken."""
    text = slot()
    made = begun(text, line_of(text, "G1 X50"))
    assert made.way == "travel" and made.good, made.left


def test_the_travel_height_is_enough_between_two_cuts() -> None:
    made = begun(TWO, line_of(TWO, "X30 Y55"))
    assert made.way == "travel" and made.good, made.left
    assert made.begins.line == line_of(TWO, "X30 Y55")


def test_arcs_are_ridden_as_arcs() -> None:
    ring = "G0 X60 Y30\nG0 Z1\nG1 Z0 F70\n" + "".join(
        f"G3 X60 Y30 Z{-0.15 * k:.2f} I0 J10 F190\n" for k in (1, 2)
    )
    text = HEAD + ring + "G3 X60 Y30 I0 J10 F380\nG1 X70 F380\nG1 X60\n" + TAIL
    made = begun(text, line_of(text, "G1 X70"))
    assert made.way == "ramp" and made.good, made.left
    assert b"\nG3 X" in made.data.split(b"G1 X70")[0]


def test_incremental_programs_go_on_incremental() -> None:
    text = slot().replace(
        "G1 X30\nG1 X90 F380\nG1 X30\nG1 X50", "G91\nG1 X-20\nG1 X60 F380\nG1 X-60\nG90\nG1 X50"
    )
    made = begun(text, line_of(text, "G1 X60 F380"))
    assert made.good, made.left
    assert b"G91" in made.data.split(b"G1 X60 F380")[0]


def test_modal_lines_are_begun_where_their_code_is_named() -> None:
    """Lines that rely on G3 cannot be the first of a program: the one that names it is."""
    text = (
        HEAD
        + "G0 X60 Y30\nG0 Z1\nG1 Z0 F70\nG1 X80 Z-0.35 F190\nG1 X60\nG3 X60 Y50 I0 J10 F380\nX60 Y30 I0 J-10\n"
    )
    text += "X60 Y10 I0 J-10\n" + TAIL
    made = begun(text, line_of(text, "X60 Y10"))
    assert made.begins.line == line_of(text, "G3 X60")
    assert made.good, made.left


def test_a_deep_program_does_not_pass() -> None:
    """What is wrong with the program is wrong with its rest: it is not named good."""
    text = slot(depth=3.0)
    made = begun(text, line_of(text, "G1 X90", 1))
    assert not made.good and {f.code for f in made.left} & {"DEPTH-01"}


def test_a_dialled_spindle_waits_for_the_person() -> None:
    text = slot().replace("S13200 M3\nG4 P6", "S13200\nM0")
    work = desk(text, plate(spindle={"set_by": "dial", "rpm": 13200}))
    made = reenter(work, survey(work), line_of(text, "G1 X90", 1))
    assert b"M0 (" in made.data


def test_without_a_job_the_text_alone_is_checked() -> None:
    work = desk(slot())
    made = reenter(work, survey(work), line_of(slot(), "G1 X90", 1))
    assert not made.simulated
    assert made.good, made.left


@pytest.mark.parametrize("end", [b"\r\n", b"\r"])
def test_line_ends_and_percent_lines_stay(end: bytes) -> None:
    text = ("%\n" + slot() + "%\n").encode().replace(b"\n", end)
    work = desk(text, plate())
    made = reenter(work, survey(work), line_of("%\n" + slot(), "G1 X90", 1))
    assert made.data.startswith(b"%" + end) and made.data.endswith(b"M30" + end + b"%" + end)
    assert made.data.replace(end, b"").count(b"\n") == 0
    assert made.good, made.left


@pytest.mark.parametrize(
    ("change", "found"),
    [
        (("G1 X50 Z-0.350", "#1=50\nG1 X#1 Z-0.350"), "parameters"),
        (("G0 X30 Y40", "G0 X30 Y40\nG92 X0"), "shift"),
        (("G1 Z0 F70", "o1 sub\nG1 Z0 F70\no1 endsub\no1 call"), "subprograms"),
        (("G1 Z0 F70", "G43.1 Z3\nG1 Z0 F70"), "G43.1"),
    ],
)
def test_what_cannot_be_begun_in_the_middle(change: tuple[str, str], found: str) -> None:
    text = slot().replace(*change)
    work = desk(text)
    with pytest.raises(ProgramError, match=found):
        reenter(work, survey(work), line_of(text, "G1 X90", 1))


@pytest.mark.parametrize("line", [0, -1, 10_000])
def test_lines_that_are_not_there(line: int) -> None:
    with pytest.raises(ProgramError):
        state_for(desk(slot()), line)


def test_before_the_first_cut_there_is_nothing_to_go_back_to() -> None:
    work = desk(slot(), plate())
    with pytest.raises(ProgramError, match="start"):
        reenter(work, survey(work), 3)


def test_an_arc_is_cut_where_it_should_be() -> None:
    """A quarter circle of radius 10 about the origin, its last half: it begins at 45 degrees (exact)."""
    piece = Piece(ARC_CCW, (10.0, 0.0), (0.0, 10.0), (0.0, 0.0), math.pi / 2)
    half = piece.last(piece.length_mm / 2)
    assert half.start == pytest.approx((10 / math.sqrt(2), 10 / math.sqrt(2)))
    assert half.length_mm == pytest.approx(10 * math.pi / 4) and half.end == piece.end


@tries(60)
@given(
    st.lists(st.tuples(st.integers(-20, 20), st.integers(-20, 20)), min_size=2, max_size=10),
    st.integers(1, 60),
)
def test_the_way_back_is_the_end_of_the_way_there(points: list[tuple[int, int]], length: int) -> None:
    lines = ["G21 G90", "G0 Z5", f"G0 X{points[0][0]} Y{points[0][1]}", "G1 Z-1 F100"]
    lines += [f"G1 X{x} Y{y}" for x, y in points[1:]] + ["G1 X99"]
    motions = desk("").read("\n".join(lines).encode(), None).motions
    pieces = path_back(motions, len(motions) - 1, float(length))
    total = sum(piece.length_mm for piece in pieces)
    whole = sum(math.dist(a, b) for a, b in pairwise(points))
    assert total == pytest.approx(min(length, whole), abs=1e-6)
    if pieces:
        assert pieces[-1].end == pytest.approx(points[-1])
        assert all(a.end == pytest.approx(b.start) for a, b in pairwise(pieces))
        down = heights_down(pieces, -1.0, 3.0)
        assert down[-1] == -1.0 and all(a >= b for a, b in pairwise(down))
        assert down[0] == pytest.approx(-1.0 + total * math.tan(math.radians(3.0)))
    assert all(piece.kind == LINE for piece in pieces)
