"""Tuning numbers stand beside what they tune, and one table shows them all."""

from __future__ import annotations

import importlib
import re
from pathlib import Path

import pytest

from millcalc.tuning import tuning_table
from tests.helpers.command import run

TABLE = tuning_table()


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row.stage}.{row.name}")
def test_number_has_a_unit_and_is_the_one_that_runs(row) -> None:  # type: ignore[no-untyped-def]
    module = "millcalc.tuning" if row.stage == "millcalc" else f"millcalc.{row.stage}.tuning"
    assert repr(getattr(importlib.import_module(module), row.name)) == repr(eval(row.value))
    assert row.reason, f"{row.name} has no reason"


def test_names_stand_once() -> None:
    names = [row.name for row in TABLE]
    assert len(set(names)) == len(names) > 200


def test_the_command_prints_them(tmp_path: Path) -> None:
    out = run(["tables", "tuning", "gcode"], tmp_path).stdout
    assert re.search(r"gcode INTEGER_TOLERANCE = 0.0001\n.*NISTIR 6556", out)
