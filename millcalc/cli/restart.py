"""``millcalc restart``: the state at a line, where to begin again, and a program that does."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from millcalc.cli.common import accepted_findings
from millcalc.cli.options import Accept, Force, JobUnits, Profile, ProgramFile

if TYPE_CHECKING:
    from millcalc.cli.rewriting import Page
    from millcalc.rewrite.desk import Desk
    from millcalc.rewrite.restart import Survey
    from millcalc.rewrite.state import Point, StateAt
    from millcalc.units_show import System

MOST_POINTS = 30


def command(
    program: ProgramFile,
    line: Annotated[
        int | None,
        typer.Option(min=1, help="Line that was being carried out; left out, the places are listed."),
    ] = None,
    new: Annotated[Path | None, typer.Option("--out", "-o", help="Where the re-entry program goes.")] = None,
    job: Annotated[Path | None, typer.Option(help="Job file: the re-entry is checked in its stock.")] = None,
    accept: Accept = None,
    profile: Profile = None,
    all_: Annotated[bool, typer.Option("--all", help="Every place to begin again.")] = False,
    force: Force = False,
    units: JobUnits = None,
) -> None:
    """After a stop: the whole state at a line, the places to begin again, and a program that goes on from there."""
    from millcalc.check.prepare import CheckOptions
    from millcalc.cli.past_cuts import learner
    from millcalc.cli.rewriting import NOT_A_PROMISE, Page, make_desk
    from millcalc.cli.watched import busy
    from millcalc.errors import UsageError
    from millcalc.rewrite.files import check_target
    from millcalc.rewrite.restart import state_for, survey
    from millcalc.rewrite.say import BEFORE_GOING_ON

    if new is not None:
        if line is None:
            raise UsageError("-o needs --line: the line that was being carried out when it stopped")
        check_target(new, program, job, force=force)
    asked: System | None = units.value if units else None
    options = CheckOptions(asked, profile=profile, quiet=accepted_findings(accept), learned=learner())
    desk = make_desk(program, job, options)
    system: System = asked or (desk.setup.job.units if desk.setup else "mm")
    with busy("looking for places to begin"):
        seen = survey(desk)
    page = Page()
    state = state_for(desk, line) if line is not None else None
    if state is not None and line is not None:
        _state(page, desk, seen, state, line)
    _points(page, seen.points, state, all_, system)
    if new is not None and line is not None:
        _reentry(page, desk, seen, line, new, program, force, system)
    page.head("before you go on")
    page.boxes(BEFORE_GOING_ON)
    page.say()
    page.say(NOT_A_PROMISE, style="dim")


def _state(page: Page, desk: Desk, seen: Survey, state: StateAt, line: int) -> None:
    page.say(f"state just before line {state.line}" + ("" if state.line == line else f" (line {line} does nothing)"),
             style="bold")  # fmt: skip
    page.say(seen.context.program.line_text(state.line).strip(), 4, "dim", keep=True)
    for name, value in state.words():
        page.say(f"{name:<14} {value}", 2, keep=True)
    if state.times > 1:
        page.say(
            f"This line is carried out {state.times} times; this is the state before the first.", indent=2
        )


def _clock(seconds: float) -> str:
    whole = int(seconds + 0.5)
    return f"{whole // 60}:{whole % 60:02d}"


def _points(
    page: Page, points: tuple[Point, ...], state: StateAt | None, everything: bool, units: System
) -> None:
    if not points:
        page.head("no place to begin again: the program never goes up to its travel height after a cut")
        return
    page.head("places to begin again (after a retract)")
    shown = points
    if not everything and len(points) > MOST_POINTS:
        near = sum(p.row <= state.row for p in points) if state is not None else 0
        first = max(0, min(near - MOST_POINTS // 2, len(points) - MOST_POINTS))
        shown = points[first : first + MOST_POINTS]
    page.say(f"X, Y, Z in {'mm' if units == 'mm' else 'inches'} from program zero", 2, "dim")
    page.say(f"{'line':>7}  {'time into it':<15} {'X':>9} {'Y':>9} {'Z':>8}  tool", 2, "dim", keep=True)
    before = max((p.row for p in points if state is not None and p.row <= state.row), default=None)
    for point in shown:
        time = "unknown"
        if point.quick_s is not None and point.strict_s is not None:
            quick, strict = _clock(point.quick_s), _clock(point.strict_s)
            time = quick if quick == strict else f"{quick} to {strict}"
        x, y, z = (f"{value:.3f}" if units == "mm" else f"{value / 25.4:.4f}" for value in point.place_mm)
        tool = f"T{point.tool}" if point.tool >= 0 else "-"
        mark = "*" if point.row == before else " "
        page.say(
            f"{mark}{point.line:>6}  {time:<15} {x:>9} {y:>9} {z:>8}  {tool:<4} {point.about}",
            2,
            keep=True,
        )
    if len(shown) < len(points):
        page.say(f"{len(shown)} of {len(points)} places (--all)", indent=2)
    if before is not None:
        page.say("* the last one before the line asked for", indent=2, style="dim")


def _reentry(
    page: Page, desk: Desk, seen: Survey, line: int, new: Path, program: Path, force: bool, units: System
) -> None:
    from millcalc.rewrite.files import write_copy
    from millcalc.rewrite.restart import reenter
    from millcalc.rewrite.say import reentry_lines

    made = reenter(desk, seen, line)
    if not made.good:
        page.head(f"the re-entry did not pass its check; {new} was not written")
        page.findings(made.left[:8])
        page.say(
            "What stands here is in the program itself or in the way back into it; mend it, or accept what you can "
            "vouch for with --accept CODE=reason.",
            indent=2,
        )
        raise typer.Exit(1)
    write_copy(new, made.data, program, force=force)
    page.head(f"{new}: goes on from line {made.begins.line}")
    for sentence in reentry_lines(made, line, units):
        page.say(
            sentence,
            indent=2,
            style="" if made.simulated or sentence.startswith(("Goes", "Begins")) else "bold",
        )
    count = len(made.outcome.not_checked)
    if count:
        what = "One check" if count == 1 else f"{count} checks"
        page.say(f"{what} could not be made; millcalc check on the new program names the reason.", indent=2)
