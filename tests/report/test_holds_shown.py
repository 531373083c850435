"""Tape, vacuum and the like on terminal, page, sheet and in JSON: what holds, and how much of it the cut asks."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from millcalc.cli.main import app

JOB = """\
machine: gantry-800w
material: al-6082-t6
stock: {size_x: 100 mm, size_y: 80 mm, thickness: 6 mm}
zero: {xy: front-left, z: stock top, work_offset: G54}
bed: {spoilboard: 12 mm, below: wood, drop: 80 mm}
screws: none
clamps: none
hold:
  - {kind: tape, area: 60 cm2}
  - {kind: vacuum, area: 30 cm2, pressure: 70 kPa}
cutters:
  T1: {cutter: flat-3mm-1f, stickout: 15 mm}
"""
PROGRAM = (
    "G21 G90 G17 G94 G54\nT1\nM3 S18000\nG4 P5\nG0 Z5\nG0 X20 Y20\nG1 Z-1 F60\nG1 X50 F300\nG0 Z5\nM5\nM30\n"
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("held")
    (place / "job.yaml").write_text(JOB, encoding="utf-8")
    (place / "part.nc").write_text(PROGRAM, encoding="utf-8")
    return place


def check(folder: Path, *words: str) -> str:
    done = CliRunner().invoke(
        app, ["check", str(folder / "part.nc"), "--job", str(folder / "job.yaml"), *words]
    )
    assert done.exception is None or isinstance(done.exception, SystemExit), done.output
    return done.output


def test_terminal(folder: Path) -> None:
    text = " ".join(check(folder, "--all").split())
    assert "what holds the work T1, line 8: 37 N along the table and 10 N of lift, 36 mm" in text
    # 150 + 0.2 * 105 N sideways, 37.5 + 105 N upwards
    assert (
        "tape, 60 cm2 and vacuum, 30 cm2 at 70 kPa may be counted on for (170 N sideways, 140 N upwards, "
        in text
    )
    assert "FORCE-06" not in text


def test_json(folder: Path) -> None:
    setup = json.loads(check(folder, "--json"))["setup"]
    assert setup["hold"] == ["tape, 60 cm2", "vacuum, 30 cm2 at 70 kPa"]
    (told,) = setup["hold_balance"]
    assert "% of what" in told


def test_page_and_sheet(folder: Path) -> None:
    page, sheet = folder / "page.html", folder / "sheet.html"
    check(folder, "-o", str(page))
    words = ["sheet", str(folder / "part.nc"), "--job", str(folder / "job.yaml"), "-o", str(sheet)]
    done = CliRunner().invoke(app, words)
    assert sheet.exists(), done.output
    text = page.read_text(encoding="utf-8")
    assert "<li>tape, 60 cm2</li>" in text and "170 N sideways" in text
    paper = sheet.read_text(encoding="utf-8")
    assert "<td>tape, 60 cm2</td>" in paper and "<td>vacuum, 30 cm2 at 70 kPa</td>" in paper
    assert "Tape: both faces clean and dry" in paper and "Vacuum: gauge at its mark" in paper


def test_nobody_told_how_it_is_held(folder: Path) -> None:
    """One question, with what to write; no stop and no warning."""
    start, end = JOB.index("hold:"), JOB.index("cutters:")
    (folder / "untold.yaml").write_text(JOB[:start] + "hold: unknown\n" + JOB[end:], encoding="utf-8")
    done = CliRunner().invoke(
        app, ["check", str(folder / "part.nc"), "--job", str(folder / "untold.yaml"), "--all"]
    )
    text = " ".join(done.output.split())
    assert done.exit_code == 0 and "FORCE-06" not in text
    assert text.count("how is it held?") == 1 and "how is it held? → write hold in the job" in text
