"""Asking for a set-up, and the file that is written."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from millcalc.errors import JobError, UsageError
from millcalc.job import Job, Question, ask_job, job_text, load_job, parse_job, run_new_job, write_job
from millcalc.job.models import Hold

ANSWERS: dict[str, list[str]] = {
    "units": [""],
    "machine": ["gantry-80w", "gantry-800w"],
    "material": ["al-6082-t6"],
    "grade_known": ["y"],
    "stock": ["160 x 110", "160 x 1/2 in x ?"],
    "zero.xy": ["front", "front-left"],
    "zero.z": ["stock"],
    "bed.spoilboard": ["12 mm"],
    "bed.below": ["metal"],
    "bed.drop": ["0", "120"],
    "screws": ["8, 8, M4 pan, measured", "8,5, 8", "152, 8, 9 x 3", "8", ""],
    "clamps": ["none"],
    "hold": [
        "glue",
        "tape, 60 cm2",
        "vacuum, 1 in2, 500 kPa",
        "tape, 60 cm2, 6 MPa",
        "Vacuum, 100 cm2, 70 kPa, 0.3",
        "tabs, 4, 6 mm long, 1 mm thick",
        "vice, ?",
        "",
    ],
    "cutters": ["T1, flat-6mm-1f, 22", "2, flat-3mm-1f", "x, flat-3mm-1f", ""],
    "spindle.set_by": ["dial"],
    "spindle.dial_mark": ["3"],
    "cooling": ["air"],
    "program": ["plate.nc"],
    "title": ["sensor plate"],
}


def person(answers: dict[str, list[str]], asked: list[Question] | None = None) -> Callable[[Question], str]:
    left = {key: list(lines) for key, lines in answers.items()}

    def ask(question: Question) -> str:
        if asked is not None:
            asked.append(question)
        told = str(question).splitlines()
        assert re.fullmatch(r"\d+ of 11: .*", told[-2]) and question.text in told[-2]
        assert bool(question.problem) == told[0].startswith("  found")
        return left[question.key].pop(0) if left.get(question.key) else ""

    return ask


def test_answers_become_a_job() -> None:
    asked: list[Question] = []
    job = ask_job(person(ANSWERS, asked))
    assert job.machine == "gantry-800w"
    assert job.grade_known is True
    assert (job.stock.size_x_mm, job.stock.size_y_mm, job.stock.thickness_mm) == (160.0, 12.7, None)
    assert (job.zero.xy, job.zero.z) == ("front-left", "stock top")
    assert (job.bed.spoilboard_mm, job.bed.below, job.bed.drop_mm) == (12.0, "metal", 120.0)
    assert job.screws is not None and len(job.screws) == 2
    assert (job.screws[0].size, job.screws[0].placed) == ("M4 pan", "measured")
    assert (job.screws[1].head_diameter_mm, job.screws[1].head_height_mm) == (9.0, 3.0)
    assert job.clamps == ()
    assert job.hold == (
        Hold(kind="tape", area_mm2=6000.0),
        Hold(kind="vacuum", area_mm2=10_000.0, pressure_n_mm2=0.07, friction=0.3),
        Hold(kind="tabs", count=4, length_mm=6.0, thickness_mm=1.0),
        Hold(kind="vice"),
    )
    assert job.cutters[1].stickout_mm == 22.0
    assert job.cutters[2].stickout_mm is None
    assert (job.spindle.set_by, job.spindle.dial_mark) == ("dial", "3")
    assert (job.cooling, job.program, job.title) == ("air", "plate.nc", "sensor plate")
    problems = [question.problem for question in asked if question.problem]
    assert len(problems) == 10
    assert any(
        "found 'glue'; write one of tape, vacuum, vice, side clamps" in problem for problem in problems
    )
    assert any("a vacuum of 500 kPa; write at most 101 kPa" in problem for problem in problems)
    assert any("a shear strength of 6000 kPa; write at most 5000 kPa" in problem for problem in problems)
    assert all("found" in problem for problem in problems)


def test_no_answers_leave_everything_unknown() -> None:
    assert ask_job(lambda question: "") == Job()


def test_a_person_who_never_answers_usably_is_not_asked_for_ever() -> None:
    with pytest.raises(UsageError, match="10 tries"):
        ask_job(lambda question: "gibberish" if question.key == "stock" else "")


def test_the_file_is_written_and_reads_back(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    said: list[str] = []
    job = run_new_job(path, person(ANSWERS), said.append)
    assert load_job(path) == job
    text = path.read_text(encoding="utf-8")
    assert "# thickness:  # measured thickness" in text  # unknown fields stand as comments
    assert "spoilboard: 12 mm  # " in text
    assert any(str(path) in line for line in said)
    assert said[-1] == f"next: millcalc check {tmp_path / 'plate.nc'} --job {path}"
    assert [entry.name for entry in tmp_path.iterdir()] == ["job.yaml"]


def test_a_file_that_exists_is_never_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text("mine", encoding="utf-8")

    def never(question: Question) -> str:
        raise AssertionError("asked although the file exists")

    with pytest.raises(JobError, match="exists already"):
        run_new_job(path, never, print)
    with pytest.raises(JobError, match="exists already"):
        write_job(Job(), path)
    assert path.read_text(encoding="utf-8") == "mine"
    with pytest.raises(JobError, match="folder that does not exist"):
        run_new_job(tmp_path / "no" / "job.yaml", never, print)
    with pytest.raises(JobError, match="a folder that can be written to"):
        write_job(Job(), tmp_path / "no" / "job.yaml")


def test_a_failed_write_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(JobError, match="No space left"):
        write_job(Job(), tmp_path / "job.yaml")
    assert list(tmp_path.iterdir()) == []


def test_a_job_in_inches_is_written_in_inches() -> None:
    text = job_text(parse_job("units: in\nstock: {thickness: 1/4, size_x: 160 mm}"))
    assert "thickness: 0.25 in " in text
    assert "size_x: 160 mm " in text  # not a round number of inches: stays exact


def test_the_written_text_explains_every_field() -> None:
    lines = job_text(Job()).splitlines()
    fields = [line for line in lines if line.lstrip(" #").split(":")[0].isidentifier() and ":" in line]
    assert len(fields) > 60
    assert all(line.partition(":")[2].strip() for line in fields if not line.strip("# ").endswith(":"))


@pytest.mark.parametrize(("answers", "hold"), [(["none"], ()), ([""], None), (["unknown"], None)])
def test_none_and_unknown_are_two_things(answers: list[str], hold: object) -> None:
    assert ask_job(person({"hold": answers})).hold == hold
