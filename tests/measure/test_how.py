"""The procedures at a terminal: steps whole, pictures as drawn, commands that a shell takes."""

from __future__ import annotations

import re
import shlex

import pytest

from millcalc.measure.how import HOW
from millcalc.report.how_text import how_lines


@pytest.mark.parametrize("width", [70, 80, 120])
@pytest.mark.parametrize("procedure", HOW)
def test_a_procedure_keeps_its_words_its_pictures_and_its_commands(procedure: str, width: int) -> None:
    lines = how_lines(procedure, width)
    long = [line for line in lines if len(line) > width and " --" in line]  # one option alone is longer
    assert [line for line in lines if len(line) > width and line not in long] == []
    assert lines[-1] and "" in lines
    text = "\n".join(lines)
    for raw in (line[4:] for line in HOW[procedure].split("\n")):
        if raw.startswith("    ") and not raw.strip().startswith("--"):
            assert raw.rstrip() in lines  # a picture
        for word in raw.split():
            assert word == "\\" or word in text.split(), word
    commands = re.sub(r" \\\n +", " ", text)
    for command in re.findall(r"(?m)^Then: (.*)$", commands):
        assert shlex.split(command)[:2] == ["millcalc", "measure"]


def test_steps_hang_and_prose_is_joined() -> None:
    text = "\n".join(how_lines("stiffness", 80))
    assert (
        "\n2. Stand the dial on the bed (never on the gantry), its foot against the rod,\n   opposite to"
        in text
    )
    assert text.startswith("Unplug the spindle unless the step says that it turns.")
    assert "are 0.82 N/um; a cut of 40 N\nthen bends it by 0.05 mm." in text
