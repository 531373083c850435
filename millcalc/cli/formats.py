"""Writing a check in formats for other programs: SARIF for an editor, CSV for a spreadsheet."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from millcalc.cli.pictures import check_target, write_file
from millcalc.errors import UsageError
from millcalc.files import new_file

if TYPE_CHECKING:
    from millcalc.check.run import Looked
    from millcalc.report.check_sarif import SarifPart

STANDARD_OUTPUT = Path("-")


def check_targets(
    sarif: Path | None, table: Path | None, inputs: Sequence[Path | None], *, json: bool, force: bool
) -> None:
    """See that what is asked for can be written, before the long work begins.

    sarif, table: Where to; ``-`` is standard output.
    inputs: Files of this run that are never written over.
    json: Whether standard output is taken by the report as JSON.
    force: Whether other files that are there may be replaced.
    Raises UsageError: If two things want standard output.
    Raises InputError: If a file may not be written.
    """
    wanting = [name for name, path in (("--sarif -", sarif), ("--table -", table)) if path == STANDARD_OUTPUT]
    if json:
        wanting.append("--json")
    if len(wanting) > 1:
        raise UsageError(f"{' and '.join(wanting)} both go to standard output; write one of them to a file")
    if sarif != STANDARD_OUTPUT:
        check_target(sarif, (".sarif", ".json"), "--sarif", inputs, force=force)
    if table != STANDARD_OUTPUT:
        check_target(table, (".csv",), "--table", inputs, force=force)


def printed_alone(sarif: Path | None, table: Path | None = None) -> bool:
    """Whether standard output belongs to one of the formats, so that nothing else may be printed there.

    sarif, table: Where to; ``-`` is standard output.
    Returns: True then.
    """
    return STANDARD_OUTPUT in (sarif, table)


def write_formats(
    looked: Looked, sarif: Path | None, table: Path | None, *, force: bool = False
) -> list[str]:
    """Write one check in the formats that were asked for.

    looked: The check.
    sarif, table: Where to; ``-`` is standard output, None writes nothing.
    force: Whether files that are there may be replaced.
    Returns: What was written, for the person.
    """
    said = []
    if sarif is not None:
        from millcalc.report.check_sarif import sarif_part

        said += write_sarif([sarif_part(looked.report, looked.ctx.program)], sarif, force=force)
    if table is not None:
        said += _write_table(looked, table, force)
    return said


def write_sarif(parts: Sequence[SarifPart], target: Path, *, force: bool = False) -> list[str]:
    """Write a SARIF log.

    parts: One a program.
    target: Where to; ``-`` is standard output.
    force: Whether a file that is there may be replaced.
    Returns: What was written, for the person.
    """
    from millcalc.report.check_sarif import sarif_text

    text = sarif_text(parts)
    if target == STANDARD_OUTPUT:
        sys.stdout.write(text)
        return []
    write_file(target, text.encode("ascii"), force=force)
    return [f"findings written to {target} as SARIF 2.1.0"]


def _write_table(looked: Looked, target: Path, force: bool) -> list[str]:
    from millcalc.check.columns import motion_columns
    from millcalc.report.table_csv import write_table

    columns, total = motion_columns(looked.ctx), len(looked.ctx.program.motions)
    note = ""
    if looked.ctx.removal is None:
        note = f"; the columns of the cut are empty, because {looked.ctx.removal_missing}"
    if target == STANDARD_OUTPUT:
        write_table(sys.stdout, columns, total)
        return [f"motion table{note}"] if note else []
    with new_file(target, replace=force) as part, part.open("w", encoding="utf-8", newline="") as stream:
        count = write_table(stream, columns, total)
    return [f"{count} motions written to {target}{note}"]
