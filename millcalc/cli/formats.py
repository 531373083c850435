"""A check in formats for other programs: JSON, SARIF for an editor, CSV for a spreadsheet; printed or written."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from millcalc.cli.outputs import FINDINGS, PAGE, PICTURE, TABLE
from millcalc.cli.pictures import write_file
from millcalc.errors import UsageError
from millcalc.files import new_file

if TYPE_CHECKING:
    from millcalc.check.run import Looked
    from millcalc.report.check_sarif import SarifPart

KINDS = {"page": PAGE, "picture": PICTURE, "findings": FINDINGS, "table": TABLE}  # of a check


def one_printed(**wanted: bool) -> str | None:
    """The format that is printed in the place of the report.

    **wanted: Whether each is asked for, by the option's name.
    Returns: Its name; None when the report is printed.
    Raises UsageError: If two want standard output.
    """
    names = [name for name, asked in wanted.items() if asked]
    if len(names) > 1:
        options = " and ".join(f"--{name}" for name in names)
        raise UsageError(f"{options} both go to standard output; write one of them to a file with -o")
    return names[0] if names else None


def print_format(looked: Looked, name: str) -> list[str]:
    """Print a check in one of the formats.

    looked: The check.
    name: ``json``, ``sarif`` or ``csv``.
    Returns: What else there is to say, for the person.
    """
    if name == "json":
        from millcalc.cli.say import say
        from millcalc.report.check_json import check_json

        say(check_json(looked.report))
    elif name == "sarif":
        from millcalc.report.check_sarif import sarif_part, sarif_text

        sys.stdout.write(sarif_text([sarif_part(looked.report, looked.ctx.program)]))
    else:
        _, note = _table(looked, sys.stdout)
        return [f"motion table{note}"] if note else []
    return []


def write_formats(
    looked: Looked, sarif: Path | None, table: Path | None, *, force: bool = False
) -> list[str]:
    """Write one check in the formats that were asked for.

    looked: The check.
    sarif, table: Where to; None writes nothing.
    force: Whether files that are there may be replaced.
    Returns: What was written, for the person.
    """
    said = []
    if sarif is not None:
        from millcalc.report.check_sarif import sarif_part

        said.append(write_sarif([sarif_part(looked.report, looked.ctx.program)], sarif, force=force))
    if table is not None:
        with new_file(table, replace=force) as part, part.open("w", encoding="utf-8", newline="") as stream:
            count, note = _table(looked, stream)
        said.append(f"{count} motions written to {table}{note}")
    return said


def write_sarif(parts: Sequence[SarifPart], target: Path, *, force: bool = False) -> str:
    """Write a SARIF log.

    parts: One a program.
    target: Where to.
    force: Whether a file that is there may be replaced.
    Returns: What was written, for the person.
    """
    from millcalc.report.check_sarif import sarif_text

    write_file(target, sarif_text(parts).encode("ascii"), force=force)
    return f"findings written to {target} as SARIF 2.1.0"


def _table(looked: Looked, stream: TextIO) -> tuple[int, str]:
    """Write the motions to a stream; how many, and what is missing."""
    from millcalc.check.columns import motion_columns
    from millcalc.report.table_csv import write_table

    columns, total = motion_columns(looked.ctx), len(looked.ctx.program.motions)
    note = ""
    if looked.ctx.removal is None:
        note = f"; the columns of the cut are empty, because {looked.ctx.removal_missing}"
    return write_table(stream, columns, total), note
