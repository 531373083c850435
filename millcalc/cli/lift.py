"""``millcalc lift``: an air-cut copy of a program."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from millcalc.cli.common import quantity
from millcalc.cli.options import AnswerUnits, Force, Profile, ProgramFile


def command(
    program: ProgramFile,
    new: Annotated[Path, typer.Option("-o", "--new", help="Where the raised copy goes.")],
    by: Annotated[
        str | None,
        typer.Option(
            help="How much higher, e.g. 20; left out, what clears the job's stock, screws and clamps."
        ),
    ] = None,
    job: Annotated[
        Path | None, typer.Option(help="Job file: stock, screws, clamps and travel are looked at.")
    ] = None,
    units: AnswerUnits = None,
    profile: Profile = None,
    force: Force = False,
) -> None:
    """An air-cut copy: the same program with every height raised, to watch before anything is cut."""
    from millcalc import units as read
    from millcalc.check.prepare import CheckOptions
    from millcalc.cli.rewriting import NOT_A_PROMISE, Page, make_desk
    from millcalc.rewrite.files import check_target, write_copy
    from millcalc.rewrite.lift import lift
    from millcalc.units_show import show_length

    check_target(new, program, job, force=force)
    options = CheckOptions(profile=profile, simulate=False)
    desk = make_desk(program, job, options)
    system = units.value if units else desk.setup.job.units if desk.setup else "mm"
    lifted = lift(desk, quantity(by, "by", read.length_mm, system))
    write_copy(new, lifted.data, program, force=force)

    def mm(value: float) -> str:
        return show_length(value, system)

    page, heights = Page(), lifted.heights
    page.say(f"{new}: {program.name} raised by {mm(lifted.height_mm)}", style="bold")
    page.say(
        f"{len(lifted.edits)} words changed in {len({e.line for e in lifted.edits})} lines; the rest is the same, "
        "byte for byte",
        indent=2,
    )
    page.say(
        f"read again and compared motion by motion: {lifted.motions} motions, the same X and Y, "
        f"every move at feed {mm(lifted.height_mm)} higher",
        indent=2,
    )
    lowest = f"lowest point Z {mm(heights.lowest_mm)}"
    if heights.obstacle_mm is not None:
        gap = heights.lowest_mm - heights.obstacle_mm
        lowest += f", {mm(gap)} above {heights.obstacle} (Z {mm(heights.obstacle_mm)})"
    page.say(lowest, indent=2)
    highest = f"highest point Z {mm(heights.highest_mm)}"
    if heights.ceiling_mm is not None:
        highest += f", {mm(heights.ceiling_mm - heights.highest_mm)} below the end of the Z axis"
    else:
        highest += ": the axis must have room up to there"
    page.say(highest, indent=2)
    for note in lifted.notes:
        page.say(note, indent=2)
    if heights.unknown:
        page.head("not looked at, because the job does not say it")
        for what in heights.unknown:
            page.say(what, indent=2)
    if heights.obstacle_mm is None and heights.lowest_mm <= 0:
        page.say(
            f"The lowest point is still Z {mm(heights.lowest_mm)}: with Z0 on the stock top it would cut.",
            indent=2,
            style="bold",
        )
    page.head("at the machine")
    page.boxes(
        [
            "Zero set as for the real run; the cutter may stay out of the collet.",
            "Hand on the stop for the whole run; watch screws, clamps, hose and the ends of the axes.",
            "Heights after G28, G30 and G53 are the machine's own and were left as they are.",
            "Take the other file for the cut: compare its name and fingerprint.",
        ]
    )
    page.say()
    page.say(NOT_A_PROMISE, style="dim")
