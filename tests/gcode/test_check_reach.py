"""Coordinates, radii and turns beyond 100 m are a stop at their word, on the exact and on the compiled road."""

from __future__ import annotations

import math

import pytest

from millcalc.findings import Severity
from millcalc.gcode.options import ReadOptions
from millcalc.gcode.reader import read_program

HEAD = "G21 G90 G17 G94\nG0 X0 Y0 Z5\nG1 Z-1 F200\n"
PLAIN = "".join(f"G1 X{n % 50} Y1\n" for n in range(4000))  # enough for the compiled reader


@pytest.mark.parametrize("before", ["", PLAIN], ids=["exact", "compiled"])
@pytest.mark.parametrize(
    ("word", "measured"),
    [
        ("G1 X100000000", 1e8),
        ("G1 Y-100001", 100001.0),
        ("G20 G1 X3938", 3938 * 25.4),
        ("G2 X0 Y0 I200000", 2e5),
        ("G2 X10 Y0 R100001", 100001.0),
        ("G0 X0 Y0\nG2 X0 Y0 I20000", math.tau * 2e4),  # no word is too far, their way is
        ("G0 X0 Y0\nG2 X0 Y0 I5 P1000000", math.pi * 1e7),
    ],
)
def test_beyond_a_hundred_metres_is_a_stop_at_its_line(before: str, word: str, measured: float) -> None:
    text = HEAD + before + word + "\nG1 Z-2\nG21 G0 X3 Y4\nM30\n"
    program = read_program(text.encode(), "far.nc")
    found = [finding for finding in program.findings if finding.code == "WORD-22"]
    line = text.split("\n").index(word.split("\n")[-1]) + 1
    assert [(f.severity, f.line) for f in found] == [(Severity.STOP, line)]
    assert "farther than any machine goes" in found[0].fact
    assert found[0].measured == pytest.approx(measured, rel=1e-6)
    lengths = program.motions.length_mm
    assert not (lengths > 1e5).any()
    assert program.motions.end_mm[-1, :2].tolist() == [3.0, 4.0]


@pytest.mark.parametrize("before", ["", PLAIN], ids=["exact", "compiled"])
@pytest.mark.parametrize(
    ("lines", "where"),
    [
        (["G91", *["G1 X3000"] * 40], "place at 102"),  # steps add up
        (["G91", *["G1 X-3000"] * 40], "place at -102"),
        (["G92 X-90000", "G0 X50000"], "place at 14"),  # and offsets
        (["G52 X90000", "G0 X50000"], "place at 14"),
        (["G91 G81 X1 Z-2 R1 L100000", "G91 G81 X2 Z-2 R1 L100000"], "L100000 repeats go 200000 mm far"),
        (["#1=60000", "G91 G1 X[#1]", "X[#1]"], "place at 12"),
    ],
)
def test_steps_offsets_and_repeats_that_add_up_are_a_stop(before: str, lines: list[str], where: str) -> None:
    text = HEAD + before + "G0 X0 Y0\n" + "\n".join(lines) + "\nG90 G80 G0 X1 Y1 Z5\nG1 Y2\nM30\n"
    program = read_program(text.encode(), "far.nc", options=ReadOptions(max_motions=2_000_000))
    found = [finding for finding in program.findings if finding.code == "WORD-22"]
    assert found and found[0].severity == Severity.STOP and where in found[0].fact, found
    assert found[0].measured and found[0].measured > 1e5
    ends = program.motions.end_mm
    assert not (abs(ends) > 1e5).any() and ends[-1, 1] == ends[-2, 1] + 1.0


def test_pecks_times_repeats_are_bounded() -> None:
    text = HEAD + "G91 G83 X0.001 Z-9 R1 Q0.001 L10000\nG80\nM30\n"
    program = read_program(text.encode(), "pecks.nc")
    assert "CYCLE-07" in {finding.code for finding in program.findings}
    assert len(program.motions) < 50_000


def test_after_a_refused_move_its_axis_is_unknown() -> None:
    program = read_program((HEAD + "G1 X100000000\nG1 Y5\nM30\n").encode(), "far.nc")
    assert math.isnan(program.motions.end_mm[-1, 0])
    assert program.motions.end_mm[-1, 1] == 5.0


@pytest.mark.parametrize(
    "word", ["G1 X100000", "G2 X0 Y0 I5 P3000", "G4 P200000", "G20 G1 X3937", "G1 X1 F200000"]
)
def test_the_bound_itself_is_read(word: str) -> None:
    program = read_program((HEAD + word + "\nM30\n").encode(), "near.nc")
    assert not [finding for finding in program.findings if finding.code == "WORD-22"]


def test_a_path_of_weeks_is_not_simulated_and_says_so() -> None:
    from millcalc.check.prepare import make_context
    from millcalc.job import build_setup, load_job
    from millcalc.tables import demo_root

    job = demo_root() / "sensor_plate" / "job.yaml"
    setup = build_setup(load_job(job), job, None)
    text = "G21 G90 G17 G94 G54\nT1 M6\nS13200 M3\nG0 X40 Y40 Z5\nG1 Z-0.3 F190\n" + "G2 I5 P3000\n" * 250
    context = make_context((text + "G0 Z12\nM30\n").encode(), "weeks.nc", setup)
    assert (
        context.removal is None and "24 km long; more than 20 km is not simulated" in context.removal_missing
    )


@pytest.mark.parametrize("words", ["G3 I-700", "G3 X0 Y0 I-700", "G2 X1 Y-1 R-800"])
def test_the_compiled_road_leaves_an_arc_too_long_to_the_exact_one(words: str) -> None:
    text = f"G20 G90 G17 G94\nG0 X0 Y0 Z1\n{words}\nM30\n".encode()
    told = []
    for road in ({"force_slow": True}, {"force_fast": True}):
        program = read_program(text, "far.nc", options=ReadOptions(**road))
        told.append([(f.code, f.line) for f in program.findings if f.code == "WORD-22"])
        assert not (program.motions.length_mm > 1e5).any()
    assert told == [[("WORD-22", 3)], [("WORD-22", 3)]]
