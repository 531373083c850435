"""What ``benchmarks/mutants.py`` is told by hand still stands in the sources."""

from __future__ import annotations

import pytest

from benchmarks.mutant_pins import PINS
from benchmarks.mutants import EQUIVALENT, EXECUTOR, ROOT


@pytest.mark.parametrize("excuse", EQUIVALENT)
def test_an_edit_that_nobody_could_tell_has_its_line(excuse: str) -> None:
    module, said = excuse.split(": ", 1)
    rows = [row.strip() for row in (ROOT / module).read_text(encoding="utf-8").splitlines()]
    line = said if said in rows else said.rpartition(" [")[0]
    assert line and line in rows


@pytest.mark.parametrize("pin", PINS, ids=lambda pin: pin[0])
def test_an_edit_that_must_be_noticed_can_be_made(pin: tuple[str, str, str, str]) -> None:
    _, module, old, new = pin
    assert (ROOT / "millcalc" / module).read_text(encoding="utf-8").count(old) == 1 and new != old


def test_the_parts_that_carry_a_program_out_are_there() -> None:
    assert [name for name in EXECUTOR if not (ROOT / "millcalc" / "gcode" / f"{name}.py").is_file()] == []
