"""``millcalc check``: look a program over before it is run."""

from __future__ import annotations

import sys
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from millcalc.cli.common import Units, compile_notice

if TYPE_CHECKING:
    from rich.console import Console

    from millcalc.report.model import CheckReport
    from millcalc.report.pipeline import CheckOptions, Progress


class Floor(StrEnum):
    """Severities a finding can have."""

    stop = "stop"
    warning = "warning"
    note = "note"


def command(
    program: Annotated[Path, typer.Argument(help="Program file.")],
    job: Annotated[
        Path | None, typer.Option(help="Job file; left out, only what needs none is checked.")
    ] = None,
    floor: Annotated[Floor, typer.Option(help="Exit code 1 from this severity on.")] = Floor.warning,
    accept: Annotated[
        list[str] | None,
        typer.Option(help='A finding you accept, with the reason: "SCREW-05=measured them".'),
    ] = None,
    units: Annotated[Units | None, typer.Option(help="Units of the report; left out, the job's.")] = None,
    all_: Annotated[bool, typer.Option("--all", help="Every finding, not only the worst five.")] = False,
    no_simulation: Annotated[bool, typer.Option(help="Do not simulate the cut.")] = False,
    cell: Annotated[str | None, typer.Option(help="Cell size of the simulated cut, e.g. 0.1.")] = None,
    profile: Annotated[str | None, typer.Option(help="Dialect profile to read the program by.")] = None,
    block_delete: Annotated[bool, typer.Option(help="Skip the lines that begin with a slash.")] = False,
    json: Annotated[bool, typer.Option("--json", help="The report as JSON.")] = False,
) -> None:
    """Look a program over before the spindle starts: settings, stock, screws, machine, line by line."""
    from millcalc import units as read
    from millcalc.cli.common import quantity
    from millcalc.errors import InputError
    from millcalc.report.pipeline import CheckOptions

    compile_notice()
    quiet = {}
    for entry in accept or []:
        code, _, reason = entry.partition("=")
        if len(reason.strip()) < 3:
            raise InputError(
                repr(entry), "CODE=reason", "say why it is accepted; it is printed", field="--accept"
            )
        quiet[code.strip().upper()] = reason.strip()
    options = CheckOptions(
        units=units.value if units else None,
        quiet=quiet,
        simulate=not no_simulation,
        cell_mm=quantity(cell, "cell", read.length_mm),
        profile=profile,
        block_delete=block_delete,
    )
    if json:
        from millcalc.report.check_json import check_json

        report = _checked(program, job, options)
        typer.echo(check_json(report))
    else:
        report = report_on(program, job, options=options, full=all_)
    if report.exit_code(floor.value):
        raise typer.Exit(1)


def report_on(
    program: Path,
    job: Path | None,
    *,
    options: CheckOptions | None = None,
    console: Console | None = None,
    full: bool = False,
) -> CheckReport:
    """Check a program and print the report.

    Parameters
    ----------
    program : Path
        Program file.
    job : Path or None
        Job file.
    options : CheckOptions or None
        Options of the check.
    console : Console or None
        Where to print; None makes one.
    full : bool
        Every finding instead of the worst.

    Returns
    -------
    CheckReport
        What was found.
    """
    from millcalc.report.check_text import print_check
    from millcalc.report.console import make_console

    report = _checked(program, job, options)
    print_check(console or make_console(), report, report.shown_units, everything=full)
    return report


def _checked(program: Path, job: Path | None, options: CheckOptions | None) -> CheckReport:
    """Check with a progress bar on standard error when a person is watching."""
    from dataclasses import replace

    from millcalc.report.pipeline import CheckOptions, check_program

    options = options or CheckOptions()
    if not sys.stderr.isatty():
        return check_program(program, job, options)
    from rich.progress import BarColumn, TextColumn, TimeRemainingColumn
    from rich.progress import Progress as Bar

    from millcalc.report.console import make_console

    with Bar(
        TextColumn("{task.description}"),
        BarColumn(),
        TimeRemainingColumn(),
        console=make_console(sys.stderr),
        transient=True,
    ) as bar:
        task = bar.add_task("reading", total=1.0)

        def tell(stage: str, share: float) -> None:
            bar.update(task, description=stage[:40], completed=share)

        progress: Progress = tell
        return check_program(program, job, replace(options, progress=progress))
