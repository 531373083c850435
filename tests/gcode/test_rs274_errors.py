"""Error conditions of the RS274/NGC language: each raises a finding at the line and columns where it stands.

Source: T. R. Kramer, F. M. Proctor, E. Messina, "The NIST RS274NGC Interpreter - Version 3", NISTIR 6556,
National Institute of Standards and Technology, 17 August 2000. The section is the first word of each
case; "(general knowledge)" marks a condition the report does not print but its grammar or geometry implies.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pytest

from millcalc.findings import Finding, Severity
from millcalc.gcode.motions import FLAG_FEED_UNKNOWN
from millcalc.gcode.options import ReadOptions
from millcalc.gcode.program import Program
from millcalc.gcode.reader import read_program

BEFORE = "G21 G90 G17 G94 G40 F100 S1000 M3\nG0 X0 Y0 Z5\n"


class Case(NamedTuple):
    """Section and condition, the line under test, the offending text in it, what goes before."""

    name: str
    line: str
    at: str = ""
    before: str = ""
    after: str = "M2"


def read(case: Case, profile: str = "rs274-ngc") -> tuple[Program, int]:
    before = BEFORE + (case.before + "\n" if case.before else "")
    text = before + case.line + "\n" + case.after + "\n"
    program = read_program(text.encode("utf-8"), case.name, options=ReadOptions(profile=profile))
    return program, before.count("\n") + 1


def on_line(program: Program, line: int) -> list[Finding]:
    return [finding for finding in program.findings if any(span.line == line for span in finding.spans)]


def ids(cases: list[Case]) -> list[str]:
    return [case.name for case in cases]


READING = [
    Case("§3.3 line longer than 256 characters", "G0 X1" + " " * 260 + "Y2"),
    Case("§3.3 semicolon is not a character of the language", "G1 X10; cut", ";"),
    Case("§3.3 at sign", "G1 X10 @", "@"),
    Case("§3.3 ampersand between words", "G0 X1 & Y2", "&"),
    Case("§3.3 question mark", "G0 X1 ?", "?"),
    Case("App E.3 letter E", "G0 X1 E1", "E1"),
    Case("App E.3 letter O", "O10", "O10"),
    Case("App E.3 letter U", "G0 U1", "U1"),
    Case("App E.3 letter V", "G0 V1", "V1"),
    Case("App E.3 letter W", "G0 W1", "W1"),
    Case("App E.2 letter without a value at the end", "G1 X", "X"),
    Case("App E.2 letter without a value before a word", "G0 Y X1", "Y"),
    Case("§3.3.2.1 point without a digit", "G0 X.", "X."),
    Case("§3.3.2.1 two points", "G0 X1.2.3", "X1.2.3"),
    Case("§3.3.2.1 exponent", "G0 X1e3", "e3"),
    Case("§3.3.2.1 comma", "G0 X1,5", ","),
    Case("§3.3.2.1 lone plus", "G0 X+", "X+"),
    Case("§3.3.2.1 sign and point only", "G0 X-.", "X-."),
    Case("§3.3.2.1 two signs", "G0 X--3", "X--3"),
    Case("§3.3.1 six digits in a line number", "N100000 G0 X1", "N100000"),
    Case("§3.3.1 leading zeros do not excuse six digits", "N000009 G0 X1", "N000009"),
    Case("§3.3.1 signed line number", "N-5 G0 X1", "N-5"),
    Case("§3.3.1 line number with a point", "N1.5 G0 X1", "N1.5"),
    Case("§3.3.1 line number that is an expression", "N[5] G0 X1", "N[5]"),
    Case("§3.3.1 line number after a word", "G1 N10 X1", "N10"),
    Case("§3.3.1 two line numbers", "N10 N20 G0 X1", "N20"),
    Case("§3.3.4 comment not closed", "G0 X1 (slow", "(slow"),
    Case("§3.3.4 bracket inside a comment", "G0 X1 (a (b) c)", "(a (b) c)"),
    Case("§3.3.4 closing bracket without an opening one", "G0 X1 )", ")"),
    Case("§3.3 slash after a word", "G1 /X1", "/"),
    Case("§3.3 slash between words", "G0 X1 / Y2", "/"),
    Case("§3.3.2.1 M number not whole", "M3.5", "M3.5"),
    Case("§3.3.2.1 ten times the G number not whole", "G1.05 X1", "G1.05"),
    Case("§3.3.2.1 T number not whole", "T1.2", "T1.2"),
    Case("§3.3.2.1 H number not whole", "G43 H1.5", "H1.5"),
    Case("§3.3.2.1 parameter number not whole", "#1.5=3", "#1.5"),
    Case("§3.3.2.1 further than 0.0001 from a whole number", "#[1+0.0002]=3", "#[1+0.0002]"),
    Case("Table 10 unknown function", "x asim[0.5]", "asim"),
    Case("§3.3.2.3 unknown operator sign", "x[1 % 2]", "%"),
    Case("§3.3.2.3 unknown operator word", "x[1 foo 2]", "foo"),
    Case("App E.2 no comparison operators in this version", "x[1 GT 2]", "GT"),
    Case("App E.2 function without a bracket", "x sin 30", "sin 30"),
    Case("§3.3.2.4 ATAN with one argument", "x atan[1]", "atan[1]"),
    Case("§3.3.2.3 bracket not closed", "x[1+2", "[1+2"),
    Case("§3.3.2.3 inner bracket not closed", "x[[1+2] * 3", "[[1+2] * 3"),
    Case("§3.3.2.3 bracket not opened", "x1+2]", "1+2]"),
    Case("§3.3.2.3 empty bracket", "x[]", "[]"),
    Case("§3.3.2.3 operator without a right side", "x[1+]", "[1+]"),
    Case("§3.3.2.3 two values without an operator", "x[[1] [2]]", "[[1] [2]]"),
    Case("§3.3.2.3 operator outside brackets", "g0 x1*2", "*"),
    Case("§3.3.2.2 parameter 0", "#0=1", "#0"),
    Case("§3.3.2.2 parameter 5400", "#5400=1", "#5400"),
    Case("§3.3.2.2 negative parameter number", "#-1=1", "#-1"),
    Case("§3.3.2.2 value of parameter 0", "g0 x#0", "#0"),
    Case("§3.3.2.2 value of parameter 5400", "g0 x#5400", "#5400"),
    Case("§3.3.3 setting without an equals sign", "#3 5", "#3 5"),
    Case("§3.3.3 setting without a value", "#3=", "#3="),
    Case("App E named parameters do not exist", "#<depth>=3", "#<depth>=3"),
    Case("division by zero (general knowledge)", "g0 x[1/0]", "[1/0]"),
    Case("root of a negative number (general knowledge)", "g0 x sqrt[-1]", "sqrt[-1]"),
    Case("logarithm of zero (general knowledge)", "g0 x ln[0]", "ln[0]"),
    Case("logarithm of a negative number (general knowledge)", "g0 x ln[-1]", "ln[-1]"),
    Case("arc cosine of two (general knowledge)", "g0 x acos[2]", "acos[2]"),
    Case("arc sine of minus 1.5 (general knowledge)", "g0 x asin[-1.5]", "asin[-1.5]"),
    Case("power of a negative base (general knowledge)", "g0 x[[0-8]**0.5]", "[[0-8]**0.5]"),
    Case("§3.3.5 X twice", "G0 X1 X2", "X2"),
    Case("§3.3.5 F twice", "F1 F2", "F2"),
    Case("§3.3.5 S twice", "S100 S200", "S200"),
    Case("§3.3.5 T twice", "T1 T2", "T2"),
    Case("§3.3.5 P twice", "G4 P1 P2", "P2"),
    Case("§3.3.5 five M words", "M3 M8 M6 M48 M1"),
    Case("Table 4 two motion codes", "G0 G1 X1", "G1"),
    Case("Table 4 motion code and cycle", "G1 G81 X1 Z1 R2", "G81"),
    Case("Table 4 cancel and motion code", "G80 G0 X1", "G0"),
    Case("Table 4 two planes", "G17 G18", "G18"),
    Case("Table 4 two distance modes", "G90 G91", "G91"),
    Case("Table 4 two units", "G20 G21", "G21"),
    Case("Table 4 two feed modes", "G93 G94", "G94"),
    Case("Table 4 two frames", "G54 G55", "G55"),
    Case("Table 4 compensation off and on", "G40 G41", "G41"),
    Case("Table 4 length offset on and off", "G43 H1 G49", "G49"),
    Case("Table 4 two path modes", "G61 G64", "G64"),
    Case("Table 4 two return levels", "G98 G99", "G99"),
    Case("Table 4 two one-shot codes", "G4 P1 G92.1", "G92.1"),
    Case("Table 4 spindle on and off", "M3 M5", "M5"),
    Case("Table 4 both spindle directions", "M3 M4", "M4"),
    Case("Table 4 coolant on and off", "M8 M9", "M9"),
    Case("Table 4 two stops", "M0 M1", "M1"),
    Case("Table 4 overrides on and off", "M48 M49", "M49"),
    Case("Table 5 G5 is not defined", "G5", "G5"),
    Case("Table 5 G73 is not defined", "G73 X1 Z1 R2 Q1", "G73"),
    Case("Table 5 G95 is not defined", "G95", "G95"),
    Case("Table 5 G70 is not defined", "G70", "G70"),
    Case("Table 5 G100 is not defined", "G100", "G100"),
    Case("Table 7 M98 is not defined", "M98 P1", "M98"),
    Case("Table 7 M99 is not defined", "M99", "M99"),
    Case("Table 7 M10 is not defined", "M10", "M10"),
    Case("Table 7 M100 is not defined", "M100", "M100"),
    Case("§3.3.2 negative G number", "G-1 X1", "G-1"),
]

# refused by the language, but what was meant is beyond doubt: the motion may be read on
CLEAR_ALL_THE_SAME = {
    "§3.3 line longer than 256 characters",
    "§3.3 semicolon is not a character of the language",
    "§3.3.1 six digits in a line number",
    "§3.3.1 leading zeros do not excuse six digits",
    "App E.2 no comparison operators in this version",
    "Table 5 G73 is not defined",
}

COMBINATIONS = [
    Case("§3.5.1 G0 without an axis word", "G0", "G0"),
    Case("§3.5.2 G1 without an axis word", "G1", "G1"),
    Case("§3.5.15 axis word while G80 is active", "X1", "X1", before="G80"),
    Case("§3.4 G1 and G92 both want axis words", "G1 G92 X1"),
    Case("§3.4 G0 and G28 both want axis words", "G0 G28 X1"),
    Case("§3.4 G1 and G30 both want axis words", "G1 G30 X1"),
    Case("§3.4 G0 and G10 both want axis words", "G0 G10 L2 P1 X1"),
    Case("§3.5.4 G4 without P", "G4", "G4"),
    Case("§3.5.4 negative P", "G4 P-1", "P-1"),
    Case("G10 without L (general knowledge)", "G10 P1 X1", "G10"),
    Case("G10 with an unknown L (general knowledge)", "G10 L77 P1 X1"),
    Case("§3.5.5 G10 without P", "G10 L2 X1", "G10"),
    Case("§3.5.5 P0", "G10 L2 P0 X1", "P0"),
    Case("§3.5.5 P10", "G10 L2 P10 X1", "P10"),
    Case("§3.5.5 P not whole", "G10 L2 P1.5 X1", "P1.5"),
    Case("§3.5.18 G92 without axis words", "G92", "G92"),
    Case("§3.5.12 G53 after G80", "G53 X1", "G53", before="G80"),
    Case("§3.5.12 G53 with an arc in force", "G53 X1", "G53", before="G2 X1 I0.5"),
    Case("§3.5.12 G53 without axis words", "G53", "G53"),
    Case("G53 with G91 (general knowledge)", "G53 G0 X1", "G53", before="G91"),
    Case("§3.5.11 G43 without H", "G43", "G43"),
    Case("§3.5.11 negative H", "G43 H-1", "H-1"),
    Case("H without G43 (general knowledge)", "G0 X1 H1", "H1"),
    Case("App B.5 D without compensation", "G0 X1 D1", "D1"),
    Case("App B.5 negative D", "G41 D-1", "D-1"),
    Case("§3.5.10 D not whole", "G41 D1.5", "D1.5"),
    Case("App B.5 two D words", "G41 D1 D2", "D2"),
    Case("I with a straight move (general knowledge)", "G1 X1 I1", "I1"),
    Case("J with a straight move (general knowledge)", "G1 X1 J1", "J1"),
    Case("K with a straight move (general knowledge)", "G1 X1 K1", "K1"),
    Case("R with a straight move (general knowledge)", "G1 X1 R1", "R1"),
    Case("P without a code that uses it (general knowledge)", "G1 X1 P1", "P1"),
    Case("Q without a code that uses it (general knowledge)", "G1 X1 Q1", "Q1"),
    Case("L without a code that uses it (general knowledge)", "G1 X1 L2", "L2"),
    Case("§3.5.19 G93 line without F", "G1 X1", before="G93 G1 X5 F2"),
    Case("§3.5.19 G93 arc without F", "G2 X1 Y1 I1", before="G93"),
    Case("§4.3.5.1 negative F", "F-1", "F-1"),
    Case("§3.7.2 negative S", "S-1", "S-1"),
    Case("§3.7.3 negative T", "T-1", "T-1"),
    Case("§3.5.9.1 probing in G93", "G38.2 Z-5 F1", "G38.2", before="G93"),
    Case("§3.5.9.1 probing with a rotary word", "G38.2 Z-5 A5"),
    Case("§3.5.9.1 probing without a linear axis", "G38.2", "G38.2"),
    Case("§3.5.9.1 probing starts nearer than 0.254 mm", "G38.2 Z4.8", "G38.2"),
]

ARCS = [
    Case("§3.5.3 no in-plane axis word with a radius", "G2 R5"),
    Case("§3.5.3.2 no in-plane axis word with a centre", "G2 I5"),
    Case("§3.5.3.2 no centre and no radius", "G2 X5 Y5"),
    Case("§3.5.3.2 modal arc without centre words", "X5 Y5", before="G2 X10 Y10 I10"),
    Case("§3.5.3.2 radii differ by 0.0021 mm", "G2 X10.0021 Y0 I5 J0"),
    Case("§3.5.3.2 radii differ by 0.0021 mm, counter-clockwise", "G3 X9.9979 Y0 I5 J0"),
    Case("§3.5.3.2 radii differ by 0.00021 inch", "G2 X1.00021 Y0 I0.5 J0", before="G20"),
    Case("§3.5.3.2 radii far apart", "G3 X5 Y5 I0 J20"),
    Case("§3.5.3.1 radius form with the end at the start", "G2 X0 Y0 R5", "R5"),
    Case("radius too small to reach (general knowledge)", "G2 X10 Y0 R4.9", "R4.9"),
    Case("negative radius too small to reach (general knowledge)", "G3 X10 Y0 R-4.9", "R-4.9"),
    Case("radius mixed with a centre (general knowledge)", "G2 X10 Y0 R5 I5", "R5"),
    Case("K in the XY plane (general knowledge)", "G2 X10 Y0 I5 K1", "K1"),
    Case("J in the XZ plane (general knowledge)", "G2 X10 Z5 I5 J1", "J1", before="G18"),
    Case("I in the YZ plane (general knowledge)", "G2 Y10 Z5 J5 I1", "I1", before="G19"),
    Case("zero radius (general knowledge)", "G2 X0 Y0 I0 J0"),
]

ARC_CAUTIONS = [
    Case("§3.5.3.1 half circle by radius is ill-conditioned", "G2 X10 Y0 R5", "R5"),
    Case("§3.5.3.1 nearly full circle by radius", "G2 X0.1 Y0 R-5", "R-5"),
]

CYCLES = [
    Case("§3.5.16 no X, Y or Z", "G81 R2", "G81"),
    Case("§3.5.16 no bottom on the first line", "G81 X1 Y1 R2", "G81"),
    Case("§3.5.16 no bottom after another cycle", "G82 X1 P1", "G82", before="G81 X2 Y2 Z1 R2\nG80"),
    Case("§3.5.16 R below Z", "G81 X1 Y1 Z2 R1", "R1"),
    Case("R never given (general knowledge)", "G81 X1 Y1 Z1", "G81"),
    Case("§3.5.16 L0", "G81 X1 Y1 Z1 R2 L0", "L0"),
    Case("§3.5.16 negative L", "G81 X1 Y1 Z1 R2 L-1", "L-1"),
    Case("§3.5.16 L not whole", "G81 X1 Y1 Z1 R2 L1.5", "L1.5"),
    Case("§3.5.16.3 G82 without P", "G82 X1 Y1 Z1 R2", "G82"),
    Case("§3.5.16 negative P", "G82 X1 Y1 Z1 R2 P-1", "P-1"),
    Case("§3.5.16.4 G83 without Q", "G83 X1 Y1 Z1 R2", "G83"),
    Case("§3.5.16.4 Q zero", "G83 X1 Y1 Z1 R2 Q0", "Q0"),
    Case("§3.5.16.4 Q negative", "G83 X1 Y1 Z1 R2 Q-1", "Q-1"),
    Case("§3.5.16 cycle in G93", "G81 X1 Y1 Z1 R2 F1", "G81", before="G93"),
    Case("§3.5.16 cycle with a rotary word", "G81 X1 Y1 Z1 R2 A5"),
    Case(
        "§3.5.16 cycle with compensation on",
        "G81 X1 Y1 Z1 R2",
        "G81",
        before="G41 D1\nG1 X20",
        after="G40\nM2",
    ),
    Case("§3.5.16.5 tapping with the spindle off", "G84 X1 Y1 Z1 R2", "G84", before="M5"),
    Case("§3.5.16.5 tapping with the spindle backwards", "G84 X1 Y1 Z1 R2", "G84", before="M4"),
    Case("§3.5.16.7 boring with the spindle off", "G86 X1 Y1 Z1 R2 P1", "G86", before="M5"),
]

CYCLE_CAUTIONS = [
    Case("§3.5.16 L in absolute mode drills the same hole again", "G81 X1 Y1 Z1 R2 L3", "L3"),
    Case("App C.3 sticky numbers carried over a change to G91", "X5", before="G81 X1 Y1 Z1 R2\nG91"),
]

COMPENSATION = [
    Case("App B.5 axis offsets while on", "G92 X1", "G92", before="G41 D1\nG1 X20", after="G40\nM2"),
    Case("App B.5 units while on", "G20", "G20", before="G41 D1\nG1 X20", after="G40\nM2"),
    Case("App B.5 probing while on", "G38.2 Z-5", "G38.2", before="G41 D1\nG1 X20", after="G40\nM2"),
    Case("App B.5 G28 while on", "G28", "G28", before="G41 D1\nG1 X20", after="G40\nM2"),
    Case("App B.5 G30 while on", "G30", "G30", before="G41 D1\nG1 X20", after="G40\nM2"),
    Case("App B.5 G53 while on", "G53 G0 X1", "G53", before="G41 D1\nG1 X20", after="G40\nM2"),
    Case("App B.5 XZ plane while on", "G18", "G18", before="G41 D1\nG1 X20", after="G40\nM2"),
    Case("App B.5 YZ plane while on", "G19", "G19", before="G42 D1\nG1 X20", after="G40\nM2"),
    Case("App B.5 turned on again", "G41 D1", "G41", before="G41 D1\nG1 X20", after="G40\nM2"),
    Case("App B.5 other side without turning off", "G42 D1", "G42", before="G41 D1\nG1 X20", after="G40\nM2"),
    Case("App B.5 frame while on", "G55", "G55", before="G41 D1\nG1 X20", after="G40\nM2"),
    Case("App B.5 turned on in the XZ plane", "G41 D1", "G41", before="G18"),
]


def check(case: Case, least: Severity, *, moves: bool = True) -> None:
    program, line = read(case)
    found = on_line(program, line)
    assert found, f"{case.line!r}: no finding on line {line}: {program.findings}"
    worst = max(found, key=lambda finding: finding.severity)
    assert worst.severity >= least, found
    spans = [span for finding in found for span in finding.spans if span.line == line]
    assert any(span.start >= 1 and span.end > span.start for span in spans), found
    if case.at:
        start = case.line.index(case.at) + 1
        end = start + len(case.at)
        assert any(span.start < end and span.end > start for span in spans), (case.at, start, end, spans)
    if not moves:
        assert line not in program.motions.line.tolist()
    others = [f for f in program.findings if f.spans and all(span.line != line for span in f.spans)]
    assert not others, f"{case.line!r}: other lines are told of: {others}"


@pytest.mark.parametrize("case", READING, ids=ids(READING))
def test_what_cannot_be_read_is_reported_and_not_executed(case: Case) -> None:
    check(case, Severity.WARNING, moves=case.name in CLEAR_ALL_THE_SAME)


@pytest.mark.parametrize("case", COMBINATIONS, ids=ids(COMBINATIONS))
def test_words_that_do_not_fit_together(case: Case) -> None:
    check(case, Severity.WARNING)


@pytest.mark.parametrize("case", ARCS, ids=ids(ARCS))
def test_arcs_that_are_none(case: Case) -> None:
    check(case, Severity.NOTE if "differ by" in case.name else Severity.WARNING)


@pytest.mark.parametrize("case", ARC_CAUTIONS + CYCLE_CAUTIONS, ids=ids(ARC_CAUTIONS + CYCLE_CAUTIONS))
def test_what_the_report_advises_against(case: Case) -> None:
    check(case, Severity.NOTE)


@pytest.mark.parametrize("case", CYCLES, ids=ids(CYCLES))
def test_cycles_that_cannot_be_run(case: Case) -> None:
    check(case, Severity.WARNING)


@pytest.mark.parametrize("case", COMPENSATION, ids=ids(COMPENSATION))
def test_what_compensation_forbids(case: Case) -> None:
    check(case, Severity.WARNING)


def test_feed_motion_before_any_feed_word() -> None:
    """General knowledge: a feed of zero cannot be run (§3.5.2 speaks of the current feed rate); marked, not guessed."""
    text = b"G21 G90 G17 G94\nG0 X0 Y0 Z5\nG1 X10\nG1 X20 F5\nM2\n"
    table = read_program(text, options=ReadOptions(profile="rs274-ngc")).motions
    assert ((table.flags & FLAG_FEED_UNKNOWN) != 0).tolist()[1:] == [True, False]
    assert np.isnan(table.feed_mm_min[1]) and table.feed_mm_min[2] == 5.0


PERCENT = [
    ("§3.1 percent line first and none later", "%\nG21\nG0 X0 Y0 Z0\nM5\n", True),
    ("App A.1 percent line later but not first", "G21\nG0 X0 Y0 Z0\n%\n", True),
    ("§3.1 neither M2, M30 nor percent lines", "G21\nG0 X0 Y0 Z0\n", True),
    ("§3.1 percent lines replace M2", "%\nG21\nG0 X0 Y0 Z0\n%\n", False),
    ("§3.1 percent line with white space, after blank lines", "\n \n  % \nG21\nG0 X0 Y0 Z0\n %\n", False),
    ("§3.1 M2 alone", "G21\nG0 X0 Y0 Z0\nM2\n", False),
    ("§3.1 M30 within percent lines", "%\nG21\nG0 X0 Y0 Z0\nM30\n%\n", False),
    ("§3.1 text after the second percent line is ignored, and said so", "%\nG21\n%\nG0 X1\n", True),
    ("§5.1.3 text after M2 is not read, and said so", "G21\nG0 X0 Y0 Z0\nM2\nG0 X1\n", True),
]


@pytest.mark.parametrize(("name", "text", "told"), PERCENT, ids=[row[0] for row in PERCENT])
def test_percent_lines_and_program_end(name: str, text: str, told: bool) -> None:
    program = read_program(text.encode(), name, options=ReadOptions(profile="rs274-ngc"))
    assert bool(program.findings) is told, program.findings
    assert 1.0 not in program.motions.end_mm[:, 0].tolist()
