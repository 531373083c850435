"""Coordinates, radii and turns beyond 100 m are a stop at their word, on the exact and on the compiled road."""

from __future__ import annotations

import math

import pytest

from millcalc.findings import Severity
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
