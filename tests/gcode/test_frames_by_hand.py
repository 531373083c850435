"""Frames and offsets worked out by hand: machine = programmed + work offset + G92 shift (NISTIR 6556 §3.2.2, §3.5.18).

The job knows G54 at machine (100, 50, -30), G55 at (300, 60, -40), the point of G28 at machine (0, 0, 0), of G30
at (10, 20, -5). Part coordinates are those of G54.
"""

from __future__ import annotations

import math

import pytest

from millcalc.gcode.motions import FLAG_HOME, FLAG_MACHINE
from millcalc.gcode.options import ReadOptions
from millcalc.gcode.program import Program
from millcalc.gcode.reader import read_program
from millcalc.gcode.summary import summarise

KNOWN = ReadOptions(
    work_offsets_mm={54: (100.0, 50.0, -30.0), 55: (300.0, 60.0, -40.0)},
    home_mm=(0.0, 0.0, 0.0),
    second_home_mm=(10.0, 20.0, -5.0),
    tool_lengths_mm={1: 0.0, 2: 12.5},
)
START = "G21 G90 G17 G94 F100\nG54 G0 X0 Y0 Z5\n"


def run(body: str, options: ReadOptions = KNOWN) -> Program:
    program = read_program((START + body + "\nM2\n").encode(), options=options)
    assert not program.findings, program.findings
    return program


ENDS = [
    ("another frame", "G55 G0 X0 Y0 Z0", (200, 10, -10)),
    ("another frame and back", "G55 G0 X0 Y0 Z0\nG54 G0 X1 Y2 Z3", (1, 2, 3)),
    ("machine coordinates", "G53 G0 Z0", (0, 0, 30)),
    ("machine coordinates of all axes", "G53 G0 X0 Y0 Z-1", (-100, -50, 29)),
    ("machine coordinates in inches", "G20\nG53 G0 X10", (154, 0, 5)),
    ("machine coordinates ignore the shift", "G92 X50\nG53 G0 X100", (0, 0, 5)),
    ("machine coordinates ignore the frame", "G55\nG53 G0 X100 Y50 Z-30", (0, 0, 0)),
    ("home without words", "G28", (-100, -50, 30)),
    ("second home", "G30", (-90, -30, 25)),
    ("shift", "G92 X10 Y20\nG0 X10 Y25", (0, 5, 5)),
    ("shift twice", "G92 X10\nG92 X20\nG0 X21", (1, 0, 5)),
    ("shift holds in the other frame", "G92 X10\nG55 G0 X10 Y0 Z0", (200, 10, -10)),
    ("shift off", "G92 X10\nG92.1\nG0 X1", (1, 0, 5)),
    ("shift off and on again", "G92 X10\nG92.2\nG92.3\nG0 X11", (1, 0, 5)),
    ("shift in inches", "G20\nG92 X1\nG0 X2", (25.4, 0, 5)),
    ("shift in incremental mode is absolute", "G91\nG92 X7\nG0 X1\nG90\nG0 X8", (1, 0, 5)),
    ("frame set by value", "G10 L2 P2 X110 Y50 Z-30\nG55 G0 X0 Y0 Z0", (10, 0, 0)),
    ("frame set from the current point", "G0 X7\nG10 L20 P2 X0 Y0 Z0\nG55 G0 X1 Y1 Z1", (8, 1, 6)),
    ("current frame set by value", "G10 L2 P1 X101 Y50 Z-30\nG0 X0 Y0 Z0", (1, 0, 0)),
    ("local shift", "G52 X10 Y10\nG0 X1 Y1\nG52 X0 Y0\nG0 Z6", (11, 11, 6)),
    ("incremental moves over a frame change", "G55\nG91 G0 X1 Y1 Z1", (1, 1, 6)),
    ("incremental home keeps the named axis only on the way", "G91 G28 Z0", (-100, -50, 30)),
]


@pytest.mark.parametrize(("name", "body", "end"), ENDS, ids=[row[0] for row in ENDS])
def test_where_it_ends(name: str, body: str, end: tuple[float, float, float]) -> None:
    assert run(body).motions.end_mm[-1].tolist() == pytest.approx(end, abs=1e-9)


def test_home_goes_by_way_of_the_programmed_point() -> None:
    """§3.5.8: first to the programmed point, then home."""
    table = run("G28 Z20").motions
    assert table.end_mm[-2:].tolist() == [[0.0, 0.0, 20.0], [-100.0, -50.0, 30.0]]
    assert table.flags[-1] & FLAG_HOME
    table = run("G91 G28 Z0").motions
    assert table.end_mm[-2].tolist() == [0.0, 0.0, 5.0]


def test_programmed_numbers_are_part_coordinates_less_the_frame() -> None:
    program = run("G55 G0 X1 Y2 Z3\nG92 X11\nG0 X12")
    table = program.motions
    shift = [program.frames[index].shift_mm for index in table.frame.tolist()]
    programmed = [
        [end - off for end, off in zip(ends, offs, strict=True)]
        for ends, offs in zip(table.end_mm.tolist(), shift, strict=True)
    ]
    assert programmed[1] == pytest.approx([1, 2, 3])
    assert programmed[2] == pytest.approx([12, 2, 3])
    assert all(program.frames[index].known for index in table.frame.tolist())


def test_machine_origin_is_known_when_the_job_says_it() -> None:
    assert run("G0 X1").machine_origin_mm == pytest.approx((100.0, 50.0, -30.0))


def test_unknown_stays_unknown() -> None:
    """Without the job's offsets a machine move leaves the axis unknown, and an absolute move finds it again."""
    nothing = ReadOptions()
    table = run("G53 G0 Z0\nG0 X1\nG0 Z7", nothing).motions
    assert table.flags[1] & FLAG_MACHINE
    assert math.isnan(table.end_mm[1, 2]) and math.isnan(table.end_mm[2, 2])
    assert table.end_mm[2, 0] == 1.0 and table.end_mm[3, 2] == 7.0
    program = run("G55 G0 X1", nothing)
    assert not program.frames[int(program.motions.frame[-1])].known


def test_incremental_from_an_unknown_point_stays_unknown() -> None:
    table = read_program(b"G21 G91 G94 F100\nG1 X5\nG90 G1 X2\nG91 X1\nM2\n").motions
    assert math.isnan(table.end_mm[0, 0])
    assert table.end_mm[1:, 0].tolist() == [2.0, 3.0]


def test_a_shift_set_before_any_move_makes_the_place_known() -> None:
    """G92 gives the place its numbers; a later one shifts by the difference: 5 is then at 6."""
    program = read_program(b"G21 G90 G17 G94 F100\nG92 X0 Y0 Z5\nG0 X5 Y0 Z5\nG92 X4\nG1 X5\nM2\n")
    table = program.motions
    assert table.end_mm.tolist() == [[5.0, 0.0, 5.0], [6.0, 0.0, 5.0]]
    assert [program.frames[index].shift_mm for index in table.frame.tolist()] == [(0, 0, 0), (1, 0, 0)]


def test_a_dwell_is_no_motion_whose_end_is_unknown() -> None:
    """Of the first two moves the height, or Y too, is not known; the dwell in front of them goes nowhere."""
    program = read_program(b"G21 G90 G17 G94 F100\nG4 P1\nG0 X5\nG0 Y5\nG0 Z5\nM2\n")
    assert summarise(program).unknown_ends == 2


def test_arc_centres_are_absolute_until_told_otherwise() -> None:
    """G90.1: I, J are the centre itself; after G91.1 they count from the start again."""
    text = "G21 G90 G17 G94 F100\nG0 X10 Y0 Z0\nG90.1\nG3 X0 Y10 I0 J0\nG91.1\nG3 X-10 Y0 I0 J-10\nM2\n"
    program = read_program(text.encode())
    assert not program.findings
    assert program.motions.centre_mm[1:, :2].tolist() == [[0.0, 0.0], [0.0, 0.0]]
    shifted = read_program(
        b"G21 G90 G17 F100\nG0 X10 Y0 Z0\nG92 X13 Y4\nG90.1\nG3 X3 Y14 I3 J4\nM2\n"
    ).motions
    assert (shifted.centre_mm[-1].tolist(), shifted.end_mm[-1].tolist()) == ([0, 0, 0], [0, 10, 0])


def test_start_given_by_the_job() -> None:
    options = ReadOptions(start_mm=(1.0, 2.0, 3.0))
    table = read_program(b"G21 G91 G94 F100\nG1 X5\nM2\n", options=options).motions
    assert table.end_mm[0].tolist() == [6.0, 2.0, 3.0]
    assert table.length_mm[0] == 5.0
