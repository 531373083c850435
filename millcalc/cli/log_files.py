"""The commands about files: export, import, verify, where."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

import typer

from millcalc.cli.log_options import Fields, LogFile, open_log, query_of, read_log
from millcalc.cli.options import CutterName, FileUnits, Force, MachineName, MaterialName, Target
from millcalc.cli.say import say, tell


class Format(StrEnum):
    """Files an export can be."""

    csv = "csv"
    json = "json"
    parquet = "parquet"


def export(
    out: Target,
    form: Annotated[
        Format | None, typer.Option("--format", help="Left out, by the ending of the name.")
    ] = None,
    machine: MachineName = None,
    material: MaterialName = None,
    cutter: CutterName = None,
    force: Force = False,
    units: FileUnits = None,
    log: LogFile = None,
) -> None:
    """Write entries to CSV, JSON or Parquet."""
    from millcalc.cli.watched import busy
    from millcalc.cutlog.export import export_log

    chosen = form.value if form else out.suffix.lower().lstrip(".")
    with read_log(log) as opened:
        with busy("exporting"):
            number = export_log(
                opened,
                out,
                query_of(machine, material, cutter),
                chosen,
                force=force,
                units=units.value if units else "mm",
            )
        tell(f"{number} entries written to {out}")


def import_file(
    source: Annotated[Path, typer.Argument(help="CSV, or JSON from an export.")],
    columns: Annotated[
        list[str] | None,
        typer.Option(
            "--map", help='COLUMN=FIELD or COLUMN=FIELD:UNIT, e.g. --map "Depth=axial_depth_mm:in".'
        ),
    ] = None,
    fields: Fields = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Only say what would be added.")] = False,
    skip_bad: Annotated[
        bool, typer.Option("--skip-bad", help="Add the good rows even if some are bad.")
    ] = False,
    log: LogFile = None,
) -> None:
    """Add entries from a file; the same file twice adds nothing twice."""
    from millcalc.cli.log_fields import split_fields
    from millcalc.cli.watched import busy
    from millcalc.cutlog.importing import import_entries, parse_mapping, read_entries
    from millcalc.errors import ManyErrors

    with busy("reading"):
        reading = read_entries(source, parse_mapping(columns or []), split_fields(fields or []))
    for name in reading.ignored:
        tell(f"column {name!r} is not mapped and was left out")
    if reading.errors and not skip_bad and not dry_run:
        raise ManyErrors(reading.errors)
    for error in reading.errors:
        say(f"left out: {error}", err=True)
    with open_log(log, write=not dry_run) if not dry_run or _exists(log) else _nothing() as opened:
        if opened is None:
            say(f"{len(reading.entries)} entries would be added to a new log")
        else:
            with busy("adding"):
                done = import_entries(opened, reading.entries, dry_run=dry_run)
            word = "would be added" if dry_run else "added"
            say(f"{done.added} entries {word}, {done.known} known already, {len(reading.errors)} bad")
    if reading.errors and dry_run:
        raise typer.Exit(1)


def _exists(path: Path | None) -> bool:
    from millcalc.cutlog.where import log_path

    return log_path(path, Path.cwd()).exists()


def _nothing() -> Any:
    from contextlib import nullcontext

    return nullcontext(None)


def verify(log: LogFile = None) -> None:
    """Check the log's file, its links and every entry."""
    from millcalc.cli.watched import busy
    from millcalc.cutlog.verify import verify_log
    from millcalc.report.console import make_console
    from millcalc.report.log_text import print_verdict

    with open_log(log) as opened:
        with busy("verifying"):
            verdict = verify_log(opened)
        print_verdict(make_console(), verdict, str(opened.path))
    if any(text.startswith(("file", "table")) for text in verdict.problems):
        from millcalc.cutlog.ways_out import way_out

        tell(f"the file itself is damaged, and nothing will be written into it; {way_out(opened.path)}")
    if verdict.problems:
        raise typer.Exit(1)


def where(log: LogFile = None) -> None:
    """The file the log is kept in."""
    from millcalc.cutlog.where import log_path

    path = log_path(log, Path.cwd())
    say(f"{path}{'' if path.exists() else '  (not there yet)'}")
