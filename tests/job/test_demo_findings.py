"""What the preflight says about the demo programs: the good ones pass, the bad one raises its README's list."""

from __future__ import annotations

import re

import pytest

from millcalc.findings import Severity
from millcalc.gcode import read_program_file
from millcalc.job import build_setup, load_job
from millcalc.preflight.context import Context
from millcalc.preflight.run import Outcome, run_rules
from millcalc.stock.cutter_shapes import shape_from_cutter
from millcalc.stock.holds import holds_of
from millcalc.stock.simulate import simulate
from millcalc.tables.locate import demo_root

ROOT = demo_root()


def check(folder: str, name: str) -> Outcome:
    path = ROOT / folder / "job.yaml"
    setup = build_setup(load_job(path), path)
    assert setup.stock is not None and setup.machine is not None
    program = read_program_file(ROOT / folder / name)
    nut = setup.machine.spindle.collet_nut_diameter_mm
    shapes = {
        number: shape_from_cutter(fitted.cutter, stickout_mm=fitted.stickout_mm, nut_diameter_mm=nut)
        for number, fitted in setup.cutters.items()
    }
    removal = simulate(program.motions, setup.stock, shapes, holds=holds_of(setup.screws, setup.clamps))
    return run_rules(Context(program, setup, removal))


def rows(section: str) -> list[tuple[str, set[str]]]:
    """First cell and the codes of each row of a section's table in the sensor plate's README."""
    text = (ROOT / "sensor_plate" / "README.md").read_text(encoding="utf-8").split(f"## {section}")[1]
    text = text.split("\n## ")[0]
    cells = [
        [cell.strip() for cell in line.strip("|").split("|")] for line in text.splitlines() if line[:1] == "|"
    ]
    return [(row[0], set(re.findall(r"[A-Z]+-\d\d", " ".join(row)))) for row in cells[2:]]


@pytest.mark.parametrize("folder", ["sensor_plate", "window", "box"])
def test_good_programs_raise_nothing_above_a_note(folder: str) -> None:
    found = check(folder, "good.nc").findings
    assert [(f.code, f.fact) for f in found if f.severity >= Severity.WARNING] == []


def test_the_notes_of_the_good_plate_are_those_listed() -> None:
    found = {f.code for f in check("sensor_plate", "good.nc").findings}
    assert found == set().union(*(codes for _, codes in rows("good.nc")))


def test_the_bad_plate_raises_exactly_what_is_listed() -> None:
    listed = rows("bad.nc")
    found = [f for f in check("sensor_plate", "bad.nc").findings if f.severity >= Severity.WARNING]
    assert {f.code for f in found} == set().union(*(codes for _, codes in listed))
    assert len(listed) >= 12
    for finding in found:
        places = [
            [int(n) for n in re.findall(r"\d+", cell)] for cell, codes in listed if finding.code in codes
        ]
        assert finding.line is not None
        # what follows from a line is shown where it takes effect, at most six lines further down
        assert any(min(p) <= finding.line <= max(p) + 6 for p in places), (finding.code, finding.line, places)
