"""``millcalc measure``: guided procedures that put this machine's own numbers into its table."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from millcalc.cli import measure_spindle
from millcalc.cli.common import quantity
from millcalc.cli.measure_shared import (
    Axis,
    By,
    How,
    Into,
    MachineName,
    Write,
    app,
    ask_line,
    asked_for,
    asking,
    begin,
    finish,
    say_lines,
    the_axis,
    the_machine,
)
from millcalc.cli.options import AnswerUnits
from millcalc.cli.say import say, tell

if TYPE_CHECKING:
    from collections.abc import Sequence

    from millcalc.measure.readings import Run
    from millcalc.units_show import System

__all__ = ["app", "measure_spindle"]


Pull = Annotated[
    list[str] | None,
    typer.Option("--pull", help='One series: "x@120: 2=0.025 4=0.05 ..."; pulls, then dial readings.'),
]
Csv = Annotated[
    list[Path] | None, typer.Option("--csv", help="Series from a file: axis,drop_mm,pull_kg,dial_mm.")
]


# a way by the tape, a short move, three pulls at which an axis stalls, a series of pulls, as one would type them
_EXAMPLES = {
    "mm": ("500 mm", "2 mm", "30 31 29", "x@120: 2=0.025 4=0.05 6=0.076 8=0.1"),
    "in": ("20 in", "0.08 in", "66 68 64", "x@4.7: 4=0.001 8=0.002 12=0.003 16=0.004"),
}


@app.command("stiffness")
def stiffness(
    machine: MachineName = None,
    pull: Pull = None,
    csv: Csv = None,
    force_unit: Annotated[
        str | None, typer.Option(help="Unit of bare pulls: kg, n or lbf; left out, kg, or lbf with inches.")
    ] = None,
    dial_unit: Annotated[
        str | None,
        typer.Option(help="Unit of bare readings: mm, um, thou or in; left out, as --units says."),
    ] = None,
    step: Annotated[str, typer.Option(help="Smallest step of the dial.")] = "0.01 mm",
    rod: Annotated[str | None, typer.Option(help="Diameter of the steel rod in the collet.")] = None,
    rod_stickout: Annotated[str | None, typer.Option(help="How far the rod stands out.")] = None,
    into: Into = None,
    write: Write = None,
    by: By = "",
    units: AnswerUnits = None,
    how: How = False,
) -> None:
    """Stiffness of the frame from pulls against a dial, at one or more drops."""
    shown = begin("stiffness", how, units)
    from millcalc import units as read
    from millcalc.errors import InputError
    from millcalc.measure.changes import stiffness_change
    from millcalc.measure.stiffness import stiffness_from
    from millcalc.report.measure_text import stiffness_lines

    force_unit, dial_unit = force_unit or ("kg" if shown == "mm" else "lbf"), dial_unit or shown
    if force_unit.lower() not in ("kg", "kgf", "n", "lbf", "lb"):
        raise InputError(repr(force_unit), "kg, n or lbf", field="--force-unit")
    if dial_unit.lower() not in ("mm", "um", "thou", "in"):
        raise InputError(repr(dial_unit), "mm, um, thou or in", field="--dial-unit")
    found = the_machine(machine)
    force = {"kgf": "kg", "lb": "lbf"}.get(force_unit.lower(), force_unit.lower())
    runs = _series(pull or (), csv or (), force, dial_unit.lower(), shown)
    give = _rod_give_um_n(rod, rod_stickout, shown)
    resolution = quantity(step, "step", read.length_mm, shown)
    if not resolution or not 1e-4 <= resolution <= 0.2:
        raise InputError(step, "0.0001 to 0.2 mm", field="--step")
    result = stiffness_from(runs, found, rod_um_n=give, resolution_mm=resolution, units=shown)
    say_lines(stiffness_lines(result, shown))
    finish(found, into, write, stiffness_change(result, found, by=by), result.doubts, shown)


def _series(
    pulls: Sequence[str], files: Sequence[Path], force: str, dial: str, units: System
) -> tuple[Run, ...]:
    """Series of pulls from the options and files, or as they are typed."""
    from millcalc.errors import UsageError
    from millcalc.measure.readings import run_from_text
    from millcalc.measure.readings_csv import runs_from_csv

    runs = [run_from_text(text, force, dial, drop_unit=units) for text in pulls]
    for path in files:
        runs += runs_from_csv(path)
    if not runs and asking():
        tell("Type one series a line, an empty line ends. --how shows the procedure.")
        while line := ask_line(f'series, e.g. "{_EXAMPLES[units][3]}": '):
            runs.append(run_from_text(line, force, dial, "series", units))
    if not runs:
        raise UsageError(
            "no readings: give --pull or --csv; millcalc measure stiffness --how shows the procedure"
        )
    return tuple(runs)


def _rod_give_um_n(rod: str | None, stickout: str | None, units: System) -> float:
    """Bending of the rod in the collet; 0 without one [um/N]."""
    from millcalc import units as read
    from millcalc.errors import InputError, UsageError
    from millcalc.measure.stiffness import rod_give_um_n

    bar = quantity(rod, "rod", read.length_mm, units)
    out = quantity(stickout, "rod-stickout", read.length_mm, units)
    if (bar is None) != (out is None):
        raise UsageError("--rod and --rod-stickout belong together")
    if not bar or not out:
        return 0.0
    if not (1 <= bar <= 50 and 1 <= out <= 300):
        raise InputError(
            f"a rod of {bar:g} mm standing out {out:g} mm", "1-50 mm and 1-300 mm", field="--rod"
        )
    return rod_give_um_n(bar, out)


@app.command("feed")
def feed(
    distance: Annotated[str | None, typer.Option(help="Way, measured with a tape.")] = None,
    time: Annotated[str | None, typer.Option(help="Time from start to stop, in seconds.")] = None,
    commanded: Annotated[str | None, typer.Option(help="Feed in the program.")] = None,
    axis: Axis = "x",
    highest: Annotated[bool, typer.Option("--highest", help="This was the axis's highest feed.")] = False,
    machine: MachineName = None,
    into: Into = None,
    write: Write = None,
    by: By = "",
    units: AnswerUnits = None,
    how: How = False,
) -> None:
    """Real feed over a timed distance, against the one that was asked for."""
    shown = begin("feed", how, units)
    from millcalc import units as read
    from millcalc.errors import UsageError
    from millcalc.measure.changes_axes import axes_change
    from millcalc.measure.feed_time import feed_from_time
    from millcalc.report.measure_text import feed_lines

    distance = asked_for(distance, f"way by the tape, e.g. {_EXAMPLES[shown][0]}")
    time = asked_for(time, "time from start to stop in seconds")
    if distance is None or time is None:
        raise UsageError("give --distance and --time; --how shows the procedure")
    found, which = the_machine(machine), the_axis(axis)
    way, seconds = quantity(distance, "distance", read.length_mm, shown), quantity(time, "time", read.time_s)
    asked = quantity(commanded, "commanded", read.feed_mm_min, f"{shown}/min")
    result = feed_from_time(way or 0.0, seconds or 0.0, getattr(found.acceleration_mm_s2, which))
    say_lines(feed_lines(which, result, asked, shown))
    if highest:
        change = axes_change("max_feed_mm_min", {which: result.value}, found, what="highest feed", by=by)
        finish(found, into, write, change, result.doubts, shown)
    else:
        say_lines(result.doubts, "· ")


@app.command("acceleration")
def acceleration(
    distance: Annotated[str | None, typer.Option(help="Length of one move.")] = None,
    moves: Annotated[int | None, typer.Option(min=1, help="Number of moves; there and back are two.")] = None,
    time: Annotated[str | None, typer.Option(help="Time for all, in seconds.")] = None,
    feed: Annotated[str | None, typer.Option(help="Long moves: the feed that is reached.")] = None,
    asked: Annotated[
        str | None, typer.Option(help="Short moves: the feed in the program, never reached.")
    ] = None,
    axis: Axis = "x",
    machine: MachineName = None,
    into: Into = None,
    write: Write = None,
    by: By = "",
    units: AnswerUnits = None,
    how: How = False,
) -> None:
    """Acceleration of an axis from timed moves, many short ones or long ones."""
    shown = begin("acceleration", how, units)
    from millcalc import units as read
    from millcalc.errors import UsageError
    from millcalc.measure.changes_axes import axes_change
    from millcalc.measure.motion import acceleration_from_long_moves, acceleration_from_short_moves
    from millcalc.report.measure_text import acceleration_line

    distance = asked_for(distance, f"length of one move, e.g. {_EXAMPLES[shown][1]}")
    if moves is None and asking():
        counted = ask_line("number of moves, there and back are two: ")
        moves = int(counted) if counted.isdigit() and int(counted) > 0 else None
    time = asked_for(time, "time for all of them in seconds")
    if distance is None or time is None or moves is None:
        raise UsageError("give --distance, --moves and --time; --how shows the procedure")
    found, which = the_machine(machine), the_axis(axis)
    way = quantity(distance, "distance", read.length_mm, shown) or 0.0
    seconds = quantity(time, "time", read.time_s) or 0.0
    reached = quantity(feed, "feed", read.feed_mm_min, f"{shown}/min")
    if reached is not None:
        result = acceleration_from_long_moves(way, moves, seconds, reached)
    else:
        top = quantity(asked, "asked", read.feed_mm_min, f"{shown}/min")
        result = acceleration_from_short_moves(way, moves, seconds, top)
    say_lines([acceleration_line(which, result, shown)])
    change = axes_change("acceleration_mm_s2", {which: result.value}, found, what="acceleration", by=by)
    finish(found, into, write, change, result.doubts, shown)


@app.command("thrust")
def thrust(
    x: Annotated[list[str] | None, typer.Option("--x", help='Pull at which X stalled, e.g. "30 kg".')] = None,
    y: Annotated[list[str] | None, typer.Option("--y", help="The same for Y.")] = None,
    z: Annotated[list[str] | None, typer.Option("--z", help="The same for Z.")] = None,
    machine: MachineName = None,
    into: Into = None,
    write: Write = None,
    by: By = "",
    units: AnswerUnits = None,
    how: How = False,
) -> None:
    """Push at which an axis stalls; half of it is what cutting may use."""
    shown = begin("thrust", how, units)
    from millcalc import units as read
    from millcalc.errors import UsageError
    from millcalc.measure.changes_axes import axes_change
    from millcalc.measure.spindle import push_from_pulls
    from millcalc.report.measure_text import push_line

    found = the_machine(machine)
    given, unit = {"x": x, "y": y, "z": z}, "kg" if shown == "mm" else "lbf"
    if not any(given.values()) and asking():
        for which in given:
            pulls = ask_line(
                f"pulls in {unit} at which {which.upper()} stalled, e.g. {_EXAMPLES[shown][2]}; empty for none: "
            )
            given[which] = pulls.replace(",", " ").split()
    if not any(given.values()):
        raise UsageError("give --x, --y or --z; --how shows the procedure")
    pushes = [
        push_from_pulls(axis, [quantity(text, axis, read.force_n, unit) or 0.0 for text in texts])
        for axis, texts in given.items()
        if texts
    ]
    for push in pushes:
        say(push_line(push, shown))
    values = {push.axis: push.thrust_n for push in pushes}
    doubts = [doubt for push in pushes for doubt in push.doubts]
    finish(found, into, write, axes_change("thrust_n", values, found, what="push", by=by), doubts, shown)
