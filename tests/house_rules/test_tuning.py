"""Tuning numbers stand beside what they tune, and one table shows them all."""

from __future__ import annotations

import importlib
import re
from pathlib import Path

import pytest

from millcalc.tuning import tuning_table
from tests.helpers.command import run

TABLE = tuning_table()


@pytest.mark.parametrize("stage", sorted({row.stage for row in TABLE}))
def test_numbers_have_a_reason_and_are_those_that_run(stage: str) -> None:
    module = importlib.import_module("millcalc.tuning" if stage == "millcalc" else f"millcalc.{stage}.tuning")
    for row in (row for row in TABLE if row.stage == stage):
        assert repr(getattr(module, row.name)) == repr(eval(row.value)), row.name
        assert row.reason, f"{row.name} has no reason"


def test_names_stand_once() -> None:
    names = [row.name for row in TABLE]
    assert len(set(names)) == len(names) > 200


def test_the_command_prints_them(tmp_path: Path) -> None:
    out = run(["tables", "tuning", "gcode"], tmp_path).stdout
    assert re.search(r"gcode INTEGER_TOLERANCE = 0.0001\n.*NISTIR 6556", out)
