"""``millcalc check`` of several programs and folders."""

from __future__ import annotations

import sys
import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from millcalc.cli.say import say
from millcalc.errors import UsageError

if TYPE_CHECKING:
    from rich.console import Console

    from millcalc.check.many import Face, Row, Task
    from millcalc.check.model import Word
    from millcalc.check.prepare import CheckOptions


def only_one(files: Mapping[str, Path], **options: bool) -> None:
    """Refuse what belongs to one program.

    files: What is to be written, by kind.
    **options: Options by name, and whether they are given.
    Raises UsageError: If one is given.
    """
    given = [f"-o {path}" for kind, path in files.items() if kind != "findings"]
    given += [f"--{name}" for name, asked in options.items() if asked]
    if given:
        raise UsageError(f"{' and '.join(given)} shows one program; name one file, not several or a folder")


def check_many(
    named: Sequence[Path],
    job: Path | None,
    options: CheckOptions,
    floor: Word,
    *,
    workers: int | None = None,
    full: bool = False,
    printed: str | None = None,
    sarif: Path | None = None,
    force: bool = False,
) -> int:
    """Check several programs and print one table.

    named: Files and folders.
    job: The job of all; None takes the one beside each program that names it.
    options: Options of every check.
    floor: Lowest severity that counts for the exit code.
    workers: Programs checked at once; None takes one for each processor [-].
    full: Whether each report is printed before the table.
    printed: ``json`` or ``sarif`` to print the reports so instead; None prints the table.
    sarif: Where a SARIF log of all goes; None writes none.
    force: Whether a SARIF log that is there may be replaced.
    Returns: The worst exit code of any program [-].
    """
    from millcalc.check.many import Task, find_job, find_programs
    from millcalc.cli.formats import write_sarif
    from millcalc.files import refuse_target
    from millcalc.report.check_sarif import SarifFace, sarif_text
    from millcalc.report.console import make_console
    from millcalc.report.many_text import many_json, print_many

    begun = time.perf_counter()
    found = find_programs(named)
    if job is not None:
        _readable(job)
    tasks = [Task(program, job) if job is not None else find_job(program) for program in found.programs]
    if sarif is not None:
        read = [path for task in tasks for path in (task.program, task.job)]
        refuse_target(sarif, replace=force, inputs=read, field="-o")
    rows = _watched(tasks, options, workers, SarifFace() if sarif is not None or printed == "sarif" else None)
    logs = [row.part for row in rows if row.part]
    written = [] if sarif is None else [write_sarif(logs, sarif, force=force)]
    if printed == "json":
        say(many_json(rows), nl=False)
    elif printed == "sarif":
        sys.stdout.write(sarif_text(logs))
    else:
        console = make_console()
        _print_reports(console, rows if full else ())
        print_many(console, rows, found, time.perf_counter() - begun)
    for row in rows:
        if row.report is None:
            say(f"millcalc: {row.error}", err=True)
    for line in written:
        say(line, err=printed is not None)
    return max(row.exit_code(floor) for row in rows)


def _print_reports(console: Console, rows: Sequence[Row]) -> None:
    """Each report whole, before the table."""
    from millcalc.report.check_text import print_check

    for row in rows:
        if row.report is not None:
            print_check(console, row.report, row.report.shown_units)
            console.rule(characters="-")


def _readable(job: Path) -> None:
    """A job for all that cannot be used is told once, not for every program."""
    from millcalc.job import build_setup, load_job
    from millcalc.tables import load_shop

    build_setup(load_job(job), job, load_shop())


def _watched(
    tasks: Sequence[Task], options: CheckOptions, workers: int | None, face: Face | None
) -> list[Row]:
    """Check them, with a bar on standard error when a person is watching."""
    from millcalc.check.many import check_all

    if not sys.stderr.isatty():
        return check_all(tasks, options, workers=workers, face=face)
    from rich.progress import MofNCompleteColumn

    from millcalc.cli.watched import make_bar

    with make_bar(MofNCompleteColumn()) as bar:
        shown = bar.add_task("checking", total=len(tasks))

        def tell(row: Row, done: int, total: int) -> None:
            bar.update(shown, completed=done, total=total, description=Path(row.program).name[:40])

        return check_all(tasks, options, workers=workers, face=face, tell=tell)
