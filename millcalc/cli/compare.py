"""``millcalc compare``: two programs, or two versions of one, side by side."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from millcalc.cli.common import cell_size_mm, compile_notice, quantity
from millcalc.cli.options import Cell, Force, JobUnits, Json, NoSimulation, Outputs, Profile, Units
from millcalc.cli.say import say
from millcalc.gcode.tuning import COMPARE_SAME_MM

if TYPE_CHECKING:
    from millcalc.check.compare import Compared


def command(
    a: Annotated[Path, typer.Argument(help="One program.", metavar="A")],
    b: Annotated[Path, typer.Argument(help="The other, or a later version of it.", metavar="B")],
    job: Annotated[
        Path | None, typer.Option(help="Job file of both: also time, removed volume and findings.")
    ] = None,
    tolerance: Annotated[
        str | None, typer.Option(help="Points closer than this are the same, e.g. 0.01; left out, 0.001 mm.")
    ] = None,
    units: JobUnits = None,
    all_: Annotated[bool, typer.Option("--all", help="Every place that differs.")] = False,
    no_simulation: NoSimulation = False,
    cell: Cell = None,
    profile: Profile = None,
    json: Json = False,
    out: Outputs = None,
    force: Force = False,
) -> None:
    """Compare two programs by what they do: extents, time, tools, feeds, removed volume, motion by motion.

    Exit code 0: both do the same; 1: they differ.
    """
    from millcalc import units as read
    from millcalc.check.compare import compare_files
    from millcalc.check.prepare import CheckOptions
    from millcalc.cli.outputs import PAGE, by_kind
    from millcalc.cli.past_cuts import learner
    from millcalc.cli.watched import watched
    from millcalc.errors import InputError
    from millcalc.report.compare_json import compared_data

    html = by_kind(out, {"page": PAGE}, (a, b, job), force=force).get("page")
    within = quantity(tolerance, "tolerance", read.length_mm, (units or Units.mm).value)
    if within is not None and not 1e-6 <= within <= 10.0:
        raise InputError(repr(tolerance), "0.000001 mm to 10 mm", field="--tolerance")
    options = CheckOptions(
        units=units.value if units else None,
        simulate=not no_simulation,
        cell_mm=cell_size_mm(cell),
        profile=profile,
        learned=learner(),
    )
    compile_notice(a, b, simulates=job is not None and not no_simulation)
    with watched(options) as seen:
        compared = compare_files(a, b, job, seen, within or COMPARE_SAME_MM)
    if json:
        import json as json_module

        say(json_module.dumps(compared_data(compared), indent=2, ensure_ascii=True, allow_nan=False))
    else:
        from millcalc.report.compare_programs_text import print_compared
        from millcalc.report.console import make_console

        print_compared(make_console(), compared, compared.a.report.shown_units, everything=all_)
    if html is not None:
        _page(html, compared, all_, force, quiet=json)
    if not compared.same:
        raise typer.Exit(1)


def _page(html: Path, compared: Compared, everything: bool, force: bool, *, quiet: bool) -> None:
    """Write the comparison as a page with both paths."""
    from millcalc.cli.pictures import write_answer
    from millcalc.report.compare_programs_text import print_compared, short_verdict
    from millcalc.report.figures import compare_figure

    units = compared.a.report.shown_units
    names = " and ".join(Path(one.report.program.name).name for one in (compared.a, compared.b))
    write_answer(
        html, names, short_verdict(compared), [compare_figure(compared, units)],
        lambda to: print_compared(to, compared, units, everything=everything), units, force=force, quiet=quiet,
    )  # fmt: skip
