"""``millcalc check``, ``show`` and ``demo`` as a person runs them: good input, bad input, pipes."""

from __future__ import annotations

import json
import os
from pathlib import Path

import jsonschema
import pytest

from millcalc.tables import data_root, demo_root
from tests.helpers.command import run

PLATE = demo_root() / "sensor_plate"


def test_good_program_passes_and_says_what_was_not_checked(tmp_path: Path) -> None:
    done = run(["check", str(PLATE / "good.nc"), "--job", str(PLATE / "job.yaml")], tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "things checked" in done.stdout and "look yourself" in done.stdout
    assert "glasses" in done.stdout
    assert not any(word in done.stdout.lower().split() for word in ("safe", "safely", "ok"))


def test_bad_program_is_stopped(tmp_path: Path) -> None:
    done = run(["check", str(PLATE / "bad.nc"), "--job", str(PLATE / "job.yaml")], tmp_path)
    assert done.returncode == 1
    for code in ("SCREW-01", "RAPID-01", "SPIN-01", "LOOSE-01"):
        assert code in done.stdout
    assert "\x1b" not in done.stdout


def test_json_follows_the_schema(tmp_path: Path) -> None:
    done = run(["check", str(PLATE / "bad.nc"), "--job", str(PLATE / "job.yaml"), "--json"], tmp_path)
    schema = json.loads((data_root() / "report.schema.json").read_text(encoding="utf-8"))
    jsonschema.validate(json.loads(done.stdout), schema)


def test_terminal_without_unicode_is_served(tmp_path: Path) -> None:
    done = run(["check", str(PLATE / "bad.nc"), "--job", str(PLATE / "job.yaml")], tmp_path, encoding="ascii")
    assert done.returncode == 1
    assert done.stdout.isascii()


def test_floor_decides_the_exit_code(tmp_path: Path) -> None:
    program = tmp_path / "p.nc"
    program.write_text(
        "G21 G90 G94 G17 G54\nG0 Z5\nG0 X5 Y5\nS9000 M3\nG4 P5\nG1 Z1 F90\nG0 Z5\nM5\nM30\n", encoding="utf-8"
    )
    assert run(["check", str(program)], tmp_path).returncode == 0
    assert run(["check", str(program), "--floor", "note"], tmp_path).returncode == 1


def test_accepting_needs_a_reason_and_is_reported(tmp_path: Path) -> None:
    arguments = ["check", str(PLATE / "bad.nc"), "--job", str(PLATE / "job.yaml")]
    assert run([*arguments, "--accept", "SCREW-01"], tmp_path).returncode == 2
    done = run([*arguments, "--accept", "SCREW-01=the screw was taken out"], tmp_path)
    assert "the screw was taken out" in " ".join(done.stdout.split())


@pytest.mark.parametrize(
    ("content", "code", "expected"),
    [
        (b"", 1, "TEXT-01"),
        (bytes(range(256)) * 20, 1, "TEXT"),
        (b"<html><body>404</body></html>\n", 1, "TEXT"),
        (b"G1 X1.2.3\n", 1, "WORD"),
    ],
)
def test_odd_programs_are_findings(tmp_path: Path, content: bytes, code: int, expected: str) -> None:
    program = tmp_path / "odd.nc"
    program.write_bytes(content)
    done = run(["check", str(program)], tmp_path)
    assert done.returncode == code, done.stderr
    assert expected in done.stdout
    assert "Traceback" not in done.stderr


def test_a_line_of_200_megabytes_neither_hangs_nor_crashes(tmp_path: Path) -> None:
    program = tmp_path / "long.nc"
    with program.open("wb") as file:
        for _ in range(200):
            file.write(b"G1 X1 " * (1_000_000 // 6))
    done = run(["check", str(program)], tmp_path)
    assert done.returncode == 1, done.stderr
    assert "TEXT-23" in done.stdout


def test_unusable_files_exit_with_2(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "absent.nc"):
        done = run(["check", str(path)], tmp_path)
        assert done.returncode == 2 and path.name in done.stderr and not done.stdout
    locked = tmp_path / "locked.nc"
    locked.write_bytes(b"G0 X1\n")
    locked.chmod(0)
    if os.name != "nt" and os.geteuid() != 0:
        assert run(["check", str(locked)], tmp_path).returncode == 2


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "job.yaml"),
        ("stock: 7\n", "stock"),
        ("material: alumnium\n", "al-unknown"),
        ("stock: {size_x: -3}\n", "size_x"),
        ("cutters: {T1: {cutter: flat-6mm-1f, flutes: 0}}\n", "flutes"),
        ("bed: {drop: .nan}\n", "drop"),
        ("stok: {size_x: 3}\n", "stock"),
    ],
)
def test_bad_jobs_name_file_line_and_field(tmp_path: Path, text: str, expected: str) -> None:
    job = tmp_path / "job.yaml"
    job.write_text(text, encoding="utf-8")
    done = run(["check", str(PLATE / "good.nc"), "--job", str(job)], tmp_path)
    assert done.returncode == 2, done.stdout
    assert "job.yaml" in done.stderr and expected in done.stderr
    assert "Traceback" not in done.stderr


def test_show_summarises(tmp_path: Path) -> None:
    done = run(["show", str(PLATE / "good.nc")], tmp_path)
    assert done.returncode == 0
    assert "every word was understood" in done.stdout and "T1" in done.stdout
    data = json.loads(run(["show", str(PLATE / "bad.nc"), "--json"], tmp_path).stdout)
    assert data["schema"] == "millcalc-program/1"


def test_demo_copies_and_lists(tmp_path: Path) -> None:
    assert "window" in run(["demo", "--list"], tmp_path).stdout
    assert run(["demo", "window", "-o", str(tmp_path / "mine")], tmp_path).returncode == 0
    assert (tmp_path / "mine" / "job.yaml").exists()
    assert run(["demo", "window", "-o", str(tmp_path / "mine")], tmp_path).returncode == 2
    assert run(["demo", "nonsense"], tmp_path).returncode == 2


def test_the_job_names_the_program_and_a_job_in_its_place_is_told(tmp_path: Path) -> None:
    done = run(["check", "--job", str(PLATE / "job.yaml")], tmp_path)
    assert done.returncode == 0 and "good.nc" in done.stdout
    mixed = run(["check", str(PLATE / "job.yaml")], tmp_path)
    assert mixed.returncode == 2 and "--job" in mixed.stderr
    assert run(["check"], tmp_path).returncode == 2


def test_a_screw_that_is_hit_stands_first_among_the_nearest(tmp_path: Path) -> None:
    done = run(["check", str(PLATE / "bad.nc"), "--job", str(PLATE / "job.yaml")], tmp_path)
    assert "front left screw: HIT by the cutter, overlap 7 mm" in " ".join(done.stdout.split())
