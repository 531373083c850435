"""``millcalc alternatives``: other ways to make a cut, or other bed heights, side by side."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from millcalc.cli.common import quantity
from millcalc.cli.options import (
    AnswerUnits,
    Cut,
    CutterName,
    Drop,
    Force,
    Learn,
    MachineName,
    MaterialName,
    Outputs,
    Proven,
    Stickout,
    ToolingJob,
    ToolNumber,
)
from millcalc.cli.tooling import choose_tooling

if TYPE_CHECKING:
    from millcalc.advise.alternatives import Alternative
    from millcalc.limits.tooling import Tooling
    from millcalc.units_show import System


def command(
    machine: MachineName = None,
    material: MaterialName = None,
    cutter: CutterName = None,
    cut: Annotated[Cut, typer.Option(help="Kind of cut for --bed.")] = Cut.slot,
    ae: Annotated[str | None, typer.Option(help="Radial width for --bed.")] = None,
    depth: Annotated[str | None, typer.Option(help="Depth to get to in the end.")] = None,
    stickout: Stickout = None,
    drop: Drop = None,
    bed: Annotated[bool, typer.Option("--bed", help="Compare bed heights instead of ways to cut.")] = False,
    drops: Annotated[str | None, typer.Option(help='Drops for --bed, e.g. "120 90 60".')] = None,
    proven: Proven = None,
    job: ToolingJob = None,
    tool: ToolNumber = None,
    learn: Learn = True,
    units: AnswerUnits = None,
    out: Outputs = None,
    force: Force = False,
) -> None:
    """Ways to make a cut side by side: time for a cubic centimetre, force, what holds, what each needs."""
    from millcalc import units as read
    from millcalc.advise.alternatives import alternatives, bed_rows
    from millcalc.advise.others import other_cutters
    from millcalc.cli.past_cuts import with_learned
    from millcalc.limits.request import CutRequest
    from millcalc.report.alternatives_text import print_alternatives, print_bed
    from millcalc.report.console import make_console

    html = _page_file(out, bed or drops is not None, job, force)
    chosen = choose_tooling(
        machine, material, cutter, stickout=stickout, drop=drop, job=job, tool=tool, units=units
    )
    tooling, shown, whole = chosen.tooling, chosen.units, chosen.proven(proven)
    if learn:
        tooling = with_learned(tooling, cut.value if bed or drops else None, trusted=True)
    console = make_console()
    if bed or drops is not None:
        width = quantity(ae, "ae", read.length_mm, shown)
        request = CutRequest(cut.value, radial_width_mm=width, proven=whole)
        words = None if drops is None else drops.replace(",", " ").split()
        listed = [quantity(text, "drops", read.length_mm, shown) or 0.0 for text in words] if words else None
        print_bed(console, bed_rows(tooling, request, listed, shown), shown)
        return
    total = quantity(depth, "depth", read.length_mm, shown)
    found, left_out = alternatives(
        tooling,
        CutRequest(proven=whole),
        total_depth_mm=total,
        others=other_cutters(tooling, chosen.shop),
        units=shown,
    )
    print_alternatives(console, found, left_out, shown)
    if html is not None:
        _page(html, tooling, found, left_out, shown, force)


def _page(
    html: Path,
    tooling: Tooling,
    found: tuple[Alternative, ...],
    left_out: tuple[str, ...],
    units: System,
    force: bool,
) -> None:
    """Write the ways as a page with their bars."""
    from millcalc.cli.pictures import write_answer
    from millcalc.report.alternatives_text import count_words, print_alternatives
    from millcalc.report.figures import alternatives_figure

    title = f"Ways to cut: {tooling.cutter.title} in {tooling.material.title}"
    write_answer(
        html, title, (count_words(found), "note"), [alternatives_figure(found, units)],
        lambda to: print_alternatives(to, found, left_out, units), units, force=force,
    )  # fmt: skip


def _page_file(out: list[Path] | None, bed: bool, job: Path | None, force: bool) -> Path | None:
    """See early that the page can be made and written; bed heights have no picture."""
    from millcalc.cli.outputs import PAGE, by_kind
    from millcalc.errors import UsageError

    html = by_kind(out, {"page": PAGE}, (job,), force=force).get("page")
    if html is not None and bed:
        raise UsageError("-o shows ways to cut; leave it out with --bed and --drops")
    return html
