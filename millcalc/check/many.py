"""Several programs and folders: which files are programs, which job belongs to each, all of them checked at once."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any, Protocol

from millcalc.check import run
from millcalc.check.model import CheckReport, Word
from millcalc.check.prepare import CheckOptions
from millcalc.check.run import Looked
from millcalc.check.tuning import (
    MOST_PROGRAMS,
    PROGRAM_ENDINGS,
    SMALL_PROGRAM_BYTES,
    SMALL_PROGRAMS_A_PROCESS,
)
from millcalc.errors import InputError, MillcalcError

MOST_WORKERS = 61  # what Windows can wait for at once
PATIENCE_S = 5.0  # s; a process that is told to end has this long
Told = Callable[["Row", int, int], None]


@dataclass(frozen=True)
class Found:
    """Programs that were named, or lie in a folder that was.

    programs: In the order they were named, each folder's by name.
    passed_over: Files in the folders that do not end as a program does [-].
    unreadable: Folders inside them that could not be looked into.
    """

    programs: tuple[Path, ...]
    passed_over: int = 0
    unreadable: tuple[str, ...] = ()


@dataclass(frozen=True)
class Task:
    """A program to check.

    program: The file.
    job: Its job.
    trouble: Why its job cannot be told; empty when it can.
    """

    program: Path
    job: Path | None = None
    trouble: str = ""


class Face(Protocol):
    """Makes one program's part of an output that tells of several; must be fit to send to another process."""

    def of(self, looked: Looked) -> Any:
        """The part of a program that was checked."""

    def failed(self, name: str, reason: str) -> Any:
        """The part of a program that could not be checked."""


@dataclass(frozen=True)
class Row:
    """What came of one program.

    program, job: The files.
    report: What was found; None when it could not be checked.
    error: Why it could not be checked; empty when it was.
    failed_code: Exit code of the error; 0 without one [-].
    seconds: How long the check took [s].
    part: What a face makes of it, where one is wanted.
    """

    program: str
    job: str | None
    report: CheckReport | None = None
    error: str = ""
    failed_code: int = 0
    seconds: float = 0.0
    part: Any = field(default=None, repr=False)

    def exit_code(self, floor: Word = "warning") -> int:
        """Exit code of this program alone.

        floor: Lowest severity that counts.
        Returns: 0 nothing from the floor on, 1 findings, 2 unusable input, 3 an error of millcalc [-].
        """
        return self.failed_code if self.report is None else self.report.exit_code(floor)


def find_programs(named: Sequence[Path]) -> Found:
    """Programs among files and folders; folders inside folders are looked into, hidden ones are not.

    named: Files and folders; a file that is named counts as a program whatever it ends in.
    Returns: Each program once.
    Raises InputError: If a folder holds no program, cannot be read, or there are too many.
    """
    programs: dict[Path, Path] = {}
    passed_over = 0
    unreadable: list[str] = []
    for path in named:
        if not path.is_dir():
            programs.setdefault(path.resolve(), path)
            continue
        before, others = len(programs), 0
        for file in _files(path, unreadable):
            if file.suffix.lower() in PROGRAM_ENDINGS:
                programs.setdefault(file.resolve(), file)
            else:
                others += 1
            if len(programs) > MOST_PROGRAMS:
                raise InputError(
                    f"more than {MOST_PROGRAMS} programs",
                    "a folder of programs",
                    "name a smaller folder",
                    file=str(path),
                )
        if len(programs) == before and not any(p.is_relative_to(path.resolve()) for p in programs):
            raise InputError(
                f"no program in this folder ({others} other file{'s' if others != 1 else ''})",
                "files ending in " + " ".join(PROGRAM_ENDINGS),
                "name the files themselves when they end otherwise",
                file=str(path),
            )
        passed_over += others
    return Found(tuple(programs.values()), passed_over, tuple(unreadable))


def _files(folder: Path, unreadable: list[str]) -> Iterator[Path]:
    """Files below a folder, sorted, without following links to folders."""
    for place, folders, files in os.walk(folder, onerror=lambda e: unreadable.append(str(e.filename))):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in sorted(files):
            if not name.startswith("."):
                yield Path(place) / name


def find_job(program: Path) -> Task:
    """The job that lies beside a program and names it.

    program: The program.
    Returns: With the job file; without one when none beside it names it.

    Note: Looked at are ``NAME.job.yaml``, ``NAME.yaml`` (for a program ``NAME.nc``) and ``job.yaml``.  A
      job counts when its field ``program`` names the program.  A job file of that name that cannot be read
      is an error of the program, not a job that is missing.
    """
    for name in (f"{program.stem}.job.yaml", f"{program.stem}.yaml", "job.yaml"):
        path = program.parent / name
        if not path.is_file():
            continue
        try:
            wanted = _named_program(path)
        except InputError as error:
            return Task(program, None, str(error))
        if wanted is not None and _same_file(path.parent / wanted, program):
            return Task(program, path)
    return Task(program)


def _named_program(path: Path) -> str | None:
    """Only the field ``program``: a job with another mistake is told about when it is used, not here."""
    from millcalc.errors import JobError
    from millcalc.tables.yaml_lines import load_marked

    data, _ = load_marked(path, JobError)
    found = data.get("program") if isinstance(data, dict) else None
    return found if isinstance(found, str) else None


def _same_file(one: Path, two: Path) -> bool:
    try:
        return one.samefile(two)
    except OSError:
        return one.absolute() == two.absolute()


def check_task(task: Task, options: CheckOptions, face: Face | None = None) -> Row:
    """Check one program; whatever goes wrong becomes part of the row.

    task: Program and job.
    options: Options.
    face: What its part of a common output is made with.
    Returns: What came of it.
    """
    begun = time.perf_counter()
    name, job = str(task.program), None if task.job is None else str(task.job)

    def failed(text: str, code: int) -> Row:
        part = face.failed(name, text) if face else None
        return Row(name, job, None, text, code, time.perf_counter() - begun, part)

    if task.trouble:
        return failed(task.trouble, 2)
    try:
        looked = run.look_at(task.program, task.job, options)
        part = face.of(looked) if face else None
        return Row(name, job, looked.report, "", 0, time.perf_counter() - begun, part)
    except MillcalcError as error:
        return failed(str(error), error.exit_code)
    except OSError as error:
        return failed(f"{error.filename or name}: {error.strerror or error}", 2)
    except MemoryError:
        return failed("not enough memory; check it alone, or with a coarser --cell", 2)
    except Exception as error:
        if os.environ.get("MILLCALC_TRACEBACK"):
            raise
        text = f"an error of millcalc itself, please report it: {type(error).__name__}: {error}"
        return failed(text, 3)


def check_all(
    tasks: Sequence[Task],
    options: CheckOptions,
    *,
    workers: int | None = None,
    face: Face | None = None,
    tell: Told | None = None,
) -> list[Row]:
    """Check several programs at once, each in a process of its own.

    tasks: Programs with their jobs.
    options: Options of every check; its progress is not used.
    workers: Processes; None takes what the work is worth, at most one for each processor; 1 makes no
      process [-].
    face: What the parts of a common output are made with; another process is given a copy.
    tell: Called with each row when it is done, the number done, and the number of all.
    Returns: In the order of the tasks.
    Raises KeyboardInterrupt: If the person stops it; the processes have ended then.
    """
    options = replace(options, progress=None, quiet=dict(options.quiet))
    count = max(1, min(workers or _worth(tasks), len(tasks), MOST_WORKERS))
    rows: dict[int, Row] = {}

    def done(index: int, row: Row) -> None:
        rows[index] = row
        if tell:
            tell(row, len(rows), len(tasks))

    if count == 1:
        for index, task in enumerate(tasks):
            done(index, check_task(task, options, face))
        return [rows[index] for index in range(len(tasks))]
    context = multiprocessing.get_context("spawn")
    before = set(multiprocessing.active_children())
    with ProcessPoolExecutor(count, mp_context=context, initializer=_ignore_interrupt) as pool:
        try:
            with _uninterrupted():  # the processes start here, and inherit that they do not hear Ctrl-C
                futures: dict[Future[Row], int] = {
                    pool.submit(check_task, task, options, face): index for index, task in enumerate(tasks)
                }
            for future in as_completed(futures):
                index = futures[future]
                done(index, _result(future, tasks[index], face))
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            _end(set(multiprocessing.active_children()) - before)
            raise
    return [rows[index] for index in range(len(tasks))]


def _result(future: Future[Row], task: Task, face: Face | None) -> Row:
    try:
        return future.result()
    except BrokenProcessPool:
        text = "a process ended by itself before this was checked (out of memory?); try --workers 1"
        part = face.failed(str(task.program), text) if face else None
        return Row(str(task.program), None if task.job is None else str(task.job), None, text, 3, 0.0, part)


def _end(children: set[BaseProcess]) -> None:
    """End our own processes, and wait until they have."""
    for child in children:
        child.terminate()
    for child in children:
        child.join(PATIENCE_S)
        if child.is_alive():
            child.kill()
            child.join(PATIENCE_S)


def _worth(tasks: Sequence[Task]) -> int:
    """How many processes pay: a new one needs as long to begin as several small programs take."""
    work = 0.0
    for task in tasks:
        try:
            work += max(1.0, task.program.stat().st_size / SMALL_PROGRAM_BYTES)
        except OSError:
            work += 0.0  # told when it is its turn
    return min(_processors(), int(work / SMALL_PROGRAMS_A_PROCESS))


def _processors() -> int:
    affinity = getattr(os, "sched_getaffinity", None)
    return len(affinity(0)) if affinity else os.cpu_count() or 1


def _ignore_interrupt() -> None:
    """Ctrl-C goes to every process of the terminal; only the first one answers it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


@contextmanager
def _uninterrupted() -> Iterator[None]:
    if threading.current_thread() is not threading.main_thread():
        yield  # signals belong to the main thread
        return
    kept = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, kept)
