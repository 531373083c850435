"""Faults that once went unseen, and alarms that once were false: each with number, limit, remedy and the remedy obeyed.

``$H`` and `` / `` are those of the case files. `quiet` lists programs that look alike and must stay without the
finding; `loud` ones must have it, so that the quiet ones prove something.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import pytest

from millcalc.findings import Finding
from millcalc.preflight import run_rules
from tests.preflight.test_cases import RULES, context

END = " / G0 Z5 / M5 / M30"
HEAD_IN = "G20 G90 / M3 S18000 / G4 P5 / G0 Z0.2 / G0 X0.8 Y0.8"
INCH_JOB = {
    "stock": {"size_x": "4 in", "size_y": "3 in", "thickness": "0.25 in"},
    "screws": "none",
    "bed": None,
}


@dataclass(frozen=True)
class Case:
    """What must be said about a program, and the program with the remedy obeyed.

    code, line, severity: Of the finding.
    p: The program.
    says, does: Parts of fact and action.
    compared: Measured value, limit, unit; None where the rule compares nothing.
    fixed: The program with the action obeyed: the finding is gone.
    quiet: Programs alike without the fault.
    job: Keys of a case file's job; empty for none.
    """

    code: str
    line: int
    severity: str
    p: str
    says: str
    does: str
    compared: tuple[float, float, str] | None
    fixed: str
    quiet: tuple[str, ...] = ()
    job: dict = field(default_factory=dict)


def found(code: str, program: str, job: dict) -> list[Finding]:
    case = {"p": program, **(job or {"job": "none"})}
    return [f for f in run_rules(context(case), rules=(RULES[code],)).findings if f.code == code]


PLATE = {"with": {}}  # the base job as it is
DRAG = "G21 G90 G17 G94 G54 S9000 / G0 Z5 / G0 X20 Y20 / G1 Z-1 F60 / G1 X40 F300 / G0 X190 / G1 X195 / G0 Z5 / " \
       "G0 X20 Y40 / G1 Z-1 F60 / G1 X80 F300 / G0 Z5 / M30"  # fmt: skip
STEPS = (
    "$H / G1 Z-1 F60 / G1 X40 F300 / G1 Y40 / G1 X10 / G91 / G1 Y10 / G1 X40 / G1 Y40 / G1 X11 / G0 Z5 / M30"
)
HOME = "G21 G90 / M3 S9000 / G91 G28 Z0 / {}G0 X10 Y10 / G0 Z5 / G1 Z-1 F60 / G1 X40 F300 / G0 Z5 / M30"
LOST_FEED = "$H / G1 Z-1 F60 / G1 X50 F900 / G0 Z5 / G0 X20 / G1 Z-2{} / G1 X50 F900" + END
SMALL = " / M3 S9000 / G0 Z0.2 / G0 X0.5 Y0.5 / G1 Z-0.04 F10 / G1 X3.5 F35 / G1 Y2.5 / G0 Z0.2 / M30"
LARGE = " / M3 S9000 / G0 Z5 / G0 X10 Y10 / G1 Z-1 F200 / G1 X80 F900 / G1 Y60 / G0 Z5 / M30"

DRILL = "G21 G90 / M3 S6500 / G4 P5 / G0 Z5 / G83 X50 Y40 Z-4 R2 Q1.5 F{} / G80 / M5 / M30"
DRILLS = {"with": {"cutters": {"T1": {"cutter": "drill-3mm-hss", "stickout": "30 mm"}}}}

CASES = {
    # faults that went unseen
    "A1 one rapid at depth, the spindle off": Case(
        "SPIN-01", 4, "stop", DRAG, "cuts before the spindle is started", "start the spindle (M3 and a speed)",
        None, DRAG.replace(" / G0 Z5 / G0 X20", " / M3 / G4 P5 / G0 Z5 / G0 X20", 1)),
    "A1 one rapid at depth": Case(
        "RAPID-04", 6, "warning", DRAG, "rapid sideways at Z -1 mm, at the work; elsewhere it travels at Z 5 mm",
        "lift to Z 5 mm before line 6", (-1.0, 5.0, "mm"), DRAG.replace("/ G0 X190 /", "/ G0 Z5 / G0 X190 / G1 Z-1 /")),
    "A2 rapid at a level that is none of cutting": Case(
        "RAPID-04", 9, "warning", "$H / G1 Z-2 F60 / G1 X40 F300 / G0 Z-0.4 / G0 X60 / G0 Z5 / G0 X90" + END,
        "rapid sideways at Z -0.4 mm", "lift to Z 5 mm before line 9", (-0.4, 5.0, "mm"),
        "$H / G1 Z-2 F60 / G1 X40 F300 / G0 Z5 / G0 X60 / G0 Z5 / G0 X90" + END),
    "A3 inches read as millimetres": Case(
        "MODE-15", 1, "warning", "G21 G90" + SMALL, "with G20: a path of 76.2 mm by 50.8 mm",
        "if it was the other one, write G20", (35.0, 889.0, "mm/min"), "G20 G90" + SMALL),
    "A3 the unit word lost": Case(
        "MODE-15", 3, "warning", "G90" + SMALL, "read with no unit word", "write G20", (35.0, 889.0, "mm/min"),
        "G20 G90" + SMALL),
    "A3 millimetres read as inches": Case(
        "MODE-15", 1, "warning", "G20 G90" + LARGE, "a path of 1778 mm by 1270 mm", "write G21",
        (22860.0, 900.0, "mm/min"), "G21 G90" + LARGE),
    "A3 a job in inches": Case(
        "ZERO-03", 5, "warning", "G21 G90" + SMALL, "read as inches it would fit", "G20 for inches",
        (3.0, 101.6, "mm"), "G20 G90" + SMALL, job={"with": INCH_JOB}),
    "A4 G91 in the middle": Case(
        "MODE-14", 10, "warning", STEPS, "makes steps of the numbers in lines 11 to 15", "write G90 before line 11",
        None, STEPS.replace("/ G91 /", "/ G91 / G90 /")),
    "A4 G90 does not come back": Case(
        "MODE-14", 3, "warning", HOME.format(""), "makes steps of the numbers in lines 4 to 8",
        "write G90 before line 4", None, HOME.format("G90 / ")),
    "A4 G91 in the line of the first motion": Case(
        "MODE-14", 10, "warning", STEPS.replace("/ G91 / G1", "/ G91 G1"), "of the numbers in lines 10 to 14",
        "write G90 in line 10", None, STEPS.replace("/ G91 / G1", "/ G90 G1")),
    "A5 F3000 in inches": Case(
        "FEED-09", 7, "warning", f"{HEAD_IN} / G1 Z-0.04 F10 / G1 X3.5 F3000" + END,
        "F 76200 mm/min, more than such machines reach", "unit, feed mode and digits", (76200.0, 15000.0, "mm/min"),
        f"{HEAD_IN} / G1 Z-0.04 F10 / G1 X3.5 F30" + END),
    # alarms that were false, beside their true twins
    "B SPIN-09 retract at feed": Case(
        "SPIN-09", 8, "stop", "$H / G1 Z-0.5 F60 / G1 X25 F300 / M5 / G1 X40 / M30",
        "stopped while the cutter is in the material", "retract before M5", None,
        "$H / G1 Z-0.5 F60 / G1 X25 F300 / G0 Z5 / M5 / M30",
        ("$H / G1 Z-0.5 F60 / G1 X25 F300 / G1 Z5 F500 / M5 / M30",
         "$H / G1 Z-0.5 F60 / G1 X25 F300 / G1 X30 Z2 / M5 / M30")),
    "B SPIN-04 tapping": Case(
        "SPIN-04", 3, "stop", "G21 G90 / G0 Z5 / M4 S400 / G0 X20 Y20 / G84 X20 Y20 Z-8 R3 F320 / G80 / G1 X30 / M30",
        "turns counter-clockwise (M4)", "write M3", None,
        "G21 G90 / G0 Z5 / M3 S400 / G0 X20 Y20 / G84 X20 Y20 Z-8 R3 F320 / G80 / G1 X30 / M30",
        ("G21 G90 / G0 Z5 / M3 S400 / G0 X20 Y20 / G84 X20 Y20 Z-8 R3 F320 / X30 / G80 / G0 Z5 / M5 / M30",)),
    "B RAPID-03 after a way home": Case(
        "RAPID-03", 2, "warning", "G21 G90 / G1 X10 Y10 F300 / G0 Z5 / M30", "a height the program has not set",
        "lift first, alone: G0 Z 5 mm", None, "G21 G90 / G0 Z5 / G1 X10 Y10 F300 / G0 Z5 / M30",
        ("G21 G90 / G28 Z0 / G0 X10 Y10 / G0 Z5 / M30", "G21 G90 / G53 G0 Z0 / G0 X10 Y10 / G0 Z5 / M30",
         "G21 G91 G28 Z0 / G90 / G0 X10 Y10 / G0 Z5 / M30", "G21 G90 / G30 Z0 / G0 X10 Y10 / G0 Z5 / M30")),
    "B RAPID-07 without a job": Case(
        "RAPID-07", 7, "warning", "$H / G1 Z-1 F60 / G1 X50 F300 / M5 / M30", "ends at Z -1 mm, where it cuts",
        "end with G0 Z 5 mm", (-1.0, 0.0, "mm"), "$H / G1 Z-1 F60 / G1 X50 F300 / G0 Z5 / M5 / M30",
        ("$H / G1 Z-1 F60 / G1 X50 F300 / G0 Z2 / M5 / M30", "$H / G1 Z-1 F60 / G1 X50 F300 / G53 G0 Z0 / M30",
         "$H / G1 Z-1 F60 / G1 X50 F300 / G0 Z5 / G91 G28 Z0 / G90 / M30",
         "$H / G1 Z-1 F60 / G1 X50 F300 / G1 Z1 / G0 X0 Y0 / M30")),
    "B RAPID-07 with a job": Case(
        "RAPID-07", 7, "warning", "$H / G1 Z-1 F60 / G1 X50 F300 / M5 / M30", "ends at Z -1 mm, below the stock's top",
        "end with G0 Z 5 mm", (-1.0, 0.0, "mm"), "$H / G1 Z-1 F60 / G1 X50 F300 / G0 Z5 / M5 / M30",
        ("$H / G1 Z-1 F60 / G1 X50 F300 / G0 Z0.5 / M5 / M30",), job=PLATE),
    "B TOOL-04 units": Case(
        "TOOL-04", 1, "warning", "(T1 D=6 flat) / $H", "a comment speaks of 6 mm; in the job T1 is 3 mm",
        "fit the cutter", None, "(T1 D=3 flat) / $H",
        ("(T1 D=0.1181 flat) / $H", "(T1 D=0.1181 in flat) / $H", "(T1 D=3 flat) / G20 G90 / G0 Z0.2",
         "(T1 dia 3.0 mm) / G20 G90 / G0 Z0.2"), job=PLATE),
    "B FEED-04 a chip of nothing": Case(
        "FEED-04", 7, "warning", "$H / G1 Z-0.2 F60 / G1 X50 F1" + END,
        "under 0.0001 mm a tooth at F 1 mm/min and 18000 rpm; the least that still cuts is 0.005 mm (100 %",
        "F 90 mm/min gives 0.005 mm a tooth", (1 / 18000, 0.005, "mm"), "$H / G1 Z-0.2 F60 / G1 X50 F90" + END,
        job=PLATE),
    "B RAPID-02 depth": Case(
        "RAPID-02", 6, "stop", "$H / G0 Z-2.5 / G1 X40 F300" + END, "straight down, 2.5 mm into the stock",
        "rapid to Z 1 mm, then write G1 Z -2.5 mm", (2.5, 0.0, "mm"), "$H / G0 Z1 / G1 Z-2.5 F50 / G1 X40 F300" + END,
        job=PLATE),
    "B RAPID-02 depth, simulated": Case(
        "RAPID-02", 6, "stop", "$H / G0 Z-2.5 / G1 X40 F300" + END, "straight down, 2.5 mm into the stock",
        "rapid to Z 1 mm, then write G1 Z -2.5 mm", (2.5, 0.0, "mm"), "$H / G0 Z1 / G1 Z-2.5 F50 / G1 X40 F300" + END,
        job={"sim": True}),
    "B RAPID-02 depth, no job": Case(
        "RAPID-02", 10, "warning",
        "$H / G1 Z-1 F60 / G1 X30 F300 / G0 Z5 / G0 X50 / G0 Z-2.5 / G1 X60" + END,
        "straight down, 2.5 mm below Z 0 mm", "rapid to Z 1 mm, then write G1 Z -2.5 mm", (2.5, 0.0, "mm"),
        "$H / G1 Z-1 F60 / G1 X30 F300 / G0 Z5 / G0 X50 / G0 Z1 / G1 Z-2.5 F60 / G1 X60" + END),
    "B TOOL-06 in inches": Case(
        "TOOL-06", 6, "note", f"{HEAD_IN} / G1 Z-0.12 F3 / G1 X1.2", "T1 sticks out 38.1 mm; 21 mm would do",
        "at 21 mm the cutter itself is", (38.1, 21.0, "mm"), "", job={
            "with": {"cutters": {"T1": {"cutter": "flat-6mm-1f", "stickout": "1.5 in"}}}}),
    "a drill fed ten times too slowly": Case(
        "FEED-11", 5, "warning", DRILL.format(40),
        "T1 drills at F 40 mm/min, 0.006 mm a turn; a drill of 3 mm rubs below 0.02 mm here",
        "F 260 mm/min at this speed, 0.041 mm a turn", (40 / 6500, 0.0202774, "mm"), DRILL.format(260),
        (DRILL.format(300), DRILL.format(600)), job=DRILLS),
    "a drill fed ten times too fast": Case(
        "FEED-11", 5, "stop", DRILL.format(4000), "0.615 mm a turn; a drill of 3 mm takes at most 0.09 mm here",
        "F 580 mm/min at this speed, 0.09 mm a turn", (4000 / 6500, 0.09, "mm"), DRILL.format(580), job=DRILLS),
    "C SPIN-03 with the machine's time": Case(
        "SPIN-03", 6, "warning", "G21 G90 / G0 Z5 / G0 X20 Y20 / G0 Z1 / M3 S18000 / G1 Z-0.5 F60" + END,
        "0.0 s from the spindle's start (line 5) to the first cut; it needs about 4 s",
        "put a dwell of 4 s after line 5", (0.0, 4.0, "s"),
        "G21 G90 / G0 Z5 / G0 X20 Y20 / G0 Z1 / M3 S18000 / G4 P4 / G1 Z-0.5 F60" + END, job=PLATE),
    "C SPIN-03 without a machine": Case(
        "SPIN-03", 6, "note", "G21 G90 / G0 Z5 / G0 X20 Y20 / G0 Z1 / M3 S18000 / G1 Z-0.5 F60" + END,
        "it needs about 3 s", "put a dwell of 3 s after line 5", (0.0, 3.0, "s"),
        "G21 G90 / G0 Z5 / G0 X20 Y20 / G0 Z1 / M3 S18000 / G4 P3 / G1 Z-0.5 F60" + END),
    "B PLUNGE-06 the right half: a lost word": Case(
        "PLUNGE-06", 10, "warning", LOST_FEED.format(""), "at the side cut's feed, F 900 mm/min",
        "write F 60 mm/min in this line, and F 900 mm/min again", None, LOST_FEED.format(" F60")),
    "B PLUNGE-06 the other half: one feed for all": Case(
        "PLUNGE-06", 10, "note", LOST_FEED.format("").replace("F60", "F900"), "at the side cut's feed, F 900 mm/min",
        "write F 270 mm/min in this line", None, LOST_FEED.format(" F270").replace("F60", "F900")),
    "B PLUNGE-06 a job: the feed of settings": Case(
        "PLUNGE-06", 10, "note", LOST_FEED.format(""), "at the side cut's feed, F 900 mm/min",
        "write F 54 mm/min in this line", None, LOST_FEED.format(" F54"), job=PLATE),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_said_with_number_limit_and_remedy(case):
    said = found(case.code, case.p, case.job)
    here = [f for f in said if f.line == case.line]
    assert here, [(f.line, f.fact) for f in said]
    one = here[0]
    assert one.severity.word == case.severity
    assert case.says in one.fact
    assert case.does in one.action
    if case.compared is None:
        assert one.measured is None and one.limit is None
    else:
        measured, limit, unit = case.compared
        assert (one.measured, one.limit) == pytest.approx((measured, limit), rel=1e-4, abs=1e-9)
        assert one.unit == unit


@pytest.mark.parametrize(
    "case", [c for c in CASES.values() if c.fixed], ids=[k for k, c in CASES.items() if c.fixed]
)
def test_gone_once_the_remedy_is_obeyed(case):
    assert not [f.fact for f in found(case.code, case.fixed, case.job) if f.severity.word == case.severity]


QUIET = [(name, case, n) for name, case in CASES.items() for n in range(len(case.quiet))]


@pytest.mark.parametrize("case, n", [(c, n) for _, c, n in QUIET], ids=[f"{k} {n}" for k, _, n in QUIET])
def test_silent_about_its_harmless_twin(case, n):
    assert not [f.fact for f in found(case.code, case.quiet[n], case.job)]


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("stickout", [1.0, 1.125, 1.25, 1.4, 1.5, 1.52, 1.6])
@pytest.mark.parametrize("deep", [0.02, 0.3, 0.55])
def test_two_stickouts_that_differ_read_so(units, stickout, deep):
    cutters = {"T1": {"cutter": "flat-6mm-1f", "stickout": f"{stickout} in"}}
    program = f"{HEAD_IN} / G1 Z-{deep} F3 / G1 X1.2"
    said = found(
        "TOOL-06", program, {"with": {"cutters": cutters, "stock": {"thickness": "0.6 in"}}, "units": units}
    )
    for finding in said:
        has, would = finding.fact.removeprefix("T1 sticks out ").removesuffix(" would do").split("; ")
        assert has != would and has.endswith(units) and would.endswith(units)
        assert finding.measured - finding.limit > 3.0
    assert said or stickout < 1.25 or deep > 0.5


def test_a_unit_told_from_sizes_takes_its_consequences_with_it():
    outcome = run_rules(context({"job": "none", "p": "G20 G90" + LARGE}))
    heads = [[outcome.findings[place].code for place in block.findings] for block in outcome.blocks]
    assert ["MODE-15", "FEED-09"] in heads


@pytest.mark.parametrize(
    "word, shown", [("333.3", "333.3 mm/min"), ("60.5", "60.5 mm/min"), ("0.5", "0.5 mm/min")]
)
def test_show_prints_a_feed_as_it_was_written(tmp_path, word, shown):
    from typer.testing import CliRunner

    from millcalc.cli.main import app

    path = tmp_path / "part.nc"
    path.write_text(f"G21 G90\nM3 S9000\nG0 Z5\nG1 X40 F{word}\nM30\n", encoding="ascii")
    printed = CliRunner().invoke(app, ["show", str(path)]).output
    assert f"feeds {shown}" in printed


def test_many_stretches_of_steps_are_read_once_more(monkeypatch):
    from millcalc.gcode import reader

    calls = []
    read = reader.read_program
    monkeypatch.setattr(
        reader, "read_program", lambda *given, **more: calls.append(1) or read(*given, **more)
    )
    steps = " / G91 / G1 Z-6 F100 / G1 X3 / G1 Y2 / G1 X-3 / G90 / G0 Z5 / G0 X{}"
    program = "$H" + "".join(steps.format(30 + k) for k in range(40)) + " / M30"
    ctx = context({"job": "none", "p": program})
    calls.clear()
    assert not run_rules(ctx, rules=(RULES["MODE-14"],)).findings and len(calls) == 1
