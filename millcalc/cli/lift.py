"""``millcalc lift``: an air-cut copy of a program."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from millcalc.cli.common import quantity
from millcalc.cli.options import AnswerUnits, Force, Profile, ProgramFile

if TYPE_CHECKING:
    from millcalc.cli.rewriting import Page
    from millcalc.rewrite.lift import Lifted
    from millcalc.units_show import System

By = Annotated[
    str | None,
    typer.Option(help="How much higher, e.g. 20; left out, what clears the job's stock, screws and clamps."),
]
Job = Annotated[Path | None, typer.Option(help="Job file: stock, screws, clamps and travel are looked at.")]


def command(
    program: ProgramFile,
    new: Annotated[Path, typer.Option("--out", "-o", help="Where the raised copy goes.")],
    by: By = None,
    job: Job = None,
    units: AnswerUnits = None,
    profile: Profile = None,
    force: Force = False,
) -> None:
    """An air-cut copy: the same program with every height raised, to watch before anything is cut."""
    from millcalc import units as read
    from millcalc.check.prepare import CheckOptions
    from millcalc.cli.past_cuts import learner
    from millcalc.cli.rewriting import Page, make_desk
    from millcalc.cli.watched import busy
    from millcalc.rewrite.files import check_target, write_copy
    from millcalc.rewrite.lift import lift

    check_target(new, program, job, force=force)
    options = CheckOptions(profile=profile, simulate=False, learned=learner())
    desk = make_desk(program, job, options)
    system = units.value if units else desk.setup.job.units if desk.setup else "mm"
    with busy("lifting"):
        lifted = lift(desk, quantity(by, "by", read.length_mm, system))
    write_copy(new, lifted.data, program, force=force)

    _tell(Page(), new, program.name, lifted, system)


def _tell(page: Page, new: Path, name: str, lifted: Lifted, system: System) -> None:
    """What was raised by how much, what was not looked at, and what to do at the machine."""
    from millcalc.cli.rewriting import NOT_A_PROMISE
    from millcalc.rewrite.say import BEFORE_THE_LIFT, lift_lines
    from millcalc.units_show import show_length

    def mm(value: float) -> str:
        return show_length(value, system)

    heights = lifted.heights
    page.say(f"{new}: {name} raised by {mm(lifted.height_mm)}", style="bold")
    for line in lift_lines(lifted, system):
        page.say(line, indent=2)
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
    page.boxes(BEFORE_THE_LIFT)
    page.say()
    page.say(NOT_A_PROMISE, style="dim")
