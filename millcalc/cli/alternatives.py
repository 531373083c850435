"""``millcalc alternatives``: other ways to make a cut, or other bed heights, side by side."""

from __future__ import annotations

from typing import Annotated

import typer

from millcalc.cli.common import quantity
from millcalc.cli.options import (
    AnswerUnits,
    Cut,
    CutterName,
    Drop,
    MachineName,
    MaterialName,
    Stickout,
    ToolingJob,
    ToolNumber,
)
from millcalc.cli.tooling import choose_tooling


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
    proven: Annotated[bool, typer.Option("--proven/--first-cut", help="Use every limit in full.")] = False,
    job: ToolingJob = None,
    tool: ToolNumber = None,
    units: AnswerUnits = None,
) -> None:
    """Ways to make a cut side by side: time for a cubic centimetre, force, what holds, what each needs."""
    from millcalc import units as read
    from millcalc.advise.alternatives import alternatives, bed_rows
    from millcalc.advise.others import other_cutters
    from millcalc.limits.request import CutRequest
    from millcalc.report.alternatives_text import print_alternatives, print_bed
    from millcalc.report.console import make_console

    chosen = choose_tooling(
        machine, material, cutter, stickout=stickout, drop=drop, job=job, tool=tool, units=units
    )
    tooling, shown = chosen.tooling, chosen.units
    console = make_console()
    if bed or drops is not None:
        width = quantity(ae, "ae", read.length_mm, shown)
        request = CutRequest(cut.value, radial_width_mm=width, proven=proven)
        listed = None
        if drops is not None:
            listed = [
                quantity(text, "drops", read.length_mm, shown) or 0.0
                for text in drops.replace(",", " ").split()
            ]
        print_bed(console, bed_rows(tooling, request, listed, shown), shown)
        return
    total = quantity(depth, "depth", read.length_mm, shown)
    found, left_out = alternatives(
        tooling,
        CutRequest(proven=proven),
        total_depth_mm=total,
        others=other_cutters(tooling, chosen.shop),
        units=shown,
    )
    print_alternatives(console, found, left_out, shown)
