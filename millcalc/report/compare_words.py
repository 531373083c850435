"""What two programs differ in, in words."""

from __future__ import annotations

import numpy as np

from millcalc.check.compare import Compared
from millcalc.gcode.compare import Stretch
from millcalc.gcode.motions import KIND_NAMES, MotionTable
from millcalc.gcode.program import Event, Program
from millcalc.units_show import System, show_feed_as_is, show_length, show_number, show_speed

# what the reader calls an event, and what a machinist does; letters of the words that make them, where not G
EVENT_WORDS = {
    "tool select": "tool called for:",
    "tool change": "tool change to",
    "frame": "work offset",
    "shift": "coordinates shifted by",
    "home": "homing,",
}
_LETTERS = {"tool select": "T", "tool change": "T", "stop": "M", "optional stop": "M", "end": "M", "override": "M",
            "speed": "S", "feed": "F"}  # fmt: skip
SPINDLE_WORDS = {0: "off", 1: "clockwise", -1: "counter-clockwise", 2: "unknown"}


def describe(compared: Compared, stretch: Stretch, units: System = "mm") -> list[str]:
    """In what the first motion of a stretch differs, in words and numbers.

    compared: The comparison.
    stretch: One of its stretches.
    units: ``mm`` or ``in``.
    Returns: One entry a thing: ``feed 900 mm/min → 540 mm/min``.
    """
    one, two = compared.a.ctx.program.motions, compared.b.ctx.program.motions
    if stretch.motion_a is None or stretch.motion_b is None:
        table, row = (one, stretch.motion_a) if stretch.motion_a is not None else (two, stretch.motion_b)
        assert row is not None
        return [f"{KIND_NAMES[int(table.kind[row])]}{_to(table, row, units)}"]
    return _changes(one, stretch.motion_a, two, stretch.motion_b, stretch.what.words, units)


def _changes(
    one: MotionTable, i: int, two: MotionTable, j: int, words: tuple[str, ...], units: System
) -> list[str]:
    said: list[str] = []

    def change(name: str, before: str, after: str) -> None:
        if before != after:
            said.append(f"{name} {before} → {after}".strip())

    if "way" in words:
        change("", KIND_NAMES[int(one.kind[i])], KIND_NAMES[int(two.kind[j])])
        for name, column in (("", "end_mm"), ("centre ", "centre_mm")):
            for axis, letter in enumerate("XYZ"):
                before, after = getattr(one, column)[i, axis], getattr(two, column)[j, axis]
                change(f"{name}{letter}", _length(before, units), _length(after, units))
        if not said:
            for axis, letter in enumerate("XYZ"):
                before, after = one.start_mm[i, axis], two.start_mm[j, axis]
                change(f"from {letter}", _length(before, units), _length(after, units))
        if one.dwell_s[i] != two.dwell_s[j]:
            change("dwell", f"{one.dwell_s[i]:g} s", f"{two.dwell_s[j]:g} s")
    if "feed" in words:
        change("feed", _known(one.feed_mm_min[i], units, True), _known(two.feed_mm_min[j], units, True))
    if "speed" in words:
        change("speed", _known(one.spindle_rpm[i], units), _known(two.spindle_rpm[j], units))
    if "spindle state" in words:
        change("spindle", SPINDLE_WORDS[int(one.spindle_dir[i])], SPINDLE_WORDS[int(two.spindle_dir[j])])
    if "tool" in words:
        change("tool", _tool(int(one.tool[i])), _tool(int(two.tool[j])))
    if "coolant" in words:
        change("coolant", _coolant(int(one.coolant[i])), _coolant(int(two.coolant[j])))
    return said or ["less than can be shown"]


def _to(table: MotionTable, row: int, units: System) -> str:
    if table.dwell_s[row] > 0:
        return f" {show_number(float(table.dwell_s[row]))} s"
    moved = [
        f"{letter} {_length(table.end_mm[row, axis], units)}"
        for axis, letter in enumerate("XYZ")
        if not abs(table.end_mm[row, axis] - table.start_mm[row, axis]) < 1e-9
        and np.isfinite(table.end_mm[row, axis])
    ]
    return " to " + ", ".join(moved) if moved else ""


def _length(value: float, units: System) -> str:
    if not np.isfinite(value):
        return "unknown"
    text = show_length(abs(float(value)), units)
    return f"-{text}" if value < 0 and not text.startswith("0 ") else text


def _known(value: float, units: System, feed: bool = False) -> str:
    if not np.isfinite(value):
        return "none"
    return show_feed_as_is(float(value), units) if feed else show_speed(float(value))


def _tool(number: int) -> str:
    return f"T{number}" if number >= 0 else "none named"


def _coolant(bits: int) -> str:
    return {0: "off", 1: "mist", 2: "flood", 3: "mist and flood"}.get(bits, "unknown")


def event_text(event: Event) -> str:
    """An event in words.

    event: What a program does besides moving.
    Returns: ``spindle off``, ``stop M0`` and the like.
    """
    value = event.value if event.value == event.value else None
    if event.kind == "spindle" and value is not None:
        return "spindle " + ("off" if value == 0 else "clockwise" if value > 0 else "counter-clockwise")
    if event.kind == "coolant" and value is not None:
        return f"coolant {_coolant(int(value))}"
    kind = EVENT_WORDS.get(event.kind, event.kind)
    if value is not None:
        letter = _LETTERS.get(event.kind, "G")
        return f"{kind} {letter}{value:g}"
    return f"{kind} {event.text}".strip()


def line_text(program: Program, line: int) -> str:
    """Text of a line, blanks at its ends removed.

    program: The program.
    line: Line, 1-based [-].
    Returns: The text; empty for a line the program does not have.
    """
    return program.line_text(line).strip() if 1 <= line <= program.lines else ""
