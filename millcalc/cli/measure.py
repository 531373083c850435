"""``millcalc measure``: guided procedures that put this machine's own numbers into its table."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from millcalc.cli.common import choose_machine, quantity

if TYPE_CHECKING:
    from millcalc.measure.machine_file import Change
    from millcalc.measure.readings import Run
    from millcalc.measure.spindle import SpeedPoint
    from millcalc.tables.models import Machine

app = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Measure the machine with household tools; the result goes into your machine file.",
)
MachineName = Annotated[
    str | None, typer.Option("--machine", help="Machine; left out, the one in shop.yaml.")
]
Into = Annotated[str | None, typer.Option("--into", help="Name of your machine file, e.g. my-router.")]
Write = Annotated[
    bool | None, typer.Option("--write/--no-write", help="Write the machine file, or only show the result.")
]
By = Annotated[str, typer.Option("--by", help="Who measured; goes into the notes.")]
How = Annotated[bool, typer.Option("--how", help="Show the procedure step by step and end.")]
Axis = Annotated[str, typer.Option("--axis", help="x, y or z.")]


@app.callback()
def _root() -> None:
    """Measure the machine with household tools; the result goes into your machine file."""


def _explain(procedure: str, asked: bool) -> None:
    """Print the procedure and end, when asked."""
    if asked:
        from millcalc.report.measure_text import how_text

        typer.echo(how_text(procedure))
        raise typer.Exit


def _machine(name: str | None) -> Machine:
    from millcalc.tables import load_shop

    return choose_machine(name, load_shop())


def _say(lines: list[str] | tuple[str, ...], mark: str = "") -> None:
    from millcalc.report.console import plain

    for line in lines:
        typer.echo(plain(mark + line))


def _axis(text: str) -> str:
    from millcalc.errors import InputError

    if text.lower() not in ("x", "y", "z"):
        raise InputError(repr(text), "x, y or z", field="--axis")
    return text.lower()


def _asking() -> bool:
    return sys.stdin is not None and sys.stdin.isatty()


def _finish(machine: Machine, into: str | None, write: bool | None, change: Change, doubts: Any = ()) -> None:
    """Show what was found and put it into the machine file when that is wanted."""
    from millcalc.measure.machine_file import target_file, write_change
    from millcalc.report.measure_text import change_lines, written_line

    _say(tuple(doubts), "· ")
    path, based_on = target_file(machine, into)
    typer.echo(f"\nfor {path}:")
    _say(change_lines(change), "  ")
    if write is None and _asking():
        write = typer.confirm("write it?", default=True)
    if not write:
        typer.echo("not written; add --write to write it")
        return
    typer.echo(written_line(write_change(path, based_on, machine, change)))


def _ask(text: str) -> str:
    """One line from the person; empty ends."""
    try:
        return input(text).strip()
    except EOFError:
        return ""


@app.command("stiffness")
def stiffness(
    machine: MachineName = None,
    pull: Annotated[
        list[str] | None,
        typer.Option("--pull", help='One series: "x@120: 2=0.025 4=0.05 ..."; pulls, then dial readings.'),
    ] = None,
    csv: Annotated[
        list[Path] | None, typer.Option("--csv", help="Series from a file: axis,drop_mm,pull_kg,dial_mm.")
    ] = None,
    force_unit: Annotated[str, typer.Option(help="Unit of bare pulls: kg, n or lbf.")] = "kg",
    dial_unit: Annotated[str, typer.Option(help="Unit of bare readings: mm, um, thou or in.")] = "mm",
    step: Annotated[str, typer.Option(help="Smallest step of the dial.")] = "0.01 mm",
    rod: Annotated[str | None, typer.Option(help="Diameter of the steel rod in the collet.")] = None,
    rod_stickout: Annotated[str | None, typer.Option(help="How far the rod stands out.")] = None,
    into: Into = None,
    write: Write = None,
    by: By = "",
    how: How = False,
) -> None:
    """Stiffness of the frame from pulls against a dial, at one or more drops."""
    _explain("stiffness", how)
    from millcalc import units as read
    from millcalc.errors import InputError, UsageError
    from millcalc.measure.changes import stiffness_change
    from millcalc.measure.readings import run_from_text, runs_from_csv
    from millcalc.measure.stiffness import rod_give_um_n, stiffness_from
    from millcalc.report.measure_text import stiffness_lines

    if force_unit.lower() not in ("kg", "kgf", "n", "lbf", "lb"):
        raise InputError(repr(force_unit), "kg, n or lbf", field="--force-unit")
    if dial_unit.lower() not in ("mm", "um", "thou", "in"):
        raise InputError(repr(dial_unit), "mm, um, thou or in", field="--dial-unit")
    found = _machine(machine)
    force = {"kgf": "kg", "lb": "lbf"}.get(force_unit.lower(), force_unit.lower())
    runs: list[Run] = [run_from_text(text, force, dial_unit.lower()) for text in pull or ()]
    for path in csv or ():
        runs += runs_from_csv(path)
    if not runs and _asking():
        typer.echo("Type one series a line, an empty line ends. --how shows the procedure.")
        while line := _ask('series, e.g. "x@120: 2=0.025 4=0.05 6=0.076 8=0.1": '):
            runs.append(run_from_text(line, force, dial_unit.lower(), "series"))
    if not runs:
        raise UsageError(
            "no readings: give --pull or --csv; millcalc measure stiffness --how shows the procedure"
        )
    bar, out = quantity(rod, "rod", read.length_mm), quantity(rod_stickout, "rod-stickout", read.length_mm)
    if (bar is None) != (out is None):
        raise UsageError("--rod and --rod-stickout belong together")
    give = 0.0
    if bar and out:
        if not (1 <= bar <= 50 and 1 <= out <= 300):
            raise InputError(
                f"a rod of {bar:g} mm standing out {out:g} mm", "1-50 mm and 1-300 mm", field="--rod"
            )
        give = rod_give_um_n(bar, out)
    resolution = quantity(step, "step", read.length_mm)
    if not resolution or not 1e-4 <= resolution <= 0.2:
        raise InputError(step, "0.0001 to 0.2 mm", field="--step")
    result = stiffness_from(tuple(runs), found, rod_um_n=give, resolution_mm=resolution)
    _say(stiffness_lines(result))
    _finish(found, into, write, stiffness_change(result, found, by=by), result.doubts)


@app.command("runout")
def runout(
    machine: MachineName = None,
    dial: Annotated[
        list[str] | None, typer.Option("--dial", help='Readings of one turn, e.g. "0 0.012 0.02 0.008".')
    ] = None,
    slot: Annotated[list[str] | None, typer.Option("--slot", help="Width of a light slot.")] = None,
    flutes: Annotated[int, typer.Option(min=1, max=12, help="Flutes of the cutter of the slots.")] = 1,
    diameter: Annotated[str | None, typer.Option(help="Its measured diameter.")] = None,
    into: Into = None,
    write: Write = None,
    by: By = "",
    how: How = False,
) -> None:
    """Run-out of collet and spindle, from a dial or from the width of slots."""
    _explain("runout", how)
    from millcalc import units as read
    from millcalc.errors import InputError, UsageError
    from millcalc.measure.changes import runout_change
    from millcalc.measure.spindle import runout_from_dial, runout_from_slots

    found = _machine(machine)
    turns = list(dial or ())
    if not turns and not slot and _asking():
        while line := _ask("dial readings over one turn in mm, empty line ends: "):
            turns.append(line)
    if bool(turns) == bool(slot):
        raise UsageError("give --dial or --slot, one of them; --how shows the procedure")
    if turns:
        try:
            readings = [
                [read.length_mm(t, negative=True) for t in line.replace(",", " ").split()] for line in turns
            ]
        except ValueError as error:
            raise InputError(str(error), field="--dial") from None
        result = runout_from_dial(readings)
    else:
        widths = [quantity(text, "slot", read.length_mm) or 0.0 for text in slot or ()]
        result = runout_from_slots(widths, flutes, quantity(diameter, "diameter", read.length_mm))
    typer.echo(
        f"run-out {result.value_mm:.3f} mm (between {result.low_mm:.3f} and {result.high_mm:.3f} mm), {result.how}"
    )
    _finish(found, into, write, runout_change(result, by=by), result.doubts)


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
    how: How = False,
) -> None:
    """Real feed over a timed distance, against the one that was asked for."""
    _explain("feed", how)
    from millcalc import units as read
    from millcalc.errors import UsageError
    from millcalc.measure.changes import axes_change
    from millcalc.measure.motion import feed_from_time

    if distance is None or time is None:
        raise UsageError("give --distance and --time; --how shows the procedure")
    found, which = _machine(machine), _axis(axis)
    way, seconds = quantity(distance, "distance", read.length_mm), quantity(time, "time", read.time_s)
    result = feed_from_time(way or 0.0, seconds or 0.0, getattr(found.acceleration_mm_s2, which))
    typer.echo(f"{which.upper()}: {result.value:.0f} mm/min (±{result.sd:.0f})")
    asked = quantity(commanded, "commanded", read.feed_mm_min)
    if asked:
        off = result.value / asked - 1
        told = abs(result.value - asked) <= 2 * result.sd
        typer.echo(
            f"asked for {asked:.0f} mm/min: {100 * off:+.1f} %, "
            + ("within what the watch can tell" if told else "steps per mm, an override or a limit is wrong")
        )
    if highest:
        change = axes_change("max_feed_mm_min", {which: result.value}, found, what="highest feed", by=by)
        _finish(found, into, write, change, result.doubts)
    else:
        _say(result.doubts, "· ")


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
    how: How = False,
) -> None:
    """Acceleration of an axis from timed moves, many short ones or long ones."""
    _explain("acceleration", how)
    from millcalc import units as read
    from millcalc.errors import UsageError
    from millcalc.measure.changes import axes_change
    from millcalc.measure.motion import acceleration_from_long_moves, acceleration_from_short_moves

    if distance is None or time is None or moves is None:
        raise UsageError("give --distance, --moves and --time; --how shows the procedure")
    found, which = _machine(machine), _axis(axis)
    way = quantity(distance, "distance", read.length_mm) or 0.0
    seconds = quantity(time, "time", read.time_s) or 0.0
    reached = quantity(feed, "feed", read.feed_mm_min)
    if reached is not None:
        result = acceleration_from_long_moves(way, moves, seconds, reached)
    else:
        top = quantity(asked, "asked", read.feed_mm_min)
        result = acceleration_from_short_moves(way, moves, seconds, top)
    typer.echo(f"{which.upper()}: {result.value:.0f} mm/s2 (±{result.sd:.0f})")
    change = axes_change("acceleration_mm_s2", {which: result.value}, found, what="acceleration", by=by)
    _finish(found, into, write, change, result.doubts)


@app.command("thrust")
def thrust(
    x: Annotated[list[str] | None, typer.Option("--x", help='Pull at which X stalled, e.g. "30 kg".')] = None,
    y: Annotated[list[str] | None, typer.Option("--y", help="The same for Y.")] = None,
    z: Annotated[list[str] | None, typer.Option("--z", help="The same for Z.")] = None,
    machine: MachineName = None,
    into: Into = None,
    write: Write = None,
    by: By = "",
    how: How = False,
) -> None:
    """Push at which an axis stalls; half of it is what cutting may use."""
    _explain("thrust", how)
    from millcalc import units as read
    from millcalc.errors import UsageError
    from millcalc.measure.changes import axes_change
    from millcalc.measure.spindle import push_from_pulls

    found = _machine(machine)
    given = {"x": x, "y": y, "z": z}
    if not any(given.values()):
        raise UsageError("give --x, --y or --z; --how shows the procedure")
    pushes = [
        push_from_pulls(axis, [quantity(text, axis, read.force_n, "kg") or 0.0 for text in texts])
        for axis, texts in given.items()
        if texts
    ]
    for push in pushes:
        typer.echo(f"{push.axis.upper()}: stalls at {push.thrust_n:.0f} N ({push.thrust_n / 9.80665:.1f} kg)")
    values = {push.axis: push.thrust_n for push in pushes}
    doubts = [doubt for push in pushes for doubt in push.doubts]
    _finish(found, into, write, axes_change("thrust_n", values, found, what="push", by=by), doubts)


@app.command("speed")
def speed(
    tone: Annotated[list[str] | None, typer.Option("--tone", help="Pitch at a mark, in Hz: 3=300.")] = None,
    count: Annotated[list[str] | None, typer.Option("--count", help="Counter at a mark: 3=18100.")] = None,
    marks: Annotated[
        list[str] | None, typer.Option("--marks", help='Feed marks: "3=3000 mm/min over 5 mm with 20".')
    ] = None,
    per_turn: Annotated[float, typer.Option(help="How often the sound or mark comes in a turn.")] = 1.0,
    cutting: Annotated[float | None, typer.Option(help="Pitch in the cut, to see how far it falls.")] = None,
    machine: MachineName = None,
    into: Into = None,
    write: Write = None,
    by: By = "",
    how: How = False,
) -> None:
    """Real spindle speed at each dial mark, from sound, feed marks or a counter."""
    _explain("speed", how)
    from millcalc.errors import UsageError
    from millcalc.measure.changes import dial_change
    from millcalc.measure.spindle import dial_table, droop, speed_counted, speed_from_tone

    found = _machine(machine)
    points: list[SpeedPoint] = []
    for mark, text in _pairs(tone, "--tone"):
        points.append(speed_from_tone(mark, _number(text, "--tone"), per_turn))
    for mark, text in _pairs(count, "--count"):
        points.append(speed_counted(mark, _number(text, "--count")))
    for mark, text in _pairs(marks, "--marks"):
        points.append(_feed_marks(mark, text, per_turn))
    if not points:
        raise UsageError("give --tone, --count or --marks; --how shows the procedure")
    table = dial_table(points)
    for point in table:
        typer.echo(f"mark {point.mark}: {point.rpm:.0f} rpm ({point.how})")
    if cutting is not None:
        if len(table) != 1:
            raise UsageError("--cutting goes with one mark only")
        share, words = droop(table[0].rpm, 60.0 * cutting / per_turn)
        typer.echo(f"in the cut {100 * share:.1f} % slower: {words}")
    _finish(found, into, write, dial_change(table, found, by=by), [d for p in table for d in p.doubts])


def _pairs(texts: list[str] | None, option: str) -> list[tuple[str, str]]:
    from millcalc.errors import InputError

    pairs = []
    for text in texts or ():
        mark, equals, value = text.partition("=")
        if not equals or not mark.strip():
            raise InputError(repr(text), "mark=value, e.g. 3=300", field=option)
        pairs.append((mark.strip(), value.strip()))
    return pairs


def _number(text: str, option: str) -> float:
    from millcalc.errors import InputError

    try:
        return float(text)
    except ValueError:
        raise InputError(repr(text), "a number with a point for decimals", field=option) from None


def _feed_marks(mark: str, text: str, per_turn: float) -> SpeedPoint:
    """A text such as ``3000 mm/min over 5 mm with 20``."""
    from millcalc import units as read
    from millcalc.errors import InputError
    from millcalc.measure.spindle import speed_from_marks

    feed_text, over, rest = text.partition(" over ")
    length, with_, number = rest.partition(" with ")
    if not over or not with_ or not number.strip().isdigit():
        raise InputError(repr(text), '"FEED over LENGTH with COUNT"', field="--marks")
    rate = quantity(feed_text.strip(), "marks", read.feed_mm_min) or 0.0
    spacing = quantity(length.strip(), "marks", read.length_mm) or 0.0
    return speed_from_marks(mark, rate, spacing, int(number), per_turn)


@app.command("frequency")
def frequency(
    wav: Annotated[Path | None, typer.Option(help="Recording of taps, WAV.")] = None,
    axis: Axis = "x",
    what: Annotated[str, typer.Option(help="cutter or frame: what was tapped.")] = "cutter",
    cutter: Annotated[str | None, typer.Option(help="Cutter that was in the collet.")] = None,
    stickout: Annotated[str | None, typer.Option(help="From collet face to tip.")] = None,
    band: Annotated[str | None, typer.Option(help='Where to look, in Hz: "20 200".')] = None,
    machine: MachineName = None,
    into: Into = None,
    write: Write = None,
    by: By = "",
    how: How = False,
) -> None:
    """Natural frequency and damping from the recording of a few taps, for the chatter limit."""
    _explain("frequency", how)
    from millcalc import units as read
    from millcalc.advise.lobes import mode_name, mode_stiffness_n_um
    from millcalc.errors import InputError, UsageError
    from millcalc.measure.changes import mode_change
    from millcalc.measure.tap import read_wav, tap_from_signal
    from millcalc.report.measure_text import tap_lines

    if wav is None:
        raise UsageError("give --wav FILE; --how shows the procedure")
    if what not in ("cutter", "frame"):
        raise InputError(repr(what), "cutter or frame", field="--what")
    found, which = _machine(machine), _axis(axis)
    out = quantity(stickout, "stickout", read.length_mm)
    fitted = None
    if what == "cutter":
        from millcalc.tables import load_cutter

        if cutter is None or out is None:
            raise UsageError("a tapped cutter needs --cutter and --stickout: the mode belongs to them")
        fitted = load_cutter(cutter)
    low, high = (15.0, 250.0) if what == "frame" else (250.0, 6000.0)
    if band is not None:
        ends = [_number(text, "--band") for text in band.replace("-", " ").split()]
        if len(ends) != 2:
            raise InputError(repr(band), 'two frequencies, "20 200"', field="--band")
        low, high = ends
    rate, signal = read_wav(wav)
    tap = tap_from_signal(rate, signal, low, high, str(wav))
    _say(tap_lines(tap))
    stiff = mode_stiffness_n_um(found, which, fitted, out)
    typer.echo(f"stiffness of this mode taken as the static one, {stiff:.3g} N/um: the careful side is lower")
    name = mode_name(which, fitted, out)
    _finish(found, into, write, mode_change(tap, found, name, which, stiff, by=by), tap.doubts)
