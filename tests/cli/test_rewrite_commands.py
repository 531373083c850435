"""``millcalc lift``, ``restart`` and ``correct`` as a person runs them: written, refused, said."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from millcalc.tables import demo_root
from tests.helpers.command import run

PLATE = demo_root() / "sensor_plate"
SMALL = (
    "G21 G90 G17 G94 G54\nT1 M6\nG0 Z12\nS13200 M3\nG4 P6\nG0 X40 Y40\nG0 Z1\nG1 Z0 F70\nG1 X60 Z-0.35 F190\n"
    "G1 X40\nG1 X90 F380\nG1 X40\nG0 Z12\nG0 X40 Y60\nG0 Z1\nG1 Z0 F70\nG1 X60 Z-0.35 F190\nG1 X40\nG1 X90 F380\n"
    "G0 Z12\nM5\nM30\n"
)


@pytest.fixture
def small(tmp_path: Path) -> Path:
    path = tmp_path / "small.nc"
    path.write_bytes(SMALL.encode())
    return path


JOB = ["--job", str(PLATE / "job.yaml")]


def test_lift_writes_a_raised_copy(small: Path, tmp_path: Path) -> None:
    done = run(["lift", str(small), "-o", "air.nc", "--by", "15", *JOB], tmp_path)
    assert done.returncode == 0, done.stderr
    text = (tmp_path / "air.nc").read_text(encoding="utf-8")
    assert "Z14.65" in text and text.replace("Z14.65", "Z-0.35").count("Z-0.35") == 2
    assert "compared motion by motion" in done.stdout and "hand on the stop" in done.stdout.lower()
    assert not re.search(r"\bsafe(ly)?\b", done.stdout.lower())
    assert small.read_bytes() == SMALL.encode()


def test_lift_refuses_in_one_line_a_person_understands(small: Path, tmp_path: Path) -> None:
    low = run(["lift", str(small), "-o", "air.nc", "--by", "1", *JOB], tmp_path)
    assert low.returncode == 2 and "--by" in low.stderr and "Traceback" not in low.stderr
    small.write_text(SMALL.replace("G1 X40\n", "G1 X40 Z[1-2]\n"), encoding="utf-8")
    made = run(["lift", str(small), "-o", "air.nc", "--by", "15"], tmp_path)
    assert made.returncode == 2 and ":10:" in made.stderr and "computed" in made.stderr
    assert not (tmp_path / "air.nc").exists()


@pytest.mark.parametrize("command", [["lift", "--by", "15"], ["restart", "--line", "11"], ["correct"]])
def test_nothing_is_overwritten(command: list[str], small: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.nc"
    other.write_text("mine", encoding="utf-8")
    words = [command[0], str(small), *command[1:], *JOB]
    for target in (str(other), str(small), str(tmp_path), str(tmp_path / "none" / "x.nc")):
        done = run([*words, "-o", target], tmp_path)
        assert done.returncode == 2 and "Traceback" not in done.stderr, done.stderr
    assert run([*words, "-o", str(small), "--force"], tmp_path).returncode == 2
    assert other.read_text(encoding="utf-8") == "mine" and small.read_bytes() == SMALL.encode()
    assert run([*words, "-o", str(other), "--force"], tmp_path).returncode == 0
    assert other.read_bytes() != b"mine"
    assert not list(tmp_path.glob("*.part")) and not list(tmp_path.glob(".*.part"))


def test_restart_lists_state_places_and_a_checklist(small: Path, tmp_path: Path) -> None:
    done = run(["restart", str(small), "--line", "19", *JOB], tmp_path)
    assert done.returncode == 0, done.stderr
    for part in ("state just before line 19", "G90, absolute", "S13200", "Z -0.35", "places to begin again",
                 "set zero again", "Look at the cutter"):  # fmt: skip
        assert part in done.stdout
    assert re.search(r"\*\s+14\s+0:\d\d", done.stdout)
    assert "guarantee" in done.stdout


def test_restart_writes_a_program_that_goes_on(small: Path, tmp_path: Path) -> None:
    done = run(["restart", str(small), "--line", "19", "-o", "on.nc", *JOB], tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr
    text = (tmp_path / "on.nc").read_text(encoding="utf-8")
    assert text.endswith(SMALL[SMALL.rindex("G1 X90") :])
    assert "S13200 M3" in text and "down a ramp" in done.stdout


def test_restart_needs_a_line_for_a_program(small: Path, tmp_path: Path) -> None:
    done = run(["restart", str(small), "-o", "on.nc"], tmp_path)
    assert done.returncode == 2 and "--line" in done.stderr
    for line in ("0", "-3", "x", "9999"):
        done = run(["restart", str(small), "--line", line], tmp_path)
        assert done.returncode == 2 and "Traceback" not in done.stderr


def test_correct_lists_each_change(small: Path, tmp_path: Path) -> None:
    small.write_text(SMALL.replace("F380", "F1140"), encoding="utf-8")
    done = run(["correct", str(small), "-o", "new.nc", *JOB], tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr
    assert (tmp_path / "new.nc").read_text(encoding="utf-8") == SMALL.replace("F380", "F700")
    assert re.search(r"line 11\s+F1140 (→|->) F700\s+mm/min\s+the top of the chip-load band", done.stdout)
    check = run(["check", "new.nc", *JOB], tmp_path)
    assert check.returncode == 0, check.stdout


def test_correct_refuses_what_feeds_cannot_mend(small: Path, tmp_path: Path) -> None:
    small.write_text(SMALL.replace("Z-0.35", "Z-4.5"), encoding="utf-8")
    done = run(["correct", str(small), "-o", "new.nc", *JOB], tmp_path)
    assert done.returncode == 1 and "DEPTH-01" in done.stdout and "not written" in done.stdout
    assert not (tmp_path / "new.nc").exists()


def test_correct_mends_what_it_can_and_says_loudly_what_remains(small: Path, tmp_path: Path) -> None:
    first, last = SMALL.rsplit("Z-0.35", 1)
    small.write_text((first + "Z-4.5" + last).replace("F380", "F1140"), encoding="utf-8")
    done = run(["correct", str(small), "-o", "new.nc", *JOB], tmp_path)
    assert done.returncode == 1
    assert done.stdout.startswith("DO NOT RUN: new.nc holds what feeds and speeds can mend; ")
    assert "DEPTH-01" in done.stdout and "passes of" in done.stdout and "F1140" in done.stdout
    assert done.stdout.index("DEPTH-01") < done.stdout.index("changes")
    new = (tmp_path / "new.nc").read_text(encoding="utf-8")
    assert new.count("F1140") < 2 and re.sub(r" F\d+", "", new) == re.sub(
        r" F\d+", "", small.read_text(encoding="utf-8")
    )


def test_narrow_terminals_and_plain_characters(small: Path, tmp_path: Path) -> None:
    done = run(["restart", str(small), "--line", "19", *JOB], tmp_path, encoding="ascii")
    assert done.returncode == 0 and done.stdout.isascii()
    assert max(len(line) for line in done.stdout.splitlines()) <= 100


def test_missing_files(tmp_path: Path) -> None:
    for command in (["lift", "none.nc", "-o", "x.nc", "--by", "9"], ["restart", "none.nc"],
                    ["correct", "none.nc", "-o", "x.nc", *JOB]):  # fmt: skip
        done = run(command, tmp_path)
        assert done.returncode == 2 and "none.nc" in done.stderr and "Traceback" not in done.stderr
