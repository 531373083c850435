"""What ``millcalc show`` prints: a program's extents, tools, words and stops."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from millcalc.gcode.program import Program
from millcalc.gcode.summary import Extents, ProgramSummary, ToolUse
from millcalc.report.check_text import clock
from millcalc.report.compare_words import event_text
from millcalc.report.console import plain
from millcalc.report.printer import Printer
from millcalc.units_show import System, show_length, show_number, show_speed

if TYPE_CHECKING:
    from rich.console import Console

SCHEMA = "millcalc-program/1"
_MOST_EVENTS = 12
_READ_FOR = {"any": "any controller"}  # what a profile's name does not say by itself


def summary_data(program: Program, summary: ProgramSummary) -> dict[str, Any]:
    """A summary as JSON-ready data; lengths in mm, feeds in mm/min, times in s.

    program: The program.
    summary: Its summary.
    Returns: Only strings, numbers, booleans, lists, dicts and None.
    """
    data = {"schema": SCHEMA, **asdict(summary)}
    for event in data["events"]:
        if event["value"] != event["value"]:
            event["value"] = None
    data["findings"] = [
        {"code": f.code, "severity": f.severity.word, "line": f.line, "fact": f.fact, "count": f.count}
        for f in program.findings
    ]
    return data


def print_summary(console: Console, program: Program, summary: ProgramSummary, units: System = "mm") -> None:
    """Print a program's summary.

    console: Where to print.
    program: The program.
    summary: Its summary.
    units: ``mm`` or ``in``.
    """
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    page = Printer(console, 2)
    say, head = page.say, page.head

    console.print(Text(plain(summary.name or "program", console.file), style="bold"))
    say(
        f"{summary.lines} lines, {summary.bytes_read} bytes, fingerprint {summary.sha256[:6]}, "
        f"read for {_READ_FOR.get(summary.profile, summary.profile)}"
        + ("" if summary.complete else "; NOT READ TO ITS END")
    )
    say("motions: " + (_counts(summary.motions) or "none"))
    if summary.unknown_ends:
        one = summary.unknown_ends == 1
        count = "1 motion has" if one else f"{summary.unknown_ends} motions have"
        say(f"{count} an end that the program does not determine")
    head("Extents of the tool tip, in program coordinates")
    grid = Table.grid(padding=(0, 3))
    for name, extents in (("at feed", summary.feed_extents), ("at rapid", summary.rapid_extents)):
        grid.add_row(name, *(plain(cell, console.file) for cell in _extent_cells(extents, units)))
    console.print(Padding(grid, (0, 0, 0, 2)))
    head("Tools, in the order they are used (times at the programmed feed, without acceleration)")
    for tool in summary.tools:
        for line in _tool_lines(tool, units):
            say(line)
    head("Words")
    say("codes: " + (_counts(summary.codes) or "none"))
    say("letters: " + (_counts(summary.letters) or "none"))
    if summary.not_understood:
        say("not understood: " + _counts(summary.not_understood), style="bold")
    else:
        say("every word was understood")
    if summary.events:
        head("Stops, tool changes, messages")
        for event in summary.events[:_MOST_EVENTS]:
            words = event_text(event)
            text = f", {event.text}" if event.text and event.text not in words else ""
            say(f"line {event.line}: {words}{text}")
        if len(summary.events) > _MOST_EVENTS:
            say(f"and {len(summary.events) - _MOST_EVENTS} more")
    if program.findings:
        head("What the reader has to say")
        for finding in program.findings[:_MOST_EVENTS]:
            where = f"line {finding.line}: " if finding.line else ""
            say(f"{finding.severity.word} {finding.code}: {where}{finding.fact}")
        if len(program.findings) > _MOST_EVENTS:
            say(f"and {len(program.findings) - _MOST_EVENTS} more: millcalc check lists them")
    console.print()
    say("a summary is no check: run millcalc check before the spindle starts", style="dim")


def _counts(counts: dict[str, int]) -> str:
    """``G1 ×20, G0 ×3`` by falling count."""
    ordered: Iterable[tuple[str, int]] = sorted(counts.items(), key=lambda item: (-item[1], item[0]))
    return ", ".join(f"{name} ×{count}" for name, count in ordered if count)


def _extent_cells(extents: Extents, units: System) -> list[str]:
    """X, Y and Z ranges."""
    cells = []
    for axis, low, high in zip("XYZ", extents.low_mm, extents.high_mm, strict=True):
        if low is None or high is None:
            cells.append(f"{axis} unknown")
        else:
            cells.append(f"{axis} {_signed(low, units)} to {_signed(high, units)}")
    return cells


def _signed(value_mm: float, units: System) -> str:
    text = show_length(abs(value_mm), units)
    return f"-{text}" if value_mm < 0 and not text.startswith("0 ") else text


def _as_written(feed_mm_min: float, units: System) -> str:
    """A feed to the digits a program has, not rounded down as one to set."""
    value = feed_mm_min if units == "mm" else feed_mm_min / 25.4
    return f"{show_number(value, 6)} {units}/min"


def _tool_lines(tool: ToolUse, units: System) -> list[str]:
    """Two or three lines about a tool."""
    name = f"T{tool.number}" if tool.number >= 0 else "no tool named"
    lines = [
        f"{name}: lines {tool.first_line} to {tool.last_line}, "
        f"{show_length(tool.feed_length_mm, units)} at feed in {clock(tool.feed_time_s)}, "
        f"{show_length(tool.rapid_length_mm, units)} at rapid"
        + (f", dwells {show_number(tool.dwell_time_s)} s" if tool.dwell_time_s else "")
        + (f", {tool.untimed} motion{'s' * (tool.untimed != 1)} without a known time" if tool.untimed else "")
    ]
    feeds = ", ".join(_as_written(value, units) for value in tool.feeds_mm_min) or "none"
    speeds = ", ".join(show_speed(value) for value in tool.speeds_rpm) or "none"
    lines.append(f"    feeds {feeds}")
    depth = "" if tool.low_z_mm is None else f"; lowest Z {_signed(tool.low_z_mm, units)}"
    lines.append(f"    speeds {speeds}{depth}")
    return lines
