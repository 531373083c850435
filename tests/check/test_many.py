"""Several programs: which they are, which job belongs to each, and that processes change nothing in the result."""

from __future__ import annotations

import multiprocessing
import os
import signal
import time
from pathlib import Path

import pytest

from millcalc.check import many
from millcalc.check.many import Row, Task, check_all, check_task, find_job, find_programs
from millcalc.check.prepare import CheckOptions
from millcalc.check.tuning import PROGRAM_ENDINGS
from millcalc.errors import InputError
from millcalc.report.check_sarif import SarifFace

CLEAN = "G21 G90 G94 G17 G54\nG0 Z5\nG0 X5 Y5\nS9000 M3\nG4 P5\nG1 Z1 F90\nG0 Z5\nM5\nM30\n"
DIRTY = "G21 G90\nG1 X1.2.3\nM30\n"


def write(path: Path, text: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8", newline="\n")
    return path


def test_folders_stand_for_their_programs(tmp_path: Path) -> None:
    inner = [write(tmp_path / "a" / name, CLEAN) for name in ("2.nc", "1.NGC", "deep/3.tap")]
    for name in ("a/readme.txt", "a/job.yaml", "a/.hidden.nc", "a/.git/4.nc"):
        write(tmp_path / name, CLEAN)
    named = write(tmp_path / "odd.txt", CLEAN)
    found = find_programs([named, tmp_path / "a", inner[0]])
    assert found.programs == (named, inner[1], inner[0], inner[2])
    assert found.passed_over == 2 and not found.unreadable
    # a folder whose programs were all named before is not an empty one
    assert find_programs([*inner, tmp_path / "a"]).programs == tuple(inner)


def test_folders_without_programs_and_with_too_many_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(tmp_path / "e" / "notes.txt", "")
    with pytest.raises(InputError, match=r"no program in this folder \(1 other file\)"):
        find_programs([tmp_path / "e"])
    monkeypatch.setattr(many, "MOST_PROGRAMS", 2)
    for number in range(3):
        write(tmp_path / "f" / f"{number}.nc", CLEAN)
    with pytest.raises(InputError, match="more than 2 programs"):
        find_programs([tmp_path / "f"])


@pytest.mark.skipif(not hasattr(os, "symlink") or os.name == "nt", reason="links need rights there")
def test_a_link_to_a_folder_above_does_not_turn_in_circles(tmp_path: Path) -> None:
    write(tmp_path / "a" / "1.nc", CLEAN)
    (tmp_path / "a" / "loop").symlink_to(tmp_path, target_is_directory=True)
    (tmp_path / "a" / "same.nc").symlink_to(tmp_path / "a" / "1.nc")
    assert len(find_programs([tmp_path]).programs) == 1


def test_the_job_beside_a_program_counts_when_it_names_it(tmp_path: Path) -> None:
    one, two, three = (write(tmp_path / name, CLEAN) for name in ("one.nc", "two.nc", "three.nc"))
    job = write(tmp_path / "job.yaml", "program: one.nc\n")
    own = write(tmp_path / "two.job.yaml", "program: ./two.nc\n")
    assert find_job(one) == Task(one, job)
    assert find_job(two) == Task(two, own)
    assert find_job(three) == Task(three)
    write(tmp_path / "job.yaml", "title: names none\n")
    assert find_job(one) == Task(one)


@pytest.mark.parametrize("text", ["machine: [\n", "program: a\nprogram: b\n"])
def test_a_job_that_cannot_be_read_is_an_error_of_its_program(tmp_path: Path, text: str) -> None:
    program = write(tmp_path / "one.nc", CLEAN)
    write(tmp_path / "job.yaml", text)
    task = find_job(program)
    assert task.job is None and "job.yaml" in task.trouble
    row = check_task(task, CheckOptions(), face=SarifFace())
    assert row.report is None and row.exit_code() == 2 and row.part is not None and row.part.failed


def test_processes_change_nothing_and_keep_the_order(tmp_path: Path) -> None:
    files = [write(tmp_path / "1.nc", DIRTY), tmp_path / "gone.nc", write(tmp_path / "3.nc", CLEAN)]
    tasks = [Task(file) for file in files]
    options = CheckOptions(quiet={"TRAVEL-06": "seen"}, progress=lambda stage, share: None)
    told: list[int] = []
    apart = check_all(
        tasks, options, workers=2, face=SarifFace(), tell=lambda row, done, total: told.append(done)
    )
    here = check_all(tasks, options, workers=1, face=SarifFace())
    assert told == [1, 2, 3]
    for one, two, file in zip(apart, here, files, strict=True):
        assert one.program == two.program == str(file)
        assert (one.report, one.error, one.exit_code(), one.part) == (
            two.report,
            two.error,
            two.exit_code(),
            two.part,
        )
    assert [row.exit_code() for row in here] == [1, 2, 0]
    assert not multiprocessing.active_children()


def _die(*_arguments: object) -> Task:
    os._exit(1)


class Deadly(Task):
    """A task whose process ends when it is handed over, as one that runs out of memory does."""

    def __reduce__(self) -> tuple[object, tuple[object, ...]]:
        return _die, ()


def test_a_process_that_dies_is_told_and_the_rest_comes_back(tmp_path: Path) -> None:
    good = write(tmp_path / "1.nc", CLEAN)
    rows = check_all([Deadly(good), Task(good)], CheckOptions(), workers=2, face=SarifFace())
    assert rows[0].report is None and rows[0].exit_code() == 3 and "out of memory" in rows[0].error
    assert len(rows) == 2 and rows[0].part is not None


def test_an_interrupt_ends_every_process(tmp_path: Path) -> None:
    tasks = [Task(write(tmp_path / f"{number}.nc", CLEAN)) for number in range(6)]

    def stop(row: Row, done: int, total: int) -> None:
        raise KeyboardInterrupt

    before = signal.getsignal(signal.SIGINT)
    with pytest.raises(KeyboardInterrupt):
        check_all(tasks, CheckOptions(), workers=2, tell=stop)
    # two threads wait for a child that ends: the one that comes second may see it as alive for a moment
    deadline = time.monotonic() + 10.0
    while multiprocessing.active_children() and time.monotonic() < deadline:
        time.sleep(0.05)
    assert not multiprocessing.active_children()
    assert signal.getsignal(signal.SIGINT) is before


def test_an_error_of_our_own_names_itself(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*arguments: object) -> None:
        raise ZeroDivisionError("by zero")

    monkeypatch.delenv("MILLCALC_TRACEBACK", raising=False)
    monkeypatch.setattr("millcalc.check.run.look_at", fail)
    row = check_task(Task(tmp_path / "1.nc"), CheckOptions())
    assert row.exit_code() == 3 and "ZeroDivisionError" in row.error


def test_the_guide_names_every_ending() -> None:
    guide = (Path(__file__).parents[2] / "docs" / "formats.md").read_text(encoding="utf-8")
    listed = guide[guide.index("(`.nc") + 2 :]
    assert tuple(listed[: listed.index("`")].split()) == PROGRAM_ENDINGS


def test_processes_are_made_where_they_pay(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(many, "_processors", lambda: 4)
    small = [Task(write(tmp_path / f"{number}.nc", CLEAN)) for number in range(12)]
    large = [Task(write(tmp_path / f"large {number}.nc", CLEAN * 40_000)) for number in range(2)]
    assert many._worth(small[:3]) < 2
    assert many._worth(small) == 3
    assert many._worth(large) == 4  # no more than there are processors; check_all takes one a program at most
    assert many._worth([Task(tmp_path / "gone.nc")]) == 0
