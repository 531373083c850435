"""``millcalc alternatives``: other ways to make a cut, or other bed heights, side by side."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from millcalc.cli.common import Units, quantity
from millcalc.cli.settings import Cut, pick_tooling


def command(
    machine: Annotated[str | None, typer.Option(help="Machine; left out, the one in shop.yaml.")] = None,
    material: Annotated[str | None, typer.Option(help="Work material.")] = None,
    cutter: Annotated[str | None, typer.Option(help="Cutter.")] = None,
    cut: Annotated[Cut, typer.Option(help="Kind of cut for --bed.")] = Cut.slot,
    ae: Annotated[str | None, typer.Option(help="Radial width for --bed.")] = None,
    depth: Annotated[str | None, typer.Option(help="Depth to get to in the end.")] = None,
    stickout: Annotated[str | None, typer.Option(help="From collet face to tip.")] = None,
    drop: Annotated[str | None, typer.Option(help="From the Z carriage's lowest bearing to the tip.")] = None,
    bed: Annotated[bool, typer.Option("--bed", help="Compare bed heights instead of ways to cut.")] = False,
    drops: Annotated[str | None, typer.Option(help='Drops for --bed, e.g. "120 90 60".')] = None,
    proven: Annotated[bool, typer.Option("--proven/--first-cut", help="Use every limit in full.")] = False,
    job: Annotated[
        Path | None, typer.Option(help="Take machine, material and cutter from a job file.")
    ] = None,
    tool: Annotated[int | None, typer.Option(help="Tool number of the job file.")] = None,
    units: Annotated[Units | None, typer.Option(help="Units of bare numbers and of the answer.")] = None,
) -> None:
    """Ways to make a cut side by side: time for a cubic centimetre, force, what holds, what each needs."""
    from millcalc import units as read
    from millcalc.advise.alternatives import alternatives, bed_rows
    from millcalc.advise.others import other_cutters
    from millcalc.limits.request import CutRequest
    from millcalc.report.alternatives_text import print_alternatives, print_bed
    from millcalc.report.console import make_console
    from millcalc.tables import load_shop

    shop = load_shop()
    shown = (units or Units(shop.units if shop else "mm")).value
    chosen = {"machine": machine, "material": material, "cutter": cutter, "stickout": stickout, "drop": drop}
    tooling = pick_tooling(chosen, shown, shop, job, tool)
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
        print_bed(console, bed_rows(tooling, request, listed, shown), shown)  # type: ignore[arg-type]
        return
    total = quantity(depth, "depth", read.length_mm, shown)
    found, left_out = alternatives(
        tooling,
        CutRequest(proven=proven),
        total_depth_mm=total,
        others=other_cutters(tooling, shop),
        units=shown,  # type: ignore[arg-type]
    )
    print_alternatives(console, found, left_out, shown)  # type: ignore[arg-type]
