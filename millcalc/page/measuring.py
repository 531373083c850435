"""The measuring procedures as forms: which values are asked, and what they say, from the same arithmetic."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from starlette.datastructures import FormData

from millcalc import units as units_read
from millcalc.errors import InputError
from millcalc.measure.machine_file import Change
from millcalc.page.forms import read, text, upload
from millcalc.tables.models import Machine
from millcalc.units_show import System

# a picture in characters, or what is typed at a terminal
_NOT_TOLD = re.compile(r"[|\[]|=====|____|--|millcalc|\S {3,}\S")
_BEGINS = re.compile(r"(\d\. )|([A-Z][a-z]+(?: [a-z]+)?: )")
SERIES, PULLS, MARKS = 3, (2, 4, 6, 8, 10, 8, 6, 4, 2), 6


@dataclass(frozen=True)
class Found:
    """What a measurement says.

    lines: The result in words.
    doubts: What the person should know about it.
    change: What it changes in the machine file; None where there is nothing to write.
    """

    lines: list[str]
    doubts: tuple[str, ...] = ()
    change: Change | None = None


@dataclass(frozen=True)
class Procedure:
    """One procedure.

    key: Of its text in :mod:`millcalc.measure.how`.
    title, gives: What is measured, and what that is good for.
    find: From a filled form and the machine to what it says.
    takes_file: Whether a recording can be sent.
    """

    key: str
    title: str
    gives: str
    find: Callable[[FormData, Machine], Found]
    takes_file: bool = field(default=False)


def _axis(form: FormData) -> str:
    which = text(form, "axis").lower()
    if which not in ("x", "y", "z"):
        raise InputError(repr(which), "x, y or z", field="axis")
    return which


def _need(value: Any, title: str) -> Any:
    if value is None:
        raise InputError("nothing", "a value", "measure it and type it in", field=title)
    return value


def _units(form: FormData) -> System:
    """Unit of bare lengths: as it was switched when the form was shown."""
    return "in" if text(form, "units") == "in" else "mm"


def _length(form: FormData, name: str, title: str) -> float | None:
    return read(form, name, title, units_read.length_mm, _units(form))


def _feed_mm_min(form: FormData, name: str, title: str) -> float | None:
    return read(form, name, title, units_read.feed_mm_min, f"{_units(form)}/min")


def _whole(form: FormData, name: str, title: str) -> int:
    given = text(form, name)
    if not given.isdecimal() or not 0 < len(given) < 7 or int(given) < 1:
        raise InputError(repr(given), "a whole number from 1", field=title)
    return int(given)


def _stiffness(form: FormData, machine: Machine) -> Found:
    from millcalc.measure.changes import stiffness_change
    from millcalc.measure.readings import run_from_text
    from millcalc.measure.stiffness import rod_give_um_n, stiffness_from
    from millcalc.report.measure_text import stiffness_lines

    force, dial = text(form, "force_unit") or "kg", text(form, "dial_unit") or "mm"
    if force not in ("kg", "n", "lbf") or dial not in ("mm", "um", "thou", "in"):
        raise InputError(f"{force}, {dial}", "kg, n or lbf; mm, um, thou or in", field="units")
    runs = []
    for number in range(SERIES):
        pairs = [
            f"{text(form, f'pull-{number}-{i}')}={text(form, f'dial-{number}-{i}')}"
            for i in range(len(PULLS))
            if text(form, f"dial-{number}-{i}")
        ]
        if pairs:
            axis, drop = text(form, f"axis-{number}"), _length(form, f"drop-{number}", "drop")
            head = axis if drop is None else f"{axis}@{drop:.6g}"
            readings = " ".join(pair.replace(" ", "") for pair in pairs)
            runs.append(run_from_text(f"{head}: {readings}", force, dial, f"series {number + 1}"))
    if not runs:
        raise InputError("no readings", "pulls and dial readings of one series at least", field="series")
    bar, out = _length(form, "rod", "rod"), _length(form, "rod_stickout", "rod stands out")
    if (bar is None) != (out is None):
        raise InputError(
            "one of two", "the rod's diameter and how far it stands out", "give both, or none", field="rod"
        )
    give = 0.0
    if bar and out:
        if not (1 <= bar <= 50 and 1 <= out <= 300):
            raise InputError(
                f"a rod of {bar:g} mm standing out {out:g} mm", "1-50 mm and 1-300 mm", field="rod"
            )
        give = rod_give_um_n(bar, out)
    step = _length(form, "step", "step of the dial") or 0.01
    if not 1e-4 <= step <= 0.2:
        raise InputError(f"{step:g} mm", "0.0001 to 0.2 mm", field="step of the dial")
    result = stiffness_from(tuple(runs), machine, rod_um_n=give, resolution_mm=step)
    return Found(stiffness_lines(result), tuple(result.doubts), stiffness_change(result, machine))


def _runout(form: FormData, machine: Machine) -> Found:
    from millcalc.measure.changes import runout_change
    from millcalc.measure.spindle import runout_from_dial, runout_from_slots
    from millcalc.report.measure_text import runout_line

    turns = [line for i in range(4) if (line := text(form, f"turn-{i}"))]
    slots = text(form, "slots").replace(",", " ").split()
    if bool(turns) == bool(slots):
        raise InputError("both or neither", "readings of the dial, or widths of slots", field="readings")
    if turns:
        result = runout_from_dial(
            [[_signed(t, "dial", _units(form)) for t in line.replace(",", " ").split()] for line in turns]
        )
    else:
        widths = [_one(t, "width of a slot", units_read.length_mm, _units(form)) for t in slots]
        result = runout_from_slots(
            widths, _whole(form, "flutes", "flutes"), _length(form, "diameter", "diameter")
        )
    return Found([runout_line(result)], tuple(result.doubts), runout_change(result))


def _one(value: str, title: str, reader: Callable[..., float], *args: Any) -> float:
    try:
        return reader(value, *args)
    except ValueError as error:
        raise InputError(str(error), field=title) from None


def _signed(value: str, title: str, units: System) -> float:
    return _one(value, title, lambda given: units_read.length_mm(given, units, negative=True))


def _feed(form: FormData, machine: Machine) -> Found:
    from millcalc.measure.changes_axes import axes_change
    from millcalc.measure.feed_time import feed_from_time
    from millcalc.report.measure_text import feed_lines

    axis = _axis(form)
    way = _need(_length(form, "distance", "way by the tape"), "way by the tape")
    seconds = _need(read(form, "time", "time", units_read.time_s), "time")
    result = feed_from_time(way, seconds, getattr(machine.acceleration_mm_s2, axis))
    lines = feed_lines(axis, result, _feed_mm_min(form, "commanded", "feed in the program"))
    change = axes_change("max_feed_mm_min", {axis: result.value}, machine, what="highest feed")
    return Found(lines, tuple(result.doubts), change if text(form, "highest") else None)


def _acceleration(form: FormData, machine: Machine) -> Found:
    from millcalc.measure.changes_axes import axes_change
    from millcalc.measure.motion import acceleration_from_long_moves, acceleration_from_short_moves
    from millcalc.report.measure_text import acceleration_line

    axis = _axis(form)
    way = _need(_length(form, "distance", "length of one move"), "length of one move")
    moves = _whole(form, "moves", "number of moves")
    seconds = _need(read(form, "time", "time for all", units_read.time_s), "time for all")
    feed = _feed_mm_min(form, "feed", "feed")
    if text(form, "kind") == "long":
        result = acceleration_from_long_moves(way, moves, seconds, _need(feed, "feed that is reached"))
    else:
        result = acceleration_from_short_moves(way, moves, seconds, feed)
    change = axes_change("acceleration_mm_s2", {axis: result.value}, machine, what="acceleration")
    return Found([acceleration_line(axis, result)], tuple(result.doubts), change)


def _thrust(form: FormData, machine: Machine) -> Found:
    from millcalc.measure.changes_axes import axes_change
    from millcalc.measure.spindle import push_from_pulls
    from millcalc.report.measure_text import push_line

    pushes = []
    for axis in ("x", "y", "z"):
        given = text(form, axis).replace(",", " ").replace(" kg", "kg").split()
        if given:
            pulls = [_one(t, f"pulls along {axis.upper()}", units_read.force_n, "kg") for t in given]
            pushes.append(push_from_pulls(axis, pulls))
    if not pushes:
        raise InputError("no pulls", "the pull at which an axis stalled, such as 30 31 29", field="pulls")
    lines = [push_line(push) for push in pushes]
    change = axes_change("thrust_n", {p.axis: p.thrust_n for p in pushes}, machine, what="push")
    return Found(lines, tuple(doubt for p in pushes for doubt in p.doubts), change)


def _speed(form: FormData, machine: Machine) -> Found:
    from millcalc.measure.changes_axes import dial_change
    from millcalc.measure.spindle import dial_table, speed_counted, speed_from_tone

    per_turn = _number(text(form, "per_turn") or "1", "times a turn")
    points = []
    for i in range(MARKS):
        mark, tone, counted = (text(form, f"{name}-{i}") for name in ("mark", "tone", "count"))
        if tone:
            points.append(speed_from_tone(mark, _number(tone, f"pitch at mark {mark}"), per_turn))
        if counted:
            points.append(speed_counted(mark, _number(counted, f"counter at mark {mark}")))
    if not points:
        raise InputError("no mark", "a mark of the dial with its pitch or counted speed", field="marks")
    table = dial_table(points)
    lines = [f"mark {point.mark}: {point.rpm:.0f} rpm ({point.how})" for point in table]
    return Found(lines, tuple(d for p in table for d in p.doubts), dial_change(table, machine))


def _number(given: str, title: str) -> float:
    try:
        return float(given)
    except ValueError:
        raise InputError(repr(given), "a number with a point for decimals", field=title) from None


def _frequency(form: FormData, machine: Machine) -> Found:
    from millcalc.advise.lobes import mode_name, mode_stiffness_n_um
    from millcalc.measure.changes_axes import mode_change
    from millcalc.measure.recording import read_wav
    from millcalc.measure.tap import tap_from_signal
    from millcalc.report.measure_text import tap_lines
    from millcalc.tables import load_cutter

    axis, what = _axis(form), text(form, "what")
    given = upload(form, "wav")
    if given is None:
        raise InputError(
            "no recording", "a WAV file of a few taps, a second apart", "record it, or choose a file"
        )
    out, fitted = _length(form, "stickout", "stickout"), None
    if what == "cutter":
        if not text(form, "cutter") or out is None:
            raise InputError(
                "no cutter", "the cutter and its stickout: the mode belongs to them", field="cutter"
            )
        fitted = load_cutter(text(form, "cutter"))
    low, high = (15.0, 250.0) if what == "frame" else (250.0, 6000.0)
    with tempfile.TemporaryDirectory(prefix="millcalc-") as folder:
        path = Path(folder) / "recording.wav"
        path.write_bytes(given[1])
        try:
            rate, signal = read_wav(path)
        except InputError as error:
            raise InputError(error.found, error.accepted, error.action, field="recording") from None
    tap = tap_from_signal(rate, signal, low, high, "the recording")
    stiff = mode_stiffness_n_um(machine, axis, fitted, out)
    lines = [
        *tap_lines(tap),
        f"stiffness of this mode taken as the static one, {stiff:.3g} N/µm: the careful side is lower",
    ]
    change = mode_change(tap, machine, mode_name(axis, fitted, out), axis, stiff)
    return Found(lines, tuple(tap.doubts), change)


PROCEDURES = {
    one.key: one
    for one in (
        Procedure("stiffness", "Stiffness of the frame", "decides depth of cut; 20 minutes", _stiffness),
        Procedure("runout", "Run-out", "decides the smallest chip; 5 minutes", _runout),
        Procedure("speed", "Speed of the dial's marks", "so that the speed is the one that is meant", _speed),
        Procedure(
            "frequency", "Frequency from taps", "decides at which speeds it stays quiet", _frequency, True
        ),
        Procedure("thrust", "Push of the axes", "where a motor stalls", _thrust),
        Procedure("acceleration", "Acceleration", "which feeds are reached in small curves", _acceleration),
        Procedure("feed", "Real feed", "whether a millimetre is a millimetre", _feed),
    )
}


def steps_of(key: str) -> list[str]:
    """The procedure in steps, without its picture and without what is typed at a terminal.

    key: Of :data:`PROCEDURES`.
    Returns: Paragraphs.
    """
    from millcalc.measure.how import HOW

    found: list[str] = []
    begun = False
    for line in (raw.strip() for raw in HOW[key].strip("\n").split("\n")):
        if not line or _NOT_TOLD.search(line):
            begun = False
        elif begun and not _BEGINS.match(line):
            found[-1] += " " + line
        else:
            found.append(_BEGINS.sub(r"\2", line))
            begun = True
    return found
