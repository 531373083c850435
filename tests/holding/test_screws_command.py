"""``millcalc screws`` as a person runs it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import yaml
from typer.testing import CliRunner

from millcalc.cli.main import app
from millcalc.errors import InputError
from millcalc.job import load_job
from millcalc.tables import demo_root
from tests.helpers.command import run
from tests.holding.cases import plate, program, rectangle, ring, screw


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A job with one screw in the way and a disc that comes free."""
    (tmp_path / "part.nc").write_text(
        program(ring(45, 55, 25, 6.3), rectangle(90, 25, 140, 85, 3.0)), encoding="utf-8"
    )
    content = plate(program="part.nc", screws=[screw(14, 55), screw(152, 8)])
    (tmp_path / "job.yaml").write_text(yaml.safe_dump(content), encoding="utf-8")
    return tmp_path / "job.yaml"


def test_demo_screws_stand_clear(tmp_path: Path) -> None:
    done = run(["screws", str(demo_root() / "sensor_plate" / "job.yaml")], tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "4 given hold-downs clear of the path" in done.stdout and "not looked at" in done.stdout
    assert "safe" not in done.stdout.lower()
    assert "for the job file" not in done.stdout  # nothing to change


def test_in_the_way_and_what_to_do(job: Path, tmp_path: Path) -> None:
    done = run(["screws", str(job)], tmp_path)
    assert done.returncode == 1 and "Traceback" not in done.stderr
    assert "IN THE WAY: screw 1" in done.stdout
    # left of the groove (cutter's near edge at x = 17) minus head, margin: 12; not across the groove
    assert "to X 12 mm, Y 55 mm" in done.stdout
    assert "proposal:" in done.stdout and "in a piece that comes loose" in done.stdout


def test_json_and_new_job(job: Path, tmp_path: Path) -> None:
    new = tmp_path / "sub" / "new.yaml"
    new.parent.mkdir()
    words = ["screws", str(job), "--json", "--placed", "measured", "-o", str(new)]
    done = run(words, tmp_path)
    document = json.loads(done.stdout)
    assert document["format"] == "hold-down" and document["given"][0]["clear"] is False
    assert all(p["spare_mm"] is None or p["spare_mm"] >= 0 for p in document["proposal"])
    place = document["map"]
    assert len(place["spare_mm"]) == len(place["y_mm"]) and len(place["spare_mm"][0]) == len(place["x_mm"])
    written = load_job(new)
    assert written.screws is not None and len(written.screws) == len(document["proposal"])
    assert (new.parent / (written.program or "")).resolve() == (tmp_path / "part.nc").resolve()
    second = CliRunner().invoke(app, ["screws", str(new)])
    assert second.exit_code == 0, second.stdout
    refused = CliRunner().invoke(app, words)
    assert isinstance(refused.exception, InputError) and "exists already" in str(refused.exception)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--clamp", "20 10"], "--clamp"),
        (["--clamp", "20 10 -5"], "--clamp"),
        (["--count", "0"], "--count"),
        (["--screw", "nail"], "--screw"),
        (["--thread", "far"], "--thread"),
        (["--thread", "40"], "metal"),
        (["--safety", "0.2"], "--safety"),
        (["--job", "x.yaml"], "two job files"),
    ],
)
def test_bad_options(job: Path, words: list[str], says: str) -> None:
    done = CliRunner().invoke(app, ["screws", str(job), *words])
    assert isinstance(done.exception, InputError) and done.exception.exit_code == 2
    assert says in str(done.exception)


def test_program_alone_needs_a_job(job: Path, tmp_path: Path) -> None:
    done = CliRunner().invoke(app, ["screws", str(tmp_path / "part.nc")])
    assert isinstance(done.exception, InputError) and "--job" in str(done.exception)


def test_ascii_inches_and_width(job: Path, tmp_path: Path) -> None:
    done = run(["screws", str(job), "--units", "in"], tmp_path, encoding="ascii")
    assert done.returncode == 1 and done.stdout.isascii() and " in" in done.stdout
    done = CliRunner().invoke(app, ["screws", str(job), "--clamp", "0.8x0.4x0.5 in", "--no-map"])
    assert "20.32 mm wide" in done.stdout and "where a screw can stand" not in done.stdout
