"""The reader: files and encodings, coordinates and frames, order of execution, cycles, flow, limits, findings."""

from __future__ import annotations

import hashlib
import math
from pathlib import Path

import numpy as np
import pytest

from millcalc.errors import ProgramError, UsageError
from millcalc.findings import Severity
from millcalc.gcode import ReadOptions, read_program, read_program_file
from millcalc.gcode.codes import CODES
from millcalc.gcode.motions import (
    DWELL,
    FLAG_CYCLE,
    FLAG_FEED_UNKNOWN,
    FLAG_HOME,
    FLAG_MACHINE,
    FLAG_MODE_UNKNOWN,
    FLAG_OPTIONAL,
    FLAG_UNITS_UNKNOWN,
    PROBE,
)
from millcalc.gcode.profiles import load_profile, profile_names
from millcalc.gcode.program import EVENT_KINDS, Program


def read(text: str | bytes, **options: object) -> Program:
    data = text.encode() if isinstance(text, str) else text
    return read_program(data, "test.nc", options=ReadOptions(**options))  # type: ignore[arg-type]


def codes(program: Program) -> list[str]:
    return [finding.code for finding in program.findings]


def ends(program: Program) -> list[list[float]]:
    return program.motions.end_mm.tolist()


# ---- files


def test_absent_file_directory_and_unreadable_are_input_errors(tmp_path: Path) -> None:
    with pytest.raises(ProgramError, match="no file of that name"):
        read_program_file(tmp_path / "none.nc")
    with pytest.raises(ProgramError, match="directory"):
        read_program_file(tmp_path)
    with pytest.raises(ProgramError):
        read_program_file(tmp_path / "bad\0name.nc")
    big = tmp_path / "big.nc"
    with big.open("wb") as stream:
        stream.truncate((1 << 30) + 1)
    with pytest.raises(ProgramError, match="at most"):
        read_program_file(big)


def test_unknown_profile_names_the_near_ones() -> None:
    with pytest.raises(UsageError, match="rs274-ngc"):
        read("G0 X1", profile="rs274")


@pytest.mark.parametrize("data", [b"", b"\n\n", b"  \r\n", b"(only a comment)\n", b"%\n%\n", b"\xef\xbb\xbf"])
def test_nothing_to_run_is_a_stop(data: bytes) -> None:
    assert codes(read(data)) == ["TEXT-01"]


@pytest.mark.parametrize(
    "data",
    [bytes(range(256)) * 20, b"PK\x03\x04" + b"abc" * 50, b"%PDF-1.7\n", b"\x89PNG\r\n\x1a\n" + b"\0" * 99],
)
def test_binary_is_not_read(data: bytes) -> None:
    program = read(data)
    assert codes(program) == ["TEXT-02"]
    assert not program.complete and len(program.motions) == 0


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("fast", [True, False])
def test_line_ends(end: str, fast: bool) -> None:
    program = read(end.join(["G21 G90", "G0 X1 Y2 Z3", "", "G1 Z0 F100", "M30", ""]), force_fast=fast)
    assert program.motions.line.tolist() == [2, 4]
    assert program.lines == 5 and program.findings == ()


def test_mixed_line_ends_count_every_line_once() -> None:
    program = read(b"G21 G90\rG0 X1\r\nG0 X2\n\rG0 X3\nM2\n")
    assert program.motions.line.tolist() == [2, 3, 5]


def test_byte_order_mark_utf16_and_control_z() -> None:
    assert codes(read(b"\xef\xbb\xbfG21 G90 G0 X1\nM30\n")) == []
    for encoding in ("utf-16", "utf-16-le", "utf-16-be"):
        program = read("G21 G90 G0 X1\nM30\n".encode(encoding))
        assert codes(program) == ["TEXT-19"]
        assert len(program.motions) == 1
    assert codes(read(b"G21 G90 G0 X1\nM30\n\x1a")) == []


def test_nul_bytes_are_reported_and_read_as_blanks() -> None:
    program = read(b"G21 G90\nG0 X1\0\0\nM30\n")
    assert codes(program) == ["TEXT-08"]
    assert ends(program)[0][0] == 1.0


def test_windows_1252_comment_text() -> None:
    program = read("G21 G90 G0 X1 (Fräser)\nM30\n".encode("cp1252"))
    assert program.findings == ()
    assert [event.text for event in program.events if event.kind == "comment"] == ["Fräser"]


def test_very_long_line_is_reported_not_read() -> None:
    program = read(b"G0 X1\n" + b"G1 X2 " * 50_000 + b"\nG0 Y1\nM30\n")
    assert codes(program) == ["TEXT-23"]
    assert math.isnan(ends(program)[1][0])
    assert program.findings[0].measured == 300_001


def test_fingerprint_is_of_the_bytes_as_given() -> None:
    import hashlib

    data = "G0 X1\n".encode("utf-16")
    assert read(data).sha256 == hashlib.sha256(data).hexdigest()


# ---- known and unknown


def test_position_units_modes_and_feed_unknown_until_set() -> None:
    program = read("X1\nG1 X2\nG21 G90 F50\nG1 Y1\n")
    assert codes(program) == ["WORD-11"]
    first, second = program.motions.flags.tolist()
    assert first == FLAG_UNITS_UNKNOWN | FLAG_MODE_UNKNOWN | FLAG_FEED_UNKNOWN
    assert second == 0
    assert math.isnan(program.motions.start_mm[0, 0]) and math.isnan(program.motions.end_mm[1, 2])


def test_incremental_from_unknown_stays_unknown() -> None:
    program = read("G21 G91 G0 X1\nG90 X5\nG91 X1\n")
    assert [row[0] for row in ends(program)][1:] == [5.0, 6.0]
    assert math.isnan(ends(program)[0][0])


def test_broken_line_forgets_only_the_axes_it_names() -> None:
    program = read("G21 G90 G0 X1 Y1 Z1\nG0 X1O Z2\nG0 Y3\n")
    assert codes(program) == ["WORD-03"]
    row = ends(program)[1]
    assert math.isnan(row[0]) and row[1] == 3.0 and math.isnan(row[2])


def test_broken_line_keeps_its_mode_words() -> None:
    program = read("G21 G90 G0 X1 Y1 Z1\nG1 F100 X1,5\nY3\n")
    assert program.motions.kind.tolist() == [0, 1]
    assert program.motions.feed_mm_min[1] == 100.0


# ---- frames


def test_g92_keeps_part_coordinates_and_names_the_frame() -> None:
    program = read("G21 G90 G54\nG0 X4\nG92 X7\nG0 X9\nG92.1\nG0 X1\n")
    assert [row[0] for row in ends(program)] == [4.0, 6.0, 1.0]
    names = [program.frames[index].name for index in program.motions.frame]
    assert names == ["G54", "G54+G92", "G54"]
    assert program.frames[program.motions.frame[1]].shift_mm[0] == -3.0


def test_g92_from_unknown_position_makes_it_known_but_the_frame_assumed() -> None:
    program = read("G21 G90 G92 X0 Y0 Z0\nG0 X5\n")
    assert program.motions.start_mm[0].tolist() == [0, 0, 0]
    assert not program.frames[program.motions.frame[0]].known


def test_second_work_offset_known_and_unknown() -> None:
    text = "G21 G90 G54 G0 X1 Y1 Z1\nG55 G0 X1\n"
    known = read(text, work_offsets_mm={54: (10.0, 0.0, 0.0), 55: (30.0, 0.0, 0.0)})
    assert ends(known)[1][0] == 21.0
    assert known.machine_origin_mm == (10.0, 0.0, 0.0)
    unknown = read(text)
    assert ends(unknown)[1][0] == 1.0
    assert not unknown.frames[unknown.motions.frame[1]].known


def test_only_one_work_offset_is_the_part_frame_whatever_its_name() -> None:
    program = read("G21 G90 G57 G0 X1\n")
    assert program.frames[program.motions.frame[0]].name == "G57"
    assert program.frames[program.motions.frame[0]].known


def test_g10_and_g52_shift() -> None:
    program = read("G21 G90 G10 L2 P1 X10 Y0 Z0\nG54 G0 X1 Y0 Z0\nG10 L2 P1 X13\nG0 X1\nG52 Y2\nG0 Y1\n")
    assert [row[:2] for row in ends(program)] == [[1, 0], [4, 0], [4, 3]]
    program = read("G21 G90 G0 X5 Y0 Z0\nG10 L20 P1 X0\nG0 X1\n")
    assert ends(program)[1][0] == 6.0


def test_g53_and_g28_are_known_with_offsets_only() -> None:
    text = "G21 G90 G54 G0 X1 Y1 Z1\nG53 G0 Z0\nG91 G28 Z0\n"
    known = read(text, work_offsets_mm={54: (10.0, 20.0, -50.0)}, home_mm=(0.0, 0.0, 0.0))
    assert ends(known)[1] == [1.0, 1.0, 50.0]
    assert ends(known)[-1] == [-10.0, -20.0, 50.0]
    assert known.motions.flags[1] & FLAG_MACHINE and known.motions.flags[-1] & FLAG_HOME
    unknown = read(text)
    assert math.isnan(ends(unknown)[1][2]) and ends(unknown)[1][0] == 1.0
    assert all(math.isnan(value) for value in ends(unknown)[-1])


def test_home_moves_only_named_axes_where_the_class_does_so() -> None:
    program = read("G21 G90 G0 X1 Y1 Z1\nG91 G28 Z0\nM30\n", profile="subprogram-mill")
    assert ends(program)[-1][:2] == [1.0, 1.0] and math.isnan(ends(program)[-1][2])


def test_stored_home_point() -> None:
    program = read("G21 G90 G0 X1 Y2 Z3\nG28.1\nG0 X9 Y9 Z9\nG28\n")
    assert ends(program)[-1] == [1.0, 2.0, 3.0]


def test_units_scale_everything_and_a_change_keeps_the_place() -> None:
    program = read("G20 G90 G0 X1 Y0 Z0\nG1 X2 F10\nG21 X25.4\n")
    assert [row[0] for row in ends(program)] == [25.4, 50.8, 25.4]
    assert program.motions.feed_mm_min[1] == 254.0
    assert (
        program.motions.feed_mm_min[2] == 10.0
    )  # the number stays, its unit changes: NISTIR 6556 section 4.3.3.3
    assert program.units_seen == {"G20", "G21"}


# ---- order of execution, feeds


def test_order_of_execution_in_a_line() -> None:
    program = read("G21 G90 M3 S900\nG1 X10 F100 M5\nX20 M3 M8 S50\n", start_mm=(0, 0, 0))
    assert program.motions.spindle_dir.tolist() == [0, 1]
    assert program.motions.spindle_rpm.tolist() == [900, 50]
    assert program.motions.coolant.tolist() == [0, 2]


def test_tool_change_stops_the_spindle() -> None:
    program = read("G21 G90 M3 S900\nT4 M6\nG0 X1\n")
    assert program.motions.tool.tolist() == [4] and program.motions.spindle_dir.tolist() == [0]


def test_feed_modes() -> None:
    program = read("G21 G90 S1000 M3\nG93 G1 X10 F2\nG95 X20 F0.1\nG94 X30 F77\n", start_mm=(0, 0, 0))
    assert program.motions.feed_mm_min.tolist() == [20.0, 100.0, 77.0]
    assert program.motions.feed_mode.tolist() == [93, 95, 94]


def test_dwell_row_and_units_of_dwell() -> None:
    program = read("G21 G90 G0 X1\nG4 P1.5\n")
    assert program.motions.kind[1] == DWELL and program.motions.dwell_s[1] == 1.5
    assert read("G4 P1500\n", profile="ms-dwell-firmware").motions.dwell_s.tolist() == [1.5]
    assert codes(read("G4 S2\n")) == ["WORD-12"]
    hole = "G21 G90 G0 X0 Y0 Z5\nG82 X1 Y1 Z-3 R1 P1500 F50\n"
    assert read(hole, profile="subprogram-mill").motions.dwell_s.max() == 1.5
    assert read(hole).motions.dwell_s.max() == 1500.0


def test_probe_leaves_its_axis_unknown() -> None:
    program = read("G21 G90 G0 X1 Y1 Z5\nG38.2 Z-5 F50\nG0 X2\nG1 X#5063\n")
    assert program.motions.kind[1] == PROBE
    assert math.isnan(program.motions.start_mm[2, 2]) and program.motions.start_mm[2, 0] == 1.0
    assert math.isnan(ends(program)[3][0])


def test_block_delete_switch() -> None:
    text = "G21 G90 G0 X1\n/G0 X2\nG0 Y1\n"
    off, on = read(text), read(text, block_delete=True)
    assert len(off.motions) == 3 and len(on.motions) == 2
    assert off.motions.flags[1] & FLAG_OPTIONAL


def test_g43_with_known_length_shifts_the_reading() -> None:
    """NISTIR 6556 table 10: after ``g43 h2`` with offset 1.0 the Z of 0.5 reads -0.5."""
    text = "g21 g90 g1 x0 y1 z0.5 f20\nt2 m6 g43 h2\ng1 x asin[0.5]\n"
    assert ends(read(text, tool_lengths_mm={2: 1.0}))[1] == pytest.approx([30.0, 1.0, -0.5])
    assert ends(read(text))[1] == pytest.approx([30.0, 1.0, 0.5])


# ---- cycles


def test_peck_cycle_bottoms_and_returns() -> None:
    """NISTIR 6556 appendix C.3: ``g83 g90 x5 y6 r0.2 z-1.1 q0.21`` (inch)."""
    program = read("g20 g90 g0 x0 y0 z0.5\ng83 g90 x5 y6 r0.2 z-1.1 q0.21 f10\n")
    feed = program.motions.kind == 1
    assert program.motions.end_mm[feed, 2] / 25.4 == pytest.approx(
        [-0.01, -0.22, -0.43, -0.64, -0.85, -1.06, -1.1]
    )
    assert all(program.motions.flags[1:] & FLAG_CYCLE)


def test_chip_breaking_cycle_stays_in_the_hole() -> None:
    program = read("G21 G90 G0 X0 Y0 Z5\nG73 G99 X1 Y1 Z-3 R1 Q2 F50\n")
    assert program.motions.end_mm[2:, 2].tolist() == pytest.approx([1, -1, -1 + 0.254, -3, 1])


def test_sticky_words_and_return_level() -> None:
    program = read("G21 G90 G0 X0 Y0 Z5\nG98 G82 X1 Y1 Z-3 R1 P0.5 F50\nX2\nG99 X3\nG80 G0 Z5\n")
    assert (program.motions.kind == DWELL).sum() == 3
    assert program.findings == ()
    line4 = program.motions.line == 4
    assert program.motions.end_mm[line4, 2][-1] == 1.0


def test_spindle_through_tapping_and_boring() -> None:
    program = read("G21 G90 G0 X0 Y0 Z5\nM3 S300\nG84 X1 Y1 Z-3 R1 F150\nG86 X2 Z-3 R1 P0.1\n")
    assert program.motions.spindle_dir.tolist()[2:6] == [1, 1, -1, 1]
    assert 0 in program.motions.spindle_dir.tolist()
    assert program.findings == ()


# ---- flow


def test_subprograms_loops_and_call_depth() -> None:
    text = "o1 sub\nG1 X#1 F100\no1 endsub\nG21 G90\no1 call [5]\n#1=0\n"
    text += "o2 repeat [3]\n#1=[#1+1]\nG1 Y#1\no2 endrepeat\nM30\n"
    program = read(text, start_mm=(0, 0, 0))
    assert [row[:2] for row in ends(program)] == [[5, 0], [5, 1], [5, 2], [5, 3]]
    assert program.motions.call_depth.tolist() == [1, 0, 0, 0]
    assert program.findings == ()


def test_m98_with_repeats_and_the_joined_number() -> None:
    text = "G21 G90 G0 X0 Y0 Z0\nM98 P7 L2\nM98 P30007\nM30\nO7\nG91 G0 X1\nG90\nM99\n"
    program = read(text)
    assert ends(program)[-1][0] == 5.0 and program.findings == ()


def test_branches_and_do_while() -> None:
    text = (
        "G21 G90\n#1=2\no1 if [#1 eq 1]\nG0 X1\no1 elseif [#1 eq 2]\nG0 X2\no1 else\nG0 X3\no1 endif\n"
        "o2 do\n#1=[#1+1]\no2 while [#1 lt 5]\nG0 Y#1\no3 while [1]\no3 break\no3 endwhile\nM30\n"
    )
    program = read(text)
    assert ends(program)[0][0] == 2.0 and ends(program)[1][1] == 5.0
    assert program.findings == ()


def test_named_parameters_are_local_unless_underscored() -> None:
    text = "o1 sub\n#<a>=9\n#<_b>=8\no1 endsub\n#<a>=1\no1 call\nG0 X#<a> Y#<_b>\nG0 Z exists[#<c>]\nM30\n"
    program = read("G21 G90\n" + text)
    assert ends(program)[-1] == [1.0, 8.0, 0.0]


@pytest.mark.parametrize(
    ("text", "code", "line"),
    [
        ("o1 while [1]\nG0 X1\nG0 X0\no1 endwhile\n", "FLOW-02", 4),
        ("#1=1\no1 while [#1 gt 0]\n#1=[#1+1]\no1 endwhile\n", "FLOW-02", 4),
        ("o1 sub\no1 call\no1 endsub\no1 call\n", "FLOW-03", 2),
        ("G0 X1\nM99\n", "FLOW-06", 2),
        ("M98 P9\nM30\n", "FLOW-01", 1),
        ("o1 while [1]\nM2\n", "FLOW-05", 1),
        ("o1 endif\nM2\n", "FLOW-05", 1),
        ("G21\nIF [#1 GT 5] GOTO 10\nM2\n", "FLOW-11", 2),
    ],
)
def test_flow_that_does_not_end_or_fit_is_reported_with_its_line(text: str, code: str, line: int) -> None:
    program = read(text, max_jumps=2000)
    found = [finding for finding in program.findings if finding.code == code]
    assert found and found[0].line == line and found[0].severity is Severity.STOP


def test_too_many_motions_stop_the_reading() -> None:
    for fast in (True, False):
        program = read("G0 X0\n" + "G0 X1\nX2\n" * 100, max_motions=50, force_fast=fast)
        assert len(program.motions) == 50 and "FLOW-04" in codes(program) and not program.complete


def test_parallel_setting_and_machine_parameters() -> None:
    program = read("G21 G90\n#3=15\n#3=6 G1 X#3 F9\nG1 Y#3\nG1 X#5420\nG1 Z#5220\n")
    assert ends(program)[-1] == [15.0, 6.0, 1.0]


# ---- the end


def test_text_after_the_end_is_reported_unless_called() -> None:
    assert codes(read("G21 G0 X1\nM30\n(done)\n\n%\n")) == []
    assert codes(read("G21 G0 X1\nM30\nG0 X2\n")) == ["TEXT-18"]
    assert codes(read("G21 M98 P5\nM30\nO5\nG0 X1\nM99\n")) == []
    assert codes(read("G21 G0 X1\nM30\nO5\nG0 X1\nM99\n")) == ["TEXT-18"]


def test_percent_rules() -> None:
    assert codes(read("%\nG0 X1\n%\nanything here\n")) == ["TEXT-18"]
    assert codes(read("%\nG0 X1\n")) == ["TEXT-17"]
    assert codes(read("G0 X1\n%\n")) == ["TEXT-17"]


# ---- findings


def test_every_code_has_its_documentation_and_family() -> None:
    for code, doc in CODES.items():
        assert doc.code == code and code.split("-")[0] in {
            "TEXT",
            "WORD",
            "ARC",
            "CYCLE",
            "COMP",
            "FLOW",
            "PARAM",
        }
        assert doc.title and doc.flags and doc.why and doc.wrong and doc.right and doc.source


def test_findings_of_one_code_are_capped_and_the_rest_counted() -> None:
    for fast in (True, False):
        program = read("G21 G90\n" + "G0 X1 Q5\n" * 5000, force_fast=fast)
        assert len(program.findings) == 201
        assert program.findings[-1].count == 4800 and "4800 more" in program.findings[-1].fact


def test_runs_of_foreign_lines_are_one_finding_each() -> None:
    program = read("<html>\n<body>\nG21 G0 X1\n<<<<<<< ours\nplease mind the clamps\nand the screws\nM30\n")
    assert codes(program) == ["TEXT-03"] * 3
    assert [(f.line, f.last_line, f.count) for f in program.findings] == [(1, 2, 2), (4, None, 1), (5, 6, 2)]


def test_spans_point_at_the_words() -> None:
    program = read("G21 G90 G1 X1,5 Y2 Q3 F1\n")
    (first,) = program.findings
    assert (first.spans[0].start, first.spans[0].end) == (13, 16) and first.expected == "1.5"


def test_arc_that_fits_as_absolute_says_so() -> None:
    program = read("G21 G90 G0 X10 Y10 Z0\nG2 X30 Y10 I20 J10 F100\n")
    assert codes(program) == ["ARC-03"] and "coordinates" in program.findings[0].fact
    assert codes(read("G21 G90 G90.1 G0 X10 Y10 Z0\nG2 X30 Y10 I20 J10 F100\n")) == []


def test_distorting_codes_make_positions_unknown() -> None:
    program = read("G21 G90 G0 X1 Y1 Z1\nG68 X0 Y0 R30\nG1 X2 Y2 F9\nG69\nG0 X3 Y3\n")
    assert codes(program) == ["WORD-20"]
    assert math.isnan(ends(program)[1][0]) and ends(program)[1][2] == 1.0 and ends(program)[2][0] == 3.0


def test_compensation_fit_is_checked_when_the_cutter_is_known() -> None:
    text = "G21 G90 G17 G0 X0 Y0 Z0\nT1 M6\nG41 D1 G1 X10 F100\nX20\nG3 X22 Y2 J2\nG1 Y10\nX30\nG40 G0 X0\n"
    found = codes(read(text, tool_diameters_mm={1: 6.0}))
    assert "COMP-05" in found
    assert codes(read(text)) == [] and codes(read(text, tool_diameters_mm={1: 1.0})) == []
    square = "G21 G90 G17 G0 X0 Y0 Z0\nG41 D1 G1 X10 F100\nX20\nY10\nG40 X0\n"
    assert codes(read(square, tool_diameters_mm={1: 6.0})) == ["COMP-06"]
    assert codes(read(square.replace("G41", "G42"), tool_diameters_mm={1: 6.0})) == []


def test_events_have_known_kinds_and_point_into_the_table() -> None:
    text = "O1\n(a)\n(MSG, look)\nG21 G90 G17 G94 G64 G40 G49 G54 M48\nT1 M6 M3 S9 M8\n"
    text += "G92 X0\nG4 P1 M0\nM1\nG28\nF5\nS6\nM30\n"
    for fast in (True, False):
        program = read(text, force_fast=fast)
        assert {event.kind for event in program.events} <= set(EVENT_KINDS)
        assert all(0 <= event.motion <= len(program.motions) for event in program.events)
        assert [event.text for event in program.events if event.kind == "message"] == ["look"]


# ---- profiles


@pytest.mark.parametrize("name", profile_names())
def test_profiles_load_and_say_where_they_come_from(name: str) -> None:
    profile = load_profile(name)
    assert profile.name == name and profile.notes and profile.title


def test_small_firmware_refuses_what_it_lacks() -> None:
    program = read(
        "G21 G90 G0 X1\nG81 X1 Y1 Z-1 R1\n#1=5\n" + "G0 X1 (" + "x" * 90 + ")\n",
        profile="small-motion-firmware",
    )
    assert {"WORD-07", "TEXT-04"} <= set(codes(program))


def test_table_types_and_memory() -> None:
    program = read("G21 G90 G0 X1 Y1 Z1\n" * 4000)
    table = program.motions
    assert table.nbytes / len(table) < 200
    assert (
        table.start_mm.dtype == np.float64 and table.flags.dtype == np.uint16 and table.tool.dtype == np.int32
    )
    assert table.start_mm.shape == (len(table), 3)


@pytest.mark.parametrize("encoding", ["ascii", "utf-16", "utf-8-sig"])
def test_the_fingerprint_is_that_of_the_file(encoding: str) -> None:
    data = "G21 G90\nG0 X1 Y1\nM30\n".encode(encoding)
    assert read_program(data).sha256 == hashlib.sha256(data).hexdigest()


@pytest.mark.parametrize(
    ("profile", "unit"), [("rs274-ngc", "seconds"), ("ms-dwell-firmware", "milliseconds")]
)
def test_a_cycle_without_its_dwell_is_told_the_unit_the_controller_reads(profile: str, unit: str) -> None:
    found = read("G21 G90 M3 S1000\nG82 X1 Y1 Z-1 R1 F100\nM2\n", profile=profile).findings
    told = next(finding for finding in found if finding.code == "CYCLE-06")
    assert told.action == f"write P with the dwell in {unit}"


def test_a_change_without_a_tool_number_names_none() -> None:
    program = read_program(b"G21 G90 G0 Z5\nM6\nG0 X1\nM2\n")
    assert program.motions.tool.tolist() == [-1, -1]
    assert [event.value for event in program.events if event.kind == "tool change"] == [-1.0]


def test_an_arc_by_radius_back_to_its_start_is_refused_anywhere_on_the_plate() -> None:
    """RS274/NGC 3.5.3.2: an end point like the start is an error; at X5 Y5 as at zero."""
    for place in ("X0 Y0", "X5 Y5", "X-5 Y2"):
        program = read_program(f"G21 G90 G17 F100\nG0 {place} Z5\nG2 {place} R3\nM2\n".encode())
        assert [finding.code for finding in program.findings] == ["ARC-05"]
