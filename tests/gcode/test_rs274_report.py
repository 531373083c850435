"""Legal forms, printed values and worked examples of the RS274/NGC language.

Source: T. R. Kramer, F. M. Proctor, E. Messina, "The NIST RS274NGC Interpreter - Version 3", NISTIR 6556,
National Institute of Standards and Technology, 17 August 2000. Sections, tables and appendices are named
in the docstrings and case names. Expected numbers are the report's own; where it prints none, the number
is arithmetic applied to its rule, and the case says "computed". Tolerance: the digits printed.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from millcalc.gcode.motions import ARC_CCW, ARC_CW, DWELL, FLAG_COMP_LEFT, LINE, PROBE, RAPID
from millcalc.gcode.options import ReadOptions
from millcalc.gcode.program import Program
from millcalc.gcode.reader import read_program

BEFORE = "G21 G90 G17 G94 G40 F100 S1000 M3\nG0 X0 Y0 Z0\n"


def read(text: str, **options: object) -> Program:
    options.setdefault("profile", "rs274-ngc")
    return read_program(text.encode("utf-8"), options=ReadOptions(**options))  # type: ignore[arg-type]


def run(body: str, *, before: str = BEFORE) -> Program:
    """Read legal text: any finding fails."""
    program = read(before + body + "\nM2\n")
    assert not program.findings, program.findings
    return program


def last_x(body: str, before: str = BEFORE) -> float:
    return float(run(body, before=before).motions.end_mm[-1, 0])


def path(program: Program, from_line: int) -> list[tuple[str, float, float, float]]:
    """Motions from a line on, as (R or F, x, y, z); moves of no length are left out."""
    table = program.motions
    rows = []
    for row in range(len(table)):
        if table.line[row] < from_line or table.kind[row] == DWELL or table.length_mm[row] < 1e-12:
            continue
        letter = "R" if table.kind[row] == RAPID else "F"
        rows.append((letter, *(round(float(v), 9) + 0.0 for v in table.end_mm[row])))
    return rows


LEGAL = [
    ("§3.3 blanks and tabs anywhere", "g 0 \t x 1 0 . 5 y - 2"),
    ("§3.3 blank line", "\n\n"),
    ("§3.3.1 five digits", "N00009 G0 X1"),
    ("§3.3.1 largest line number", "N99999 G0 X1"),
    ("§3.3.1 repeated and out of order", "N5 G0 X1\nN5 G0 X2\nN1 G0 X3"),
    ("§3.3.2.1 forms of numbers", "G0 X3 Y3. Z.3\nG0 X+0.3 Y-03.50 Z-.0"),
    ("§3.3.2.1 within 0.0001 of a whole number", "G1.00001 X1\nM3.00005\n#[1+0.00009]=3"),
    ("§3.3.2.1 G code written with a point", "G01.0 X1"),
    ("§3.3.4 comment alone and between words", "(alone)\nG0 (here) X1 (there) Y2"),
    ("§3.3.4 empty comment", "() G0 X1 ()"),
    ("§3.3.4 message with odd white space", "( m S g , hold the plate)"),
    ("§3.3.4 comment example", "G80 M5 (stop motion)"),
    ("§3.3.5 four M words", "M6 M3 M8 M48"),
    ("Table 4 both coolants together", "M7 M8"),
    ("§3.3.5 G words of many groups", "G17 G21 G40 G49 G54 G64 G90 G94 G98 G0 X1"),
    ("§3.3.6 the same parameter twice", "#3=15 #3=6"),
    ("§2.2.2 block delete", "/G0 X1\n/ N20 G0 X2"),
    ("§3.5 codes by expression", "#100=2\nG[2*5] L[1+1] P1 X0\nG10 L#100 P1 X0"),
    ("§3.3.2.2 parameters 1 and 5399", "#1=1\n#5399=2\nG0 X#5399"),
    ("§3.3.2.3 printed expression", "#3=2\nG0 X[ 1 + acos[0] - [#3 ** [4.0/2]]]"),
    ("App C.2 double minus", "G0 X[1 --3]"),
    ("App C.2 plus minus", "G0 X[1/2.1+-0.345]"),
    ("§3.5.4 dwell", "G4 P0.5\nG4 P0"),
    ("§3.5.3 circle in one block", "G2 X0 I5"),
    ("§3.5.3 helix in one block", "G3 X0 Y0 I5 J0 Z-2"),
    ("§3.5.3.2 one centre word", "G2 X10 I5\nG2 X0 I-5"),
    ("§3.5.5 G10", "G10 L2 P9 X1 Y2 Z3"),
    ("§3.5.6 planes", "G18\nG19\nG17"),
    ("§3.5.8 G28 without words", "G28"),
    ("§3.5.8 G28 with words", "G91 G28 Z0\nG90"),
    ("§3.4 implied motion gives way to G92", "G1 X1\nG92 X0\nG92.1"),
    ("§3.4 implied motion gives way to G28", "G1 X1\nG28 X5"),
    ("§3.5.9 probe", "G38.2 Z-5 F20"),
    ("§3.5.10 compensation", "G1 Z-1\nG41 D1 G1 X10 Y10\nG1 Y50\nG40 G1 X0 Y0"),
    ("§3.5.11 H0 and repeated offsets", "G43 H0\nG43 H1\nG43 H1\nG49"),
    ("§3.5.12 G53", "G53 G0 X1\nG1 X2\nG53 X1 Y1"),
    ("§3.5.13 all nine frames", "G54\nG55\nG56\nG57\nG58\nG59\nG59.1\nG59.2\nG59.3\nG54"),
    ("§3.5.14 path modes", "G61\nG61.1\nG64"),
    ("§3.5.15 G80 alone", "G80"),
    ("§3.5.18 G92 family", "G92 X1 Y2\nG92.2\nG92.3\nG92.1"),
    ("§3.5.19 inverse time", "G93 G1 X10 F2\nX20 F2\nG0 X0\nG94 F100"),
    ("§3.6.1 stops", "M0\nM1\nM60"),
    ("§3.6.2 spindle at speed zero", "S0 M3\nS500"),
    ("§3.7.3 several T before M6", "T1\nT2\nM6"),
    ("§3.7.3 T0 empties the spindle", "T0 M6"),
    ("App C.1 select, change, start in one block", "t1 m6 m3"),
    ("§3.5.16 cycles in all planes", "G0 Z5\nG81 X1 Y1 Z-1 R2\nG80\nG18\nG81 X1 Z1 Y-1 R2\nG80\nG17"),
    ("§3.5.16 sticky R and Z", "G0 Z5\nG81 X1 Y1 Z-1 R2\nX2\nY2\nG80"),
    ("§3.5.16.3 sticky P", "G0 Z5\nG82 X1 Y1 Z-1 R2 P0.1\nX2\nG80"),
    ("§3.5.16.4 sticky Q", "G0 Z5\nG83 X1 Y1 Z-1 R2 Q1\nX2\nG80"),
    ("§3.5.16.10 all boring cycles", "G0 Z5\nG85 X1 Z-1 R2\nG86 X2 Z-1 R2 P0\nG89 X3 Z-1 R2 P1\nG80"),
]


@pytest.mark.parametrize(("name", "body"), LEGAL, ids=[row[0] for row in LEGAL])
def test_legal_forms_raise_no_finding(name: str, body: str) -> None:
    run(body)


def test_white_space_example() -> None:
    """§3.3: ``g0x +0. 12 34y 7`` is ``g0 x+0.1234 y7``."""
    one, two = run("g0x +0. 12 34y 7"), run("g0 x+0.1234 y7")
    assert one.motions.end_mm[-1].tolist() == two.motions.end_mm[-1].tolist() == [0.1234, 7.0, 0.0]


# App C.2: value, the result its comment prints (exact result computed where more digits are known)
EXPRESSIONS = [
    ("n0020", "[1 + 2]", 3.0, 0.0),
    ("n0030", "[1 - 2]", -1.0, 0.0),
    ("n0040", "[1 --3]", 4.0, 0.0),
    ("n0050", "[2/5]", 0.40, 1e-12),
    ("n0060", "[3.0 * 5]", 15.0, 0.0),
    ("n0070", "[0 OR 0]", 0.0, 0.0),
    ("n0080", "[0 OR 1]", 1.0, 0.0),
    ("n0090", "[2 or 2]", 1.0, 0.0),
    ("n0100", "[0 AND 0]", 0.0, 0.0),
    ("n0110", "[0 AND 1]", 0.0, 0.0),
    ("n0120", "[2 and 2]", 1.0, 0.0),
    ("n0130", "[0 XOR 0]", 0.0, 0.0),
    ("n0140", "[0 XOR 1]", 1.0, 0.0),
    ("n0150", "[2 xor 2]", 0.0, 0.0),
    ("n0160", "[15 MOD 4.0]", 3.0, 0.0),
    ("n0170", "[1 + 2 * 3 - 4 / 5]", 6.2, 1e-12),
    ("n0180", "sin[30]", 0.5, 1e-12),
    ("n0190", "cos[0.0]", 1.0, 1e-12),
    ("n0200", "tan[60.0]", 1.7321, 5e-5),
    ("n0210", "sqrt[3]", 1.7321, 5e-5),
    ("n0220", "atan[1.7321]/[1.0]", 60.0, 1e-3),
    ("n0230", "asin[1.0]", 90.0, 1e-9),
    ("n0240", "acos[0.707107]", 45.0, 5e-5),
    ("n0250", "abs[20.0]", 20.0, 0.0),
    ("n0260", "abs[-1.23]", 1.23, 0.0),
    ("n0270", "round[-0.499]", 0.0, 0.0),
    ("n0280", "round[-0.5001]", -1.0, 0.0),
    ("n0290", "round[2.444]", 2.0, 0.0),
    ("n0300", "round[9.975]", 10.0, 0.0),
    ("n0310", "fix[-0.499]", -1.0, 0.0),
    ("n0320", "fix[-0.5001]", -1.0, 0.0),
    ("n0330", "fix[2.444]", 2.0, 0.0),
    ("n0340", "fix[9.975]", 9.0, 0.0),
    ("n0350", "fup[-0.499]", 0.0, 0.0),
    ("n0360", "fup[-0.5001]", 0.0, 0.0),
    ("n0370", "fup[2.444]", 3.0, 0.0),
    ("n0380", "fup[9.975]", 10.0, 0.0),
    ("n0390", "exp[2.3026]", 10.0, 5e-4),
    ("n0400", "ln[10.0]", 2.3026, 5e-5),
    ("n0410", "[2 ** 3.0]", 8.0, 0.0),
    (
        "n0460 computed",
        "[2 + asin[1/2.1+-0.345] / [atan[fix[4.4] * 2.1 * sqrt[16.8]] /[-18]]**2]",
        2.000545078,
        5e-10,
    ),
    ("n0470", "sqrt[3**2 + 4**2]", 5.0, 1e-12),
    ("§3.3.2.3 precedence", "[2.0 / 3 * 1.5 - 5.5 / 11.0]", 0.5, 1e-12),
    ("§3.3.2.4 FIX 2.8", "fix[2.8]", 2.0, 0.0),
    ("§3.3.2.4 FIX -2.8", "fix[-2.8]", -3.0, 0.0),
    ("§3.3.2.4 FUP 2.8", "fup[2.8]", 3.0, 0.0),
    ("§3.3.2.4 FUP -2.8", "fup[-2.8]", -2.0, 0.0),
    ("§3.3.2.3 left to right, computed", "[2**3**2]", 64.0, 0.0),
    ("§3.3.2.3 logic ranks with plus, computed", "[2+3 or 0]", 1.0, 0.0),
    ("§3.3.2.3 logic ranks with minus, computed", "[1-1 and 0]", 0.0, 0.0),
    ("§3.3.2.3 minus is left to right, computed", "[10-4-3]", 3.0, 0.0),
    ("§3.3.2.3 power before product, computed", "[2*3**2]", 18.0, 0.0),
    ("Table 10 asin", "asin[0.5]", 30.0, 1e-9),
    ("Table 10", "[6-[4*3/2]]", 0.0, 0.0),
]


@pytest.mark.parametrize(("name", "text", "value", "slack"), EXPRESSIONS, ids=[row[0] for row in EXPRESSIONS])
def test_expression_values(name: str, text: str, value: float, slack: float) -> None:
    """App C.2 and §3.3.2: the X the expression moves to."""
    assert last_x(f"G1 x {text}") == pytest.approx(value, abs=max(slack, 1e-12))


def test_expressions_with_a_parameter() -> None:
    """§3.3.2.3: ``[ 1 + acos[0] - [#3 ** [4.0/2]]]``; 87 for #3 = 2 and 66 for #3 = 5, computed."""
    assert last_x("#3=2\nG1 X[ 1 + acos[0] - [#3 ** [4.0/2]]]") == pytest.approx(87.0)
    assert last_x("#3=5\nG1 X[ 1 + acos[0] - [#3 ** [4.0/2]]]") == pytest.approx(66.0)


def test_parameters_bind_tightest() -> None:
    """§3.3.2.2: ``#1+2``, ``#[1+2]`` and ``##2`` with #1=5, #2=3, #3=9 are 7, 9 and 9, computed."""
    before = BEFORE + "#1=5 #2=3 #3=9\n"
    assert last_x("G1 X[#1+2]", before) == 7.0
    assert last_x("G1 X#[1+2]", before) == 9.0
    assert last_x("G1 X##2", before) == 9.0


def test_expression_program_parameters() -> None:
    """App C.2 n0410 to n0450: settings act after the block they stand in."""
    program = run(
        "g1 x [2 ** 3.0] #1=2.0\n ##1 = 0.375\nx #2 #3=7.0\n#3=5.0 x #3\nx #3 #3=1.1\nx#3", before=BEFORE
    )
    assert program.motions.end_mm[1:, 0].tolist() == [8.0, 0.375, 7.0, 5.0, 1.1]


def test_parallel_setting() -> None:
    """§3.3.3: with #3 = 15, ``#3=6 G1 x#3`` moves to X15 and leaves 6."""
    program = run("#3=15\n#3=6 G1 x#3\nG1 X#3")
    assert program.motions.end_mm[-2:, 0].tolist() == [15.0, 6.0]


def test_the_last_of_two_settings_wins() -> None:
    """§3.3.6: ``#3=15 #3=6`` leaves 6, the other order 15."""
    assert last_x("#3=15 #3=6\nG1 X#3") == 6.0
    assert last_x("#3=6 #3=15\nG1 X#3") == 15.0


def test_the_order_of_items_has_no_meaning() -> None:
    """§3.3.6: ``g40 g1 #3=15 (foo) #4=-7.0`` has 120 orders and one meaning; with the axis words of a move."""
    items = ["g40", "g1", "#3=15", "(foo)", "#4=-7.0"]
    for order in itertools.permutations(items):
        program = run(f"{' '.join(order)} x1\nx#3 y#4")
        assert program.motions.end_mm[1:].tolist() == [[1.0, 0.0, 0.0], [15.0, -7.0, 0.0]], order


def test_a_line_number_of_six_digits_is_refused() -> None:
    """§3.3.1: N000009 is not allowed; N00009 is, by the digits rule."""
    assert read("G21 G90 F1\nN000009 G0 X1\nM2\n").findings
    assert not read("G21 G90 F1\nN00009 G0 X1\nM2\n").findings


# --- arcs -------------------------------------------------------------------------------------------------


def one_arc(body: str, before: str) -> tuple[Program, int]:
    program = run(body, before=before)
    rows = np.flatnonzero(program.motions.is_arc)
    assert len(rows) == 1
    return program, int(rows[0])


def test_arc_by_centre_example() -> None:
    """§3.5.3.2: from (7,7) the centre is (10,11) and the radius 5; sweep and length computed."""
    before = "G21 G90 G94 F100\nG0 X7 Y7 Z9\n"
    program, row = one_arc("G17 G2 x 10 y 16 i 3 j 4 z 9", before)
    table = program.motions
    assert table.centre_mm[row, :2].tolist() == [10.0, 11.0]
    assert math.degrees(table.sweep_rad[row]) == pytest.approx(-143.1301, abs=5e-5)
    assert table.length_mm[row] == pytest.approx(12.490458, abs=5e-7)
    program, row = one_arc("G17 G3 x 10 y 16 i 3 j 4 z 9", before)
    assert math.degrees(program.motions.sweep_rad[row]) == pytest.approx(216.8699, abs=5e-5)
    assert program.motions.length_mm[row] == pytest.approx(18.925469, abs=5e-7)
    program, row = one_arc("G17 G2 x 10 y 16 i 3 j 4 z 9", "G21 G90 G94 F100\nG0 X7 Y7 Z4\n")
    assert program.motions.length_mm[row] == pytest.approx(13.454053, abs=5e-7)


def test_arc_by_radius_example() -> None:
    """§3.5.3.1: ``G17 G2 x 10 y 15 r 20 z 5`` from the origin; centre, sweep, length computed."""
    before = "G21 G90 G94 F100\nG0 X0 Y0 Z5\n"
    program, row = one_arc("G17 G2 x 10 y 15 r 20 z 5", before)
    table = program.motions
    assert table.centre_mm[row, :2] == pytest.approx([19.855069, -2.403379], abs=5e-7)
    assert math.degrees(table.sweep_rad[row]) == pytest.approx(-53.5764, abs=5e-5)
    chord = math.hypot(10, 15)
    assert table.length_mm[row] == pytest.approx(2 * 20 * math.asin(chord / 40))
    program, row = one_arc("G17 G2 x 10 y 15 r -20 z 5", before)
    table = program.motions
    assert table.centre_mm[row, :2] == pytest.approx([-9.855069, 17.403379], abs=5e-7)
    assert math.degrees(table.sweep_rad[row]) == pytest.approx(-306.4236, abs=5e-5)
    assert table.length_mm[row] == pytest.approx(20 * 2 * math.pi - 2 * 20 * math.asin(chord / 40))


def test_arc_of_the_keyboard_session() -> None:
    """Table 10: from (3,1,0) a clockwise arc of radius 7.01 to (0,1,0.5) with its centre at (1.5, 7.8476)."""
    program, row = one_arc("g2 x[6-[4*3/2]] r 7.01 z0.5", "G21 G90 G17 G94 F20\nG1 X3 Y1 Z0\n")
    table = program.motions
    assert table.kind[row] == ARC_CW
    assert table.end_mm[row].tolist() == [0.0, 1.0, 0.5]
    assert table.centre_mm[row, :2] == pytest.approx([1.5, 7.8476], abs=5e-5)
    assert math.degrees(table.sweep_rad[row]) == pytest.approx(-24.7114, abs=5e-5)


@pytest.mark.parametrize(
    ("units", "end", "told"),
    [("G21", 10.0019, False), ("G21", 10.0021, True), ("G20", 1.00019, False), ("G20", 1.00021, True)],
)
def test_radius_tolerance(units: str, end: float, told: bool) -> None:
    """§3.5.3.2: 0.002 mm or 0.0002 inch between the radii at the start and at the end."""
    half = 5 if units == "G21" else 0.5
    text = f"{units} G90 G17 G94 F10\nG0 X0 Y0 Z0\nG2 X{end} Y0 I{half} J0\nM2\n"
    assert bool(read(text).findings) is told


def test_full_circle() -> None:
    """§3.5.3.2: end = start is a full circle; the helix of radius 5 and rise 10 has length 32.969083, computed."""
    program, row = one_arc("G2 X0 I5", BEFORE)
    assert program.motions.sweep_rad[row] == pytest.approx(-2 * math.pi)
    program, row = one_arc("G3 X0 Y0 I5 Z10", BEFORE)
    assert program.motions.sweep_rad[row] == pytest.approx(2 * math.pi)
    assert program.motions.length_mm[row] == pytest.approx(32.969083, abs=5e-7)


@pytest.mark.parametrize(
    ("plane", "end", "centre", "cw", "ccw"),
    [
        ("G17", "X10 Y10", "I10 J0", 90.0, 270.0),
        ("G18", "X10 Z10", "I10 K0", 270.0, 90.0),
        ("G19", "Y10 Z10", "J10 K0", 90.0, 270.0),
    ],
)
def test_sense_of_turn_in_each_plane(plane: str, end: str, centre: str, cw: float, ccw: float) -> None:
    """§4.3.6.1: seen from the positive end of the third axis; sweeps computed."""
    for code, sweep, kind in (("G2", -cw, ARC_CW), ("G3", ccw, ARC_CCW)):
        program, row = one_arc(f"{plane} {code} {end} {centre}", BEFORE)
        assert program.motions.kind[row] == kind
        assert math.degrees(program.motions.sweep_rad[row]) == pytest.approx(sweep)


def test_nearly_half_circles_are_ill_conditioned() -> None:
    """§3.5.3.1, its warning computed: 0.002 less chord moves the centre by 0.141."""
    program = read(BEFORE + "G2 X19.998 Y0 R10\nM2\n")
    row = int(np.flatnonzero(program.motions.is_arc)[0])
    assert program.motions.centre_mm[row, :2] == pytest.approx([9.999, -0.1414], abs=5e-5)


# --- canned cycles ----------------------------------------------------------------------------------------


def test_cycle_example_absolute() -> None:
    """§3.5.16.2 first example, from (1,2,3); the list of moves, not the "2.8" of its text, is followed."""
    program = run("G90 G81 G98 X4 Y5 Z1.5 R2.8", before="G21 G90 G17 G94 F100\nG0 X1 Y2 Z3\n")
    assert path(program, 3) == [("R", 4, 5, 3), ("R", 4, 5, 2.8), ("F", 4, 5, 1.5), ("R", 4, 5, 3)]


def test_cycle_example_return_to_r() -> None:
    """§3.5.20: with G99 the last move ends at R."""
    program = run("G90 G81 G99 X4 Y5 Z1.5 R2.8", before="G21 G90 G17 G94 F100\nG0 X1 Y2 Z3\n")
    assert path(program, 3)[-1] == ("R", 4, 5, 2.8)


def test_cycle_example_incremental() -> None:
    """§3.5.16.2 second example, from (1,2,3)."""
    program = run("G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3", before="G21 G90 G17 G94 F100\nG0 X1 Y2 Z3\n")
    expected: list[tuple[str, float, float, float]] = [("R", 1, 2, 4.8)]
    for x, y in ((5, 7), (9, 12), (13, 17)):
        expected += [("R", x, y, 4.8), ("F", x, y, 4.2), ("R", x, y, 4.8)]
    assert path(program, 3) == expected


def test_cycle_of_the_keyboard_session() -> None:
    """Table 10: from (30,1,-0.5)."""
    program = run("g91 g81 x3 y2 z-0.8 r1.5 l2", before="G21 G90 G17 G94 F100\nG0 X30 Y1 Z-0.5\n")
    expected: list[tuple[str, float, float, float]] = [("R", 30, 1, 1.0)]
    for x, y in ((33, 3), (36, 5)):
        expected += [("R", x, y, 1.0), ("F", x, y, 0.2), ("R", x, y, 1.0)]
    assert path(program, 3) == expected


def test_pecks() -> None:
    """App C.3 n0090: bottoms of the pecks, computed (inch)."""
    program = run("g83 g90 x5 y6 r0.2 z-1.1 q0.21", before="G20 G90 G17 G94 F10 S1000 M3\nG0 X0 Y0 Z0.5\n")
    table = program.motions
    bottoms = table.end_mm[table.kind == LINE, 2] / 25.4
    assert bottoms == pytest.approx([-0.01, -0.22, -0.43, -0.64, -0.85, -1.06, -1.1])
    rapids = table.end_mm[table.kind == RAPID, 2] / 25.4
    assert rapids[-1] == pytest.approx(0.5)


CYCLE_TEST = """n0010 g20 (cycle test)
n0020 g17 g43 h1 m3 s1234 f16 (start in XY-plane)
n0030 g81 x3 y4 r0.2 z-1.1
n0040 x1 y0 r0 g91 l3 (three more g81's an inch apart)
n0050 y-2 r0.1 (one more g81)
n0060 g82 g90 x4 y5 r0.2 z-1.1 p0.6
n0070 x2 z-3.0 (one more G82)
n0080 g91 x-2 y2 r0 l4 (four more g82's)
"""


def test_first_lines_of_the_cycle_program() -> None:
    """App C.3, from (0, 0, 0.5) in G90 G98; positions computed."""
    program = read("g20 g90 g94 g98\ng0 x0 y0 z0.5\n" + CYCLE_TEST + "m2\n")
    table = program.motions
    feeds = table.kind == LINE
    feed_ends = (table.end_mm[feeds] / 25.4).round(6)
    assert feed_ends.tolist() == [
        [3, 4, -1.1],
        [4, 4, -0.6],
        [5, 4, -0.6],
        [6, 4, -0.6],
        [6, 2, -0.5],
        [4, 5, -1.1],
        [2, 5, -3.0],
        [0, 7, -2.4],
        [-2, 9, -2.4],
        [-4, 11, -2.4],
        [-6, 13, -2.4],
    ]
    assert table.dwell_s[table.kind == DWELL].tolist() == [0.6] * 6
    assert (table.end_mm[-1] / 25.4).tolist() == pytest.approx([-6, 13, 0.6])


def test_a_repeated_cycle_in_absolute_mode_stays_at_its_hole() -> None:
    """§3.5.16: L > 1 in absolute mode repeats the same hole."""
    table = read(BEFORE + "G0 Z5\nG81 X1 Y1 Z-1 R2 L3\nM2\n").motions
    assert table.end_mm[table.kind == LINE].tolist() == [[1, 1, -1]] * 3


def test_cycles_of_the_other_planes_drill_along_their_own_axis() -> None:
    """§3.5.16: in XZ the drilling axis is Y, in YZ it is X."""
    program = run("G18 G81 X4 Z5 Y1.5 R2.8", before="G21 G90 G94 F100\nG0 X1 Y3 Z2\n")
    assert path(program, 3) == [("R", 4, 3, 5), ("R", 4, 2.8, 5), ("F", 4, 1.5, 5), ("R", 4, 3, 5)]
    program = run("G19 G81 Y4 Z5 X1.5 R2.8", before="G21 G90 G94 F100\nG0 X3 Y1 Z2\n")
    assert path(program, 3) == [("R", 3, 4, 5), ("R", 2.8, 4, 5), ("F", 1.5, 4, 5), ("R", 3, 4, 5)]


STEPS = [
    ("§3.5.16.2 drilling", "G81", "R1 1 1 R, F1 1 -2 F, R1 1 5 R"),
    ("§3.5.16.3 drilling with dwell", "G82 P0.5", "R1 1 1 R, F1 1 -2 F, D0.5, R1 1 5 R"),
    ("§3.5.16.6 boring", "G85", "R1 1 1 R, F1 1 -2 F, F1 1 5 F"),
    ("§3.5.16.7 boring, spindle stopped on the way out", "G86 P0.5", "R1 1 1 R, F1 1 -2 F, D0.5, R1 1 5 R"),
    ("§3.5.16.10 boring with dwell", "G89 P0.5", "R1 1 1 R, F1 1 -2 F, D0.5, F1 1 5 F"),
]


@pytest.mark.parametrize(("name", "words", "steps"), STEPS, ids=[row[0] for row in STEPS])
def test_steps_of_the_cycles(name: str, words: str, steps: str) -> None:
    """§3.5.16: from (0,0,5) in G98 to a hole at (1,1), R 1, bottom -2."""
    table = run(f"{words} X1 Y1 Z-2 R1", before="G21 G90 G17 G94 F100 S100 M3\nG0 X0 Y0 Z5\n").motions
    seen = []
    for row in range(2, len(table)):
        if table.kind[row] == DWELL:
            seen.append(f"D{table.dwell_s[row]:g}")
        else:
            letter = "R" if table.kind[row] == RAPID else "F"
            x, y, z = (f"{value:g}" for value in table.end_mm[row])
            seen.append(f"{letter}{x} {y} {z} {letter}")
    assert table.end_mm[1].tolist() == [1.0, 1.0, 5.0]
    assert ", ".join(seen) == steps


def test_spindle_in_tapping_and_boring() -> None:
    """§3.5.16.5: reversed on the way out, then forward again; §3.5.16.7: stopped on the way out, then as before."""
    before = "G21 G90 G17 G94 F100 S100 M3\nG0 X0 Y0 Z5\n"
    table = run("G84 X1 Y1 Z-2 R1\nG80\nG0 X9", before=before).motions
    assert table.spindle_dir[-3:].tolist() == [1, -1, 1]
    table = run("G86 X1 Y1 Z-2 R1 P0\nG80\nG0 X9", before=before).motions
    assert table.spindle_dir[table.line > 2].tolist()[-2:] == [0, 1]


def test_back_boring() -> None:
    """§3.5.16.8: aside by I and J, down with the spindle stopped, back, up to K, and out the same way."""
    table = run(
        "G87 X9 Y10 Z-1 R1 I0.5 J0 K0.5", before="G21 G90 G17 G94 F100 S100 M3\nG0 X0 Y0 Z5\n"
    ).motions
    rows = [
        (RAPID, 9, 10, 5),
        (RAPID, 9, 10, 1),
        (RAPID, 9.5, 10, 1),
        (RAPID, 9.5, 10, -1),
        (RAPID, 9, 10, -1),
    ]
    rows += [
        (LINE, 9, 10, 0.5),
        (LINE, 9, 10, -1),
        (RAPID, 9.5, 10, -1),
        (RAPID, 9.5, 10, 5),
        (RAPID, 9, 10, 5),
    ]
    assert [(int(k), *e) for k, e in zip(table.kind[1:], table.end_mm[1:].tolist(), strict=True)] == rows
    assert table.spindle_dir[1:].tolist() == [1, 1, 1, 0, 0, 1, 1, 0, 0, 0]


def test_pecks_withdraw_to_the_clear_level() -> None:
    """§3.5.16.4 as printed: out to clear Z between the bites, then down close to the last bottom."""
    table = run("G83 X1 Y1 Z-2 R1 Q1", before="G21 G90 G17 G94 F100 S100 M3\nG0 X0 Y0 Z5\n").motions
    z = table.end_mm[1:, 2].tolist()
    assert [z[k] for k in (0, 1, 2, 3, 5, 6, 8, 9)] == [5.0, 1.0, 0.0, 5.0, -1.0, 5.0, -2.0, 5.0]
    assert 0.0 < z[4] < 1.0 and -1.0 < z[7] < 0.0


def test_tapping_speed() -> None:
    """§3.5.16.5: two threads a millimetre at F150 want S300."""
    program = run("G84 X1 Y1 Z-5 R2", before="G21 G90 G17 G94 F150 S300 M3\nG0 X0 Y0 Z5\n")
    table = program.motions
    feeds = table.kind == LINE
    assert feeds.sum() == 2
    assert (table.feed_mm_min[feeds] / table.spindle_rpm[feeds]).tolist() == [0.5, 0.5]


# --- offsets, feed, order of execution --------------------------------------------------------------------


def test_axis_offsets() -> None:
    """§3.5.18: at X4, ``G92 x7`` makes the offset -3; ``G92 x9`` then makes it -5."""
    before = "G21 G90 G17 G94 F100\nG0 X4 Y0 Z0\n"
    assert last_x("G92 x7\n#1=#5211\nG92.1\nG0 X#1", before) == -3.0
    assert last_x("G92 x7\nG92 x9\n#1=#5211\nG92.1\nG0 X#1", before) == -5.0
    assert last_x("G92 x7\nG0 X7", before) == 4.0
    assert last_x("G92 x7\nG0 X8\nG92.2\nG0 X8", before) == 8.0
    assert last_x("G92 x7\nG92.2\nG92.3\nG0 X8", before) == 5.0


def test_setting_a_frame() -> None:
    """§3.5.5 and Table 2: ``G10 L2 P1 x 3.5 y 17.2`` fills 5221 and 5222, Z is kept."""
    body = (
        "G10 L2 P1 Z2\nG10 L2 P1 x 3.5 y 17.2\n#1=#5221 #2=#5222 #3=#5223\nG10 L2 P1 X0 Y0 Z0\nG0 X#1 Y#2 Z#3"
    )
    assert run(body).motions.end_mm[-1].tolist() == [3.5, 17.2, 2.0]


def test_inverse_time_feed() -> None:
    """§3.5.19: F2.0 means half a minute."""
    program = run("G93 G1 X10 F2.0\nG94 F1")
    table = program.motions
    assert table.length_mm[-1] / table.feed_mm_min[-1] == pytest.approx(0.5)


def test_inverse_time_number() -> None:
    """§3.5.19, computed: 180 mm at 900 mm/min is F5."""
    table = run("G93 G1 X180 F5\nG94 F1").motions
    assert table.feed_mm_min[-1] == pytest.approx(900.0)


def test_order_within_a_block() -> None:
    """Table 8: the spindle (7), dwell (10), units (12) and distance mode (17) act before the motion (20)."""
    table = run("G1 X10 M5").motions
    assert table.spindle_dir[-1] == 0
    table = run("M5\nG1 X10 M3").motions
    assert table.spindle_dir[-1] == 1
    table = run("G1 X10 M8\nG1 X20 M9").motions
    assert table.coolant[-2:].tolist() == [2, 0]
    table = run("G4 P1 G1 X10").motions
    assert table.kind[-2:].tolist() == [DWELL, LINE]
    assert last_x("G1 X10\nG91 X5") == 15.0
    table = run("G1 X10 F250").motions
    assert table.feed_mm_min[-1] == 250.0
    table = run("M7\nM8\nG1 X1").motions
    assert table.coolant[-1] == 3


def test_select_change_start_in_one_block() -> None:
    """Table 8: select (5), change (6), which stops the spindle, then start (7)."""
    table = run("t7 m6 m3\nG1 X1").motions
    assert (table.tool[-1], table.spindle_dir[-1]) == (7, 1)
    table = run("t7 m6\nG1 X1").motions
    assert (table.tool[-1], table.spindle_dir[-1]) == (7, 0)


def test_stop_acts_after_the_motion() -> None:
    """Table 8: stopping is the last action."""
    program = run("G1 X10 M0\nG1 X20")
    stop = next(event for event in program.events if event.kind == "stop")
    assert stop.motion == 2


def test_messages() -> None:
    """§3.3.4: ``( m S g , text)`` is a message, other comments are not."""
    program = run("(msg is not a message)\n( m S g , turn the plate)")
    assert [e.text.strip() for e in program.events if e.kind == "message"] == ["turn the plate"]


def test_block_delete_switch() -> None:
    """§2.2.2: with the switch on the block is not executed, nor its parameter settings (App D.8.4)."""
    text = BEFORE + "#1=1\n/#1=2\n/G0 X50\nG0 X#1\nM2\n"
    assert read(text).motions.end_mm[1:, 0].tolist() == [50.0, 2.0]
    assert read(text, block_delete=True).motions.end_mm[1:, 0].tolist() == [1.0]


def test_rotary_free_probe_and_machine_moves_are_marked() -> None:
    """§3.5.9: a probe is its own kind of motion, at feed."""
    table = run("G38.2 Z-5 F20").motions
    assert (table.kind[-1], table.feed_mm_min[-1]) == (PROBE, 20.0)


def test_feed_along_the_helix() -> None:
    """§2.1.2.6: the feed applies along the helix, so time is helix length over F."""
    table = run("G3 X0 Y0 I5 Z10 F100").motions
    assert table.feed_mm_min[-1] == 100.0
    assert table.length_mm[-1] == pytest.approx(math.hypot(2 * math.pi * 5, 10))


# --- programs printed in the report -----------------------------------------------------------------------

HELLO = """(this program mills "Hello world" between X=0 and X=81 millimeters)
n0010 g21 g0 x0 y0 z50 (top of part should be on XY plane)
n0020 t1 m6 m3 f20 s4000 (use an engraver or small ball-nose endmill)
n0030 g0 x0 y0 z2
n0040 g1 z-0.5 (start H)
n0050 y10
n0060 g0 z2
n0070 y5
n0080 g1 z-0.5
n0090 x 7
n0100 g0 z2
n0110 y0
n0120 g1 z-0.5
n0130 y10
n0140 g0 z2
n0150 x11 y2.5
n0160 g1 z-0.5 (start e)
n0170 x16
n0190 g3 x13.5 y0 i-2.5
n0200 g1 x16
n0210 g0 z2
n0220 x20 y0
n0230 g1 z-0.5 (start l)
n0240 y9
n0250 g0 z2
n0260 x26
n0270 g1 z-0.5 (start l)
n0280 y0
n0290 g0 z2
n0300 x32.5
n0310 g1 z-0.5 (start o)
n0320 g2 x32.5 j2.5
n0330 g0 z2
n0340 x45 y5
n0350 g1 z-0.5 (start w)
n0360 x47 y0
n0370 x48.5 y3
n0380 x50 y0
n0390 x52 y5
n0400 g0 z2
n0410 x57.5 y0
n0420 g1 z-0.5 (start o)
n0430 g2 x57.5 j2.5
n0440 g0 z2
n0450 x64
n0460 g1 z-0.5 (start r)
n0470 y5
n0480 y4
n0490 g2 x69 r4
n0500 g0 z2
n0510 x73 y0
n0520 g1 z-0.5 (start l)
n0530 y9
n0540 g0 z2
n0550 x81
n0560 g1 z-0.5 (start d)
n0570 y0
n0580 x79.5
n0590 g2 j2.5 y5
n0600 g1 x81
n0610 g0 z50
n0620 m2
"""


def test_hello_world() -> None:
    """App C.1: mills between X0 and X81; counts, lengths and time computed."""
    program = read(HELLO)
    assert not program.findings
    table = program.motions
    assert [int((table.kind == kind).sum()) for kind in (RAPID, LINE)] == [25, 29]
    assert int(table.is_arc.sum()) == 5
    assert table.end_mm[-1].tolist() == [81.0, 5.0, 50.0]
    feeds = table.is_feed
    assert table.length_mm[feeds].sum() == pytest.approx(183.430466, abs=5e-7)
    assert (table.length_mm[feeds] / table.feed_mm_min[feeds]).sum() == pytest.approx(9.171523, abs=5e-7)
    assert np.nansum(table.length_mm[table.kind == RAPID]) == pytest.approx(202.052801, abs=5e-7)
    assert [table.end_mm[feeds][:, k].min() for k in range(3)] == [0.0, 0.0, -0.5]
    assert [table.end_mm[feeds][:, k].max() for k in range(2)] == [81.0, 10.0]
    lengths = dict(
        zip(table.line[table.is_arc].tolist(), table.length_mm[table.is_arc].tolist(), strict=True)
    )
    by_n = {HELLO.splitlines()[line - 1].split()[0]: length for line, length in lengths.items()}
    assert by_n == pytest.approx(
        {"n0190": 11.7810, "n0320": 15.7080, "n0430": 15.7080, "n0490": 5.4011, "n0590": 7.8540}, abs=5e-5
    )


KEYBOARD = """g21 g90 g17 g94
g0 x0 y0 z0
g1 x3 y1 f20.0
g2 x[6-[4*3/2]] r 7.01 z0.5
(that was a helical arc)
t2
m6 g43 h2
m2
"""


def test_keyboard_session() -> None:
    """Table 10: feed 20, a line to (3,1,0), the arc to (0,1,0.5)."""
    program = read(KEYBOARD)
    assert not program.findings
    assert program.motions.end_mm[1:].tolist() == [[3.0, 1.0, 0.0], [0.0, 1.0, 0.5]]
    assert program.motions.feed_mm_min[1:].tolist() == [20.0, 20.0]
    assert [event.value for event in program.events if event.kind == "tool change"] == [2.0]


MATERIAL_EDGE = """G1 X1 Y5
G41 G1 Y4
G3 X2 Y3 I1
G2 X3 Y2 J-1
G1 Y-1
G2 X2 Y-2 I-1
G1 X-2
G2 X-2.6 Y-0.2 J1
G1 X1.4 Y2.8
G2 X2 Y3 I0.6 J-0.8
G40
"""
NOMINAL_PATH = """G1 X1.5 Y5
G41 G1 Y4
G3 X2 Y3.5 I0.5
G2 X3.5 Y2 J-1.5
G1 Y-1
G2 X2 Y-2.5 I-1.5
G1 X-2
G2 X-2.9 Y0.2 J1.5
G1 X1.1 Y3.2
G2 X2 Y3.5 I0.9 J-1.2
G40
"""


@pytest.mark.parametrize(
    ("text", "radii", "length"),
    [(MATERIAL_EDGE, [1.0] * 5, 20.853982), (NOMINAL_PATH, [0.5] + [1.5] * 4, 23.210176)],
    ids=["Table 12", "Table 13"],
)
def test_compensation_contours(text: str, radii: list[float], length: float) -> None:
    """Tables 12 and 13: the programmed path; radii, sweeps and length computed."""
    program = read("G21 G90 G17 G94 F100 T1 M6\nG0 X0 Y5 Z0\n" + text + "M2\n")
    assert not program.findings, program.findings
    table = program.motions
    arcs = table.is_arc
    assert np.hypot(*(table.start_mm - table.centre_mm)[arcs, :2].T) == pytest.approx(radii)
    sweeps = np.abs(np.degrees(table.sweep_rad[arcs]))
    assert sweeps == pytest.approx([90, 90, 90, 143.130, 36.870], abs=5e-4)
    assert table.length_mm[2:].sum() == pytest.approx(length, abs=5e-7)
    assert ((table.flags & FLAG_COMP_LEFT) != 0).tolist() == [False, False] + [True] * 9
