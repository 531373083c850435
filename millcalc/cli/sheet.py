"""``millcalc sheet``: one printed page to take to the machine."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from millcalc.cli.common import accepted_findings, compile_notice
from millcalc.cli.options import Accept, Force, JobOfProgram, JobOrProgram, JobUnits
from millcalc.cli.say import tell


def command(
    source: JobOrProgram,
    job: JobOfProgram = None,
    out: Annotated[
        list[Path] | None,
        typer.Option("--out", "-o", help="Page to write; left out, PROGRAM.sheet.html in this folder."),
    ] = None,
    accept: Accept = None,
    units: JobUnits = None,
    force: Force = False,
) -> None:
    """One page in black and white for the machine: zero, screws, cutters, settings, times, checklist."""
    from millcalc.check.prepare import CheckOptions
    from millcalc.cli.check import look
    from millcalc.cli.outputs import PAGE, by_kind
    from millcalc.cli.past_cuts import learner
    from millcalc.cli.pictures import write_file
    from millcalc.report.sheet import sheet_page

    program, job = find_files(source, job)
    asked = out or [Path(program.name).with_suffix(".sheet.html")]
    target = by_kind(asked, {"page": PAGE}, (program, job), force=force)["page"]
    compile_notice(program, simulates=True)
    options = CheckOptions(
        units=units.value if units else None, quiet=accepted_findings(accept), learned=learner()
    )
    looked = look(program, job, options)
    page = sheet_page(looked, job_name=job.name if job else "")
    write_file(target, page.encode("utf-8"), force=force)
    tell(
        f"sheet written to {target}: open it in a browser and print it at 100 %, on A4 or Letter",
        [str(target)],
    )
    tell(f"{looked.report.program.name}: {looked.report.verdict()}")
    if looked.report.exit_code("stop"):
        raise typer.Exit(1)


def find_files(source: Path, job: Path | None) -> tuple[Path, Path | None]:
    """The program and the job that are meant.

    source: A program, or a job file (``.yaml``, ``.yml``) that names its program.
    job: Job file.
    Returns: Program and job.
    Raises InputError: If a job file is given that names no program.
    """
    from millcalc.errors import InputError
    from millcalc.job import load_job

    if source.suffix.lower() not in (".yaml", ".yml"):
        return source, job
    if job is not None:
        raise InputError(
            f"two job files, {source} and {job}", "a program and --job, or one job file", field="--job"
        )
    named = load_job(source).program
    if named is None:
        raise InputError(
            "a job that names no program",
            "`program: FILE` in it, or the program and --job",
            f"millcalc sheet PROGRAM --job {source}",
            file=str(source),
            field="program",
        )
    return source.parent / named, source
