"""Further orders of the process that reads a stranger's program: two programs compared, the table of its motions."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from millcalc.files import new_file, write_text
from millcalc.page.orders import Facts, heard, paths


def compare(order: Facts, out: Path, tell: Callable[[str, float], None]) -> Facts:
    """Compare a program with another version of it, and write the comparison as a document.

    order: As for every order; ``other`` is the other program.
    out: Where to write.
    tell: Told how far it is.
    Returns: Whether both do the same.
    """
    from millcalc.check.compare import compare_files
    from millcalc.gcode.tuning import COMPARE_SAME_MM
    from millcalc.report.answer_page import answer_page
    from millcalc.report.compare_programs_text import print_compared, short_verdict
    from millcalc.report.figures import compare_figure

    (one, job), other = paths(order), Path(order["other"])
    found = compare_files(one, other, job, heard(order, tell), COMPARE_SAME_MM)
    tell("drawing", 0.0)
    units, figure = found.a.report.shown_units, compare_figure(found, found.a.report.shown_units)
    page = answer_page(
        f"A: {one.name} and B: {other.name}",
        *short_verdict(found),
        (figure,) if figure is not None else (),
        lambda to: print_compared(to, found, units, everything=True),
        units,
    )
    write_text(out / "compared.html", page, replace=True)
    return {"same": found.same}


def table(order: Facts, out: Path, tell: Callable[[str, float], None]) -> Facts:
    """Write every motion with its engagement as CSV.

    order: As for every order; ``stamp`` tells which program and job it is of.
    out: Where to write.
    tell: Told how far it is.
    Returns: How many motions there are.
    """
    from millcalc.check.columns import motion_columns
    from millcalc.check.run import look_at
    from millcalc.report.table_csv import write_table

    program, job = paths(order)
    looked = look_at(program, job, heard(order, tell))
    tell("writing the table", 0.0)
    count = len(looked.ctx.program.motions)
    with (
        new_file(out / "motions.csv", replace=True) as part,
        part.open("w", encoding="utf-8", newline="") as stream,
    ):
        write_table(stream, motion_columns(looked.ctx), count)
    write_text(out / "motions.json", json.dumps({"stamp": order["stamp"]}), replace=True)
    return {"motions": count}
