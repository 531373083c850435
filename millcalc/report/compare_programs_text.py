"""Two programs side by side for a terminal."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Literal

from millcalc.check.cautions import FOOTER
from millcalc.check.compare import Compared, findings_by_code
from millcalc.check.run import Looked
from millcalc.gcode.summary import Extents, ProgramSummary
from millcalc.report.check_text import clock
from millcalc.report.compare_words import describe, event_text, line_text
from millcalc.report.console import can_show_unicode, plain
from millcalc.report.printer import Printer
from millcalc.units_show import MM_PER_INCH, System, show_length, show_number, show_speed

if TYPE_CHECKING:
    from rich.console import Console

SHOWN = 8  # stretches and events listed without --all
Side = Callable[[Looked, ProgramSummary], str]


def print_compared(
    console: Console, compared: Compared, units: System = "mm", *, everything: bool = False
) -> None:
    """Print two programs side by side and in what they differ.

    console: Where to print.
    compared: The comparison.
    units: ``mm`` or ``in``.
    everything: Every stretch that was kept instead of the first ones.
    """
    page = Printer(console, 2)
    page.say(_verdict(compared), 0, "bold")
    console.print(_table(console, compared, units))
    for text in _in_words(compared, units):
        page.say(text)
    difference = compared.difference
    shown = difference.stretches if everything else difference.stretches[:SHOWN]
    if shown:
        page.head("where, in the order of the program")
        for stretch in shown:
            where = f"{_lines(stretch.lines_a, stretch.lines_b)}: {', '.join(stretch.what.words)}"
            first = ", ".join(describe(compared, stretch, units))
            page.say(f"{where} ({_motions(stretch.count)}): {first}", hang=2)
        if stretch_rest := difference.stretch_count - len(shown):
            page.say(f"and {stretch_rest} more such places" + ("" if everything else " (--all)"))
        for name, looked, lines in (
            ("A", compared.a, shown[0].lines_a),
            ("B", compared.b, shown[0].lines_b),
        ):
            if lines:
                page.say(f"first, {name} {lines[0]}:  {line_text(looked.ctx.program, lines[0])}", keep=True)
    if difference.events:
        page.head("what only one of them does besides moving")
        listed = difference.events if everything else difference.events[:SHOWN]
        for change in listed:
            page.say(f"only {change.program}, line {change.event.line}: {event_text(change.event)}")
        if rest := len(difference.events) - len(listed):
            page.say(f"and {rest} more (--all)")
    page.raw("")
    page.say("A comparison says what differs, not that either is fit to run: millcalc check looks at that. "
             + FOOTER, style="dim", indent=0)  # fmt: skip


def short_verdict(compared: Compared) -> tuple[str, Literal["warning", "note"]]:
    """The answer of a comparison for the top of a page, and its sign.

    compared: Both programs.
    Returns: Three words, and whether there is something to look at.
    """
    return ("They do the same", "note") if compared.same else ("They differ", "warning")


def _verdict(compared: Compared) -> str:
    difference = compared.difference
    if difference.same_text:
        return "The files are the same, byte for byte."
    if compared.same:
        return "Another text, but the same motions, settings and events."
    if difference.same:
        return "The same as far as it was read, but a program was not read to its end."
    parts = []
    way = difference.changed_way + difference.only_a + difference.only_b
    if way:
        parts.append("the way")
    parts += [f"the {name}" for name in difference.settings]
    if difference.events:
        parts.append("what they do besides moving")
    return f"They differ in {' and '.join([', '.join(parts[:-1]), parts[-1]] if parts[1:] else parts)}."


def _table(console: Console, compared: Compared, units: System) -> object:
    from rich import box
    from rich.table import Table
    from rich.text import Text

    unicode = can_show_unicode(console.file)
    table = Table(box=box.SIMPLE_HEAD if unicode else box.ASCII2, pad_edge=False, padding=(0, 1))
    names = [looked.report.program.name for looked in (compared.a, compared.b)]
    table.add_column("")
    for letter, name in zip("AB", names, strict=True):
        table.add_column(Text(plain(f"{letter}: {name}", console.file)), overflow="fold")
    table.add_column("")
    for name, side in _rows(units):
        a = side(compared.a, compared.summary_a)
        b = side(compared.b, compared.summary_b)
        if a or b:
            table.add_row(
                name, *(Text(plain(v or "-", console.file)) for v in (a, b)), "" if a == b else "differs"
            )
    return table


def _rows(units: System) -> list[tuple[str, Side]]:
    """Quantities and how to say each for one program."""
    step = 1.0 if units == "mm" else 0.1
    rows: list[tuple[str, Side]] = [
        ("text", lambda k, s: f"{s.lines} lines, fingerprint {s.sha256[:6]}"),
        ("units", lambda k, s: ", ".join(k.report.program.units) or "not stated"),
        ("motions", lambda k, s: str(sum(s.motions.values()))),
    ]
    for axis, letter in enumerate("XYZ"):
        rows.append((f"{letter} at feed", lambda k, s, axis=axis: _range(s.feed_extents, axis, units)))  # type: ignore[misc]
    rows.append(("Z at rapid", lambda k, s: _range(s.rapid_extents, 2, units)))
    rows += [
        ("tools", lambda k, s: _tools(s)),
        ("feeds", lambda k, s: _span([f for t in s.tools for f in t.feeds_mm_min], lambda v: _feed(v, units))),
        ("speeds", lambda k, s: _span([v for t in s.tools for v in t.speeds_rpm], show_speed)),
        ("way at feed", lambda k, s: show_length(sum(t.feed_length_mm for t in s.tools), units, step)),
        ("runs", _runs),
        ("removed", lambda k, s: _removed(k, units)),
        ("findings", lambda k, s: _counts(k)),
    ]  # fmt: skip
    return rows


def _feed(value_mm_min: float, units: System) -> str:
    """A feed as programmed, not rounded to one that is easily set: two that differ must not read alike."""
    return f"{show_number(value_mm_min / (1.0 if units == 'mm' else MM_PER_INCH), 5)} {units}/min"


def _range(extents: Extents, axis: int, units: System) -> str:
    low, high = extents.low_mm[axis], extents.high_mm[axis]
    if low is None or high is None:
        return "unknown"
    ends = _signed(low, units), _signed(high, units)
    return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"


def _signed(value_mm: float, units: System) -> str:
    text = show_length(abs(value_mm), units)
    return f"-{text}" if value_mm < 0 and not text.startswith("0 ") else text


def _tools(summary: ProgramSummary) -> str:
    return ", ".join(f"T{tool.number}" if tool.number >= 0 else "none named" for tool in summary.tools)


def _span(values: list[float], show: Callable[[float], str]) -> str:
    if not values:
        return "none"
    low, high = show(min(values)), show(max(values))
    return low if low == high else f"{low} to {high}"


def _runs(looked: Looked, summary: ProgramSummary) -> str:
    times = looked.report.times
    if times is None:
        return f"{clock(sum(tool.feed_time_s for tool in summary.tools))} at the programmed feed, no rapids"
    quick, strict = clock(times.quick_s), clock(times.strict_s)
    return quick if quick == strict else f"{quick} to {strict}"


def _removed(looked: Looked, units: System) -> str:
    removed = looked.report.cut.removed_cm3
    if removed is None:
        return ""
    return f"{removed:.4g} cm³" if units == "mm" else f"{removed / (MM_PER_INCH / 10) ** 3:.4g} in³"


def _counts(looked: Looked) -> str:
    counts = [(looked.report.count(word), word) for word in ("stop", "warning", "note")]
    return ", ".join(f"{n} {word}{'s' if n != 1 else ''}" for n, word in counts if n) or "none"


def _in_words(compared: Compared, units: System) -> Iterator[str]:
    difference = compared.difference
    if difference.shift_mm is not None:
        moved = [
            f"{letter} {'+' if value > 0 else ''}{_signed(value, units)}"
            for letter, value in zip("XYZ", difference.shift_mm, strict=True)
            if abs(value) > 1e-9
        ]
        yield f"every motion of B ends {', '.join(moved)} from the one of A: the same way, moved"
    if difference.scale is not None:
        larger, smaller = ("B", "A") if difference.scale > 1 else ("A", "B")
        yield f"{larger} is {smaller} 25.4 times as large: one of them has the other unit"
    yield f"{_motions(difference.same_motions)} the same in everything"
    if difference.changed_way:
        yield f"{_motions(difference.changed_way)} on another way at the same place of the program"
    for letter, count in (("A", difference.only_a), ("B", difference.only_b)):
        if count:
            yield f"{_motions(count)} only in {letter}"
    for name, count in difference.settings.items():
        ratio = ""
        if name == "feed" and difference.feed_ratio:
            low, high = (show_number(v) for v in difference.feed_ratio)
            ratio = (
                f": B has {low} times that of A"
                if low == high
                else f": B has {low} to {high} times that of A"
            )
        yield f"{_motions(count)} with another {name}{ratio}"
    yield from _findings_in_words(compared)
    left = compared.left
    if left is None:
        if compared.a.ctx.setup is not None:
            yield f"what is left of the stock was not compared: {compared.left_missing}"
    elif left.area_mm2 > 0:
        more = "A leaves more there" if left.greatest_mm < 0 else "B leaves more there"
        area = (
            f"{show_number(left.area_mm2)} mm²"
            if units == "mm"
            else f"{show_number(left.area_mm2 / MM_PER_INCH**2)} in²"
        )
        yield (
            f"what is left of the stock differs over {area}, by up to {show_length(abs(left.greatest_mm), units)} "
            f"at X {_signed(left.x_mm, units)}, Y {_signed(left.y_mm, units)} ({more})"
        )
    else:
        yield "what is left of the stock is the same, as far as the cells show"


def _findings_in_words(compared: Compared) -> Iterator[str]:
    codes = [findings_by_code(looked.report) for looked in (compared.a, compared.b)]
    for letter, mine, other in (("A", codes[0], codes[1]), ("B", codes[1], codes[0])):
        only = [f"{code} ({severity})" for code, severity in mine.items() if code not in other]
        if only:
            yield f"findings only in {letter}: {', '.join(only)}"


def _motions(count: int) -> str:
    return f"{count} motion{'s' if count != 1 else ''}"


def _lines(a: tuple[int, int] | None, b: tuple[int, int] | None) -> str:
    def say(letter: str, lines: tuple[int, int] | None) -> str:
        if lines is None:
            return ""
        first, last = lines
        return f"{letter} {first}" if first == last else f"{letter} {first} to {last}"

    return ", ".join(text for text in (say("A", a), say("B", b)) if text)
