"""The measuring commands of the spindle and cutter: run-out, speed, frequency."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

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
    asking,
    begin,
    finish,
    number_of,
    say_lines,
    the_axis,
    the_machine,
)
from millcalc.cli.options import AnswerUnits, Stickout
from millcalc.cli.say import say, tell

if TYPE_CHECKING:
    from millcalc.measure.spindle import SpeedPoint
    from millcalc.units_show import System


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
    units: AnswerUnits = None,
    how: How = False,
) -> None:
    """Run-out of collet and spindle, from a dial or from the width of slots."""
    shown = begin("runout", how, units)
    from millcalc import units as read
    from millcalc.errors import InputError, UsageError
    from millcalc.measure.changes import runout_change
    from millcalc.measure.spindle import runout_from_dial, runout_from_slots
    from millcalc.report.measure_text import runout_line

    found = the_machine(machine)
    turns = list(dial or ())
    if not turns and not slot and asking():
        while line := ask_line(f"dial readings over one turn in {shown}, empty line ends: "):
            turns.append(line)
    if bool(turns) == bool(slot):
        raise UsageError("give --dial or --slot, one of them; --how shows the procedure")
    if turns:
        try:
            readings = [
                [read.length_mm(t, shown, negative=True) for t in line.replace(",", " ").split()]
                for line in turns
            ]
        except ValueError as error:
            raise InputError(str(error), field="--dial") from None
        result = runout_from_dial(readings)
    else:
        widths = [quantity(text, "slot", read.length_mm, shown) or 0.0 for text in slot or ()]
        result = runout_from_slots(widths, flutes, quantity(diameter, "diameter", read.length_mm, shown))
    say_lines([runout_line(result, shown)])
    finish(found, into, write, runout_change(result, by=by), result.doubts, shown)


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
    units: AnswerUnits = None,
    how: How = False,
) -> None:
    """Real spindle speed at each dial mark, from sound, feed marks or a counter."""
    shown = begin("speed", how, units)
    from millcalc.errors import UsageError
    from millcalc.measure.changes_axes import dial_change
    from millcalc.measure.spindle import dial_table, droop, speed_counted, speed_from_tone

    found = the_machine(machine)
    points: list[SpeedPoint] = []
    for mark, text in _pairs(tone, "--tone"):
        points.append(speed_from_tone(mark, number_of(text, "--tone"), per_turn))
    for mark, text in _pairs(count, "--count"):
        points.append(speed_counted(mark, number_of(text, "--count")))
    for mark, text in _pairs(marks, "--marks"):
        points.append(_feed_marks(mark, text, per_turn, shown))
    if not points and asking():
        while line := ask_line("mark=pitch in Hz, e.g. 3=300, empty line ends: "):
            points += [
                speed_from_tone(m, number_of(t, "pitch"), per_turn) for m, t in _pairs([line], "pitch")
            ]
    if not points:
        raise UsageError("give --tone, --count or --marks; --how shows the procedure")
    table = dial_table(points)
    for point in table:
        say(f"mark {point.mark}: {point.rpm:.0f} rpm ({point.how})")
    if cutting is not None:
        if len(table) != 1:
            raise UsageError("--cutting goes with one mark only")
        share, words = droop(table[0].rpm, 60.0 * cutting / per_turn)
        tell(f"in the cut {100 * share:.1f} % slower: {words}")
    finish(found, into, write, dial_change(table, found, by=by), [d for p in table for d in p.doubts], shown)


def _pairs(texts: list[str] | None, option: str) -> list[tuple[str, str]]:
    from millcalc.errors import InputError

    pairs = []
    for text in texts or ():
        mark, equals, value = text.partition("=")
        if not equals or not mark.strip():
            raise InputError(repr(text), "mark=value, e.g. 3=300", field=option)
        pairs.append((mark.strip(), value.strip()))
    return pairs


def _feed_marks(mark: str, text: str, per_turn: float, units: System) -> SpeedPoint:
    """A text such as ``3000 mm/min over 5 mm with 20``."""
    from millcalc import units as read
    from millcalc.errors import InputError
    from millcalc.measure.spindle import speed_from_marks

    feed_text, over, rest = text.partition(" over ")
    length, with_, number = rest.partition(" with ")
    if not over or not with_ or not number.strip().isdigit():
        raise InputError(repr(text), '"FEED over LENGTH with COUNT"', field="--marks")
    rate = quantity(feed_text.strip(), "marks", read.feed_mm_min, f"{units}/min") or 0.0
    spacing = quantity(length.strip(), "marks", read.length_mm, units) or 0.0
    return speed_from_marks(mark, rate, spacing, int(number), per_turn)


@app.command("frequency")
def frequency(
    wav: Annotated[Path | None, typer.Option(help="Recording of taps, WAV.")] = None,
    axis: Axis = "x",
    what: Annotated[str, typer.Option(help="cutter or frame: what was tapped.")] = "cutter",
    cutter: Annotated[str | None, typer.Option(help="Cutter that was in the collet.")] = None,
    stickout: Stickout = None,
    band: Annotated[str | None, typer.Option(help='Where to look, in Hz: "20 200".')] = None,
    machine: MachineName = None,
    into: Into = None,
    write: Write = None,
    by: By = "",
    units: AnswerUnits = None,
    how: How = False,
) -> None:
    """Natural frequency and damping from the recording of a few taps, for the chatter limit."""
    shown = begin("frequency", how, units)
    from millcalc import units as read
    from millcalc.advise.lobes import mode_name, mode_stiffness_n_um
    from millcalc.errors import InputError, UsageError
    from millcalc.measure.changes_axes import mode_change
    from millcalc.measure.recording import read_wav
    from millcalc.measure.tap import tap_from_signal
    from millcalc.report.measure_text import stiffness_words, tap_lines

    if wav is None and asking() and (typed := ask_line("recording of the taps, a WAV file: ")):
        wav = Path(typed)
    if wav is None:
        raise UsageError("give --wav FILE; --how shows the procedure")
    if what not in ("cutter", "frame"):
        raise InputError(repr(what), "cutter or frame", field="--what")
    found, which = the_machine(machine), the_axis(axis)
    out = quantity(stickout, "stickout", read.length_mm, shown)
    fitted = None
    if what == "cutter":
        from millcalc.tables import load_cutter

        if cutter is None or out is None:
            raise UsageError("a tapped cutter needs --cutter and --stickout: the mode belongs to them")
        fitted = load_cutter(cutter)
    low, high = (15.0, 250.0) if what == "frame" else (250.0, 6000.0)
    if band is not None:
        ends = [number_of(text, "--band") for text in band.replace("-", " ").split()]
        if len(ends) != 2:
            raise InputError(repr(band), 'two frequencies, "20 200"', field="--band")
        low, high = ends
        if not 1.0 <= low < high:
            raise InputError(f"{low:g} to {high:g} Hz", "from 1 Hz up, the lower one first", field="--band")
    rate, signal = read_wav(wav)
    tap = tap_from_signal(rate, signal, low, high, str(wav))
    say_lines(tap_lines(tap))
    stiff = mode_stiffness_n_um(found, which, fitted, out)
    say_lines(
        [
            f"stiffness of this mode taken as the static one, {stiffness_words(stiff, shown)}: "
            "the careful side is lower"
        ]
    )
    name = mode_name(which, fitted, out)
    finish(found, into, write, mode_change(tap, found, name, which, stiff, by=by), tap.doubts, shown)
