"""Tool, offset and count words whose value only the machine knows: not checked, and unknown afterwards."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from millcalc.gcode import read_program
from millcalc.gcode.program import Program
from tests.helpers.command import run

HEAD = "G21 G90 G17 G94\nF100 S10000 M3\nG0 Z5\nG0 X0 Y0\n"
LINES = {
    "T#5221 M6": "the number of the tool in T#5221",
    "G43 H#5221": "the number of the length offset in H#5221",
    "G10 L2 P#5221 X0": "the number in P#5221",
    "G10 L#5221 P1 X0": "the count in L#5221",
    "G41 D#5221 G1 X5": "the number of the cutter in D#5221",
    "G2 X0 Y0 I5 P#5221": "the number in P#5221",
    "M98 P#5221": "the number in P#5221",
    "M98 P100 L#5221": "the count in L#5221",
    "G83 X1 Y1 Z-2 R1 Q#5221": "the depth of a peck in Q#5221",
    "G81 X1 Y1 Z-2 R1 L#5221": "the count in L#5221",
}


def _read(line: str) -> Program:
    text = f"{HEAD}{line}\nG1 X10\nM30\nO100\nG1 X5\nM99\n"
    return read_program(text.encode("ascii"))


@pytest.mark.parametrize(("line", "said"), LINES.items())
def test_it_is_said_and_the_place_is_unknown_after_it(line: str, said: str) -> None:
    program = _read(line)
    (found,) = [finding for finding in program.findings if finding.code == "PARAM-09"]
    assert found.fact == (
        f"{said} is a value that the machine keeps and the program never sets; this line is not checked"
    )
    name = said.removeprefix("the ").split(" in ")[0]
    assert found.action == f"write the {name} itself"
    assert found.line == 5
    after = [row for row, number in enumerate(program.motions.line) if number == 6]
    assert after and math.isnan(program.motions.start_mm[after[0], 0])


def test_the_tool_is_unknown_after_an_unknown_number() -> None:
    program = _read("T#5221 M6")
    assert int(program.motions.tool[-1]) == -1


def test_the_radius_of_an_unknown_cutter_is_unknown() -> None:
    program = _read("G41 D#5221 G1 X5")
    assert any(event.kind == "compensation" and event.line == 5 for event in program.events)


@pytest.mark.parametrize("word", ["G#5221", "M#5221"])
def test_an_unknown_code_is_named_as_written(word: str) -> None:
    (found,) = [finding for finding in _read(word).findings if finding.code.startswith("WORD-0")]
    assert found.fact.startswith(f"{word} is not a code")


@pytest.mark.parametrize(
    "word",
    [
        "G4 P#5221",
        "S#5221 M3",
        "F#5221",
        "G64 P#5221",
        "G82 X1 Y1 Z-2 R1 P#5221",
        "G1 X#5221",
        "G43.1 Z#5221",
    ],
)
def test_quantities_may_be_unknown(word: str) -> None:
    assert not [finding for finding in _read(word).findings if finding.code == "PARAM-09"]


@pytest.mark.parametrize("line", LINES)
def test_the_command_ends_without_an_internal_error(line: str, tmp_path: Path) -> None:
    path = tmp_path / "p.ngc"
    path.write_text(f"{HEAD}{line}\nG1 X10\nM30\n", encoding="ascii")
    done = run(["check", str(path)], tmp_path)
    assert "PARAM-09" in done.stdout and "nan" not in done.stdout
    assert not done.stderr


def test_a_line_too_long_is_a_stop_and_every_axis_is_unknown_after_it(tmp_path: Path) -> None:
    path = tmp_path / "p.ngc"
    path.write_text(f"{HEAD}G1 X2 ({'x' * 70_000})\nG0 X9\nM30\n", encoding="ascii")
    done = run(["check", str(path), "--floor", "stop"], tmp_path)
    assert done.returncode == 1
    assert "bytes long and is not read." in done.stdout
    program = read_program(path.read_bytes())
    assert all(math.isnan(value) for value in program.motions.start_mm[-1])
