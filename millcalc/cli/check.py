"""``millcalc check``: look a program over before it is run."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from millcalc.cli.common import accepted_findings, cell_size_mm, compile_notice
from millcalc.cli.options import (
    Accept,
    BlockDelete,
    Cell,
    Force,
    JobUnits,
    Json,
    Learn,
    NoSimulation,
    Profile,
)
from millcalc.cli.say import say

if TYPE_CHECKING:
    from rich.console import Console

    from millcalc.check.model import CheckReport
    from millcalc.check.prepare import CheckOptions
    from millcalc.check.run import Looked


class Floor(StrEnum):
    """Severities a finding can have."""

    stop = "stop"
    warning = "warning"
    note = "note"


Programs = Annotated[
    list[Path] | None,
    typer.Argument(
        help="Program files; a folder stands for the programs in it. Left out, the one the job names."
    ),
]
Job = Annotated[
    Path | None,
    typer.Option(
        help="Job file, for all programs; left out, only what needs none is checked. Of several programs "
        "each takes the job.yaml beside it that names it."
    ),
]
All = Annotated[bool, typer.Option("--all", help="Every finding, reason, check not made and caution.")]
Outputs = Annotated[
    list[Path] | None,
    typer.Option(
        "--out",
        "-o",
        help="Also write it to a file, repeatable; by its ending .html: the report as one page with pictures; "
        ".png or .svg: top view and strips; .sarif: the findings for an editor; .csv: each motion with its "
        "engagement.",
    ),
]
Sarif = Annotated[bool, typer.Option("--sarif", help="The findings as SARIF 2.1.0.")]
Csv = Annotated[bool, typer.Option("--csv", help="Each motion with its engagement as CSV.")]
Picture = Annotated[bool, typer.Option("--picture", help="Also a small picture in characters.")]
Workers = Annotated[
    int | None,
    typer.Option(min=1, help="Programs checked at once; left out, what the work is worth."),
]


def command(
    programs: Programs = None,
    job: Job = None,
    floor: Annotated[Floor, typer.Option(help="Exit code 1 from this severity on.")] = Floor.warning,
    accept: Accept = None,
    units: JobUnits = None,
    all_: All = False,
    no_simulation: NoSimulation = False,
    cell: Cell = None,
    profile: Profile = None,
    block_delete: BlockDelete = False,
    learn: Learn = True,
    json: Json = False,
    sarif: Sarif = False,
    csv: Csv = False,
    picture: Picture = False,
    out: Outputs = None,
    workers: Workers = None,
    force: Force = False,
) -> None:
    """Look a program over before the spindle starts: settings, stock, screws, machine, line by line."""
    from millcalc.check.prepare import CheckOptions
    from millcalc.cli.formats import KINDS, one_printed, print_format, write_formats
    from millcalc.cli.outputs import by_kind
    from millcalc.cli.past_cuts import learner
    from millcalc.cli.pictures import write_pictures

    programs = _programs(programs, job)
    printed = one_printed(json=json, sarif=sarif, csv=csv)
    files = by_kind(out, KINDS, (*programs, job), force=force)
    compile_notice(*programs, simulates=(job is not None or len(programs) > 1) and not no_simulation)
    options = CheckOptions(
        units.value if units else None,
        accepted_findings(accept),
        not no_simulation,
        cell_size_mm(cell),
        profile,
        block_delete,
        learned=learner(learn),
    )
    if len(programs) > 1 or programs[0].is_dir():
        from millcalc.cli.check_many import check_many, only_one

        only_one(files, picture=picture, csv=csv)
        wished = {"workers": workers, "full": all_, "printed": printed, "force": force}
        sarif_file = files.get("findings")
        raise typer.Exit(check_many(programs, job, options, floor.value, sarif=sarif_file, **wished))  # type: ignore[arg-type]
    looked = look(programs[0], job, options)
    # written first: a reader of our output who goes away takes no file along
    written = write_pictures(looked, files.get("page"), files.get("picture"), force=force)
    written += write_formats(looked, files.get("findings"), files.get("table"), force=force)
    if printed is None:
        _print(looked, full=all_, picture=picture)
    else:
        written += print_format(looked, printed)
    for line in written:
        say(line, err=printed is not None)
    if looked.report.exit_code(floor.value):
        raise typer.Exit(looked.report.exit_code(floor.value))


def _programs(programs: list[Path] | None, job: Path | None) -> list[Path]:
    """The programs asked for, or the one that the job names."""
    from millcalc.errors import InputError

    for path in programs or []:
        if path.suffix.lower() in (".yaml", ".yml"):
            raise InputError(
                "a job file in the place of a program",
                "a program, with the job after --job",
                f"millcalc check PROGRAM --job {path}, or millcalc check --job {path}",
                file=str(path),
            )
    if programs:
        return programs
    if job is None:
        raise InputError("no program", "a program file, a folder, or --job with a job that names one")
    from millcalc.job import load_job

    named = load_job(job).program
    if named is None:
        raise InputError(
            "no program",
            "the name of the program file",
            "name it here or in the job",
            file=str(job),
            field="program",
        )
    return [job.parent / named]


def report_on(
    program: Path,
    job: Path | None,
    *,
    options: CheckOptions | None = None,
    console: Console | None = None,
    full: bool = False,
) -> CheckReport:
    """Check a program and print the report.

    program: Program file.
    job: Job file.
    options: Options of the check.
    console: Where to print; None makes one.
    full: Every finding instead of the worst.
    Returns: What was found.
    """
    looked = look(program, job, options)
    _print(looked, console=console, full=full)
    return looked.report


def _print(
    looked: Looked, *, console: Console | None = None, full: bool = False, picture: bool = False
) -> None:
    from millcalc.cli.tooling import say_the_sort
    from millcalc.report.check_first_text import print_first_check
    from millcalc.report.check_text import print_check
    from millcalc.report.console import can_show_unicode, make_console

    if looked.ctx.setup is not None:
        say_the_sort(looked.ctx.setup.job.material)
    console = console or make_console()
    if picture:
        from millcalc.report import characters

        width, unicode = min(console.width, 100), can_show_unicode(console.file)
        for line in characters.picture(looked, width, unicode=unicode):
            console.print(line, soft_wrap=True, highlight=False)
        console.print()
    if full:
        print_check(console, looked.report, looked.report.shown_units)
    else:
        print_first_check(console, looked.report, looked.report.shown_units)


def look(program: Path, job: Path | None, options: CheckOptions | None = None) -> Looked:
    """Check with a progress bar on standard error when a person is watching.

    program: Program file.
    job: Job file.
    options: Options of the check.
    Returns: The report, and the context it was made from.
    """
    from millcalc.check.prepare import CheckOptions
    from millcalc.check.run import look_at
    from millcalc.cli.watched import watched

    with watched(options or CheckOptions()) as seen:
        return look_at(program, job, seen)
