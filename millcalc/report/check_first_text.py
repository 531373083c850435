"""The first screen of ``millcalc check``: the verdict, the worst five, what is left, in 40 lines of 80 columns."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from millcalc.check.cautions import ALWAYS_SHORT, FOOTER_SHORT
from millcalc.check.model import BlockOut, CheckReport
from millcalc.report.check_text import STYLES, WORDS, capital, clock, grouped_by_fact, share_words
from millcalc.report.console import plain
from millcalc.report.headline import headline
from millcalc.report.wrapping import wrap
from millcalc.units_show import System, show_length

if TYPE_CHECKING:
    from rich.console import Console

_LINES = 40
_SHOWN = 5
Line = tuple[str, str]  # text, style


def print_first_check(console: Console, report: CheckReport, units: System = "mm") -> None:
    """Print a check in one screen; at least the worst finding is told, however long it is."""
    from rich.text import Text

    width = console.width

    def wrapped(text: str, indent: int = 0, hang: int = 2, style: str = "") -> list[Line]:
        room = max(20, width - indent)
        clean = plain(text, console.file)
        lines = wrap(clean, room, hang)
        return [(" " * indent + line.rstrip(), style) for line in lines]

    top = wrapped(headline(report), style="bold red" if report.count("stop") else "bold")
    for text in _facts(report, units):
        top += wrapped(text, 2)
    tail: list[Line] = []
    for text in _tail(report, units):
        tail += wrapped(text)
    room = _LINES - len(top) - len(tail) - 1
    told, blocks = 0, report.told()
    body: list[Line] = []
    for block in blocks[:_SHOWN]:
        lines = [part for text, indent, style in _block(report, block)
                 for part in wrapped(text, indent, 2, style)]  # fmt: skip
        if told and len(body) + len(lines) > room:
            break
        body, told = body + lines, told + 1
    rest = [report.findings[place].severity for block in blocks[told:] for place in block.findings]
    counted = [f"{rest.count(word)} {word}{'s' * (rest.count(word) != 1)}" for word in WORDS if word in rest]
    if rest:
        body += wrapped(f"and {len(rest)} more: {', '.join(counted)} (--all)", style="bold")
    for text, style in top + body + tail:
        console.print(Text(text, style=style, no_wrap=True, overflow="ignore"), crop=False)


def _facts(report: CheckReport, units: System) -> list[str]:
    program, setup = report.program, report.setup
    name = program.name if len(program.name) < 40 else program.name.replace("\\", "/").rsplit("/", 1)[-1]
    read = "" if program.complete else ", NOT READ TO THE END"
    if report.times is not None:
        read += f", runs {clock(report.times.strict_s)}"
    lines = [f"{name}: {program.lines} lines, fingerprint {program.sha256[:6]}{read}"]
    if setup.job is None:
        lines.append("no job file: only what the text alone shows was checked")
    else:
        size = " × ".join(show_length(v, units, 0.1 if units == "mm" else 0.01) for v in setup.stock_mm or ())
        lines.append(", ".join(part for part in (size, setup.material or "material unknown") if part))
    if report.learned is not None:
        lines.append(f"{report.learned.line()} (--no-learn)")
    if report.cut.judged_share is not None and report.cut.judged_share < 0.9995:
        lines.append(f"{share_words(report.cut.judged_share)} of the cutting length held against limits")
    return lines


def _block(report: CheckReport, block: BlockOut) -> list[tuple[str, int, str]]:
    """Head, fact, line and remedy of a block; what else it serves is counted."""
    head, *reasons = (report.findings[place] for place in block.findings)
    lines = [
        (f"{WORDS[head.severity]}  {head.title or head.code} ({head.code})", 0, STYLES[head.severity]),
        (capital(head.fact) + ".", 2, ""),
    ]
    marks = [mark for mark in head.marks if mark.text]
    mark = next((mark for mark in marks if mark.start > 0), marks[0] if marks else None)
    if mark is not None:
        program = "".join(ch if ch.isprintable() else " " for ch in mark.text.strip())
        lines.append((f"line {mark.line}:  {textwrap.shorten(program, 50, placeholder=' ...')}", 2, ""))
    elif head.line is not None:
        lines.append((f"line {head.line}", 2, ""))
    action = head.action if block.kind == "screws" else block.remedy
    if action:
        lines.append((f"→ {capital(action)}.", 2, ""))
    if reasons:
        codes = ", ".join(dict.fromkeys(finding.code for finding in reasons))
        lines.append((f"with it: {codes} (--all)", 4, "dim"))
    return lines


def _tail(report: CheckReport, units: System) -> list[str]:
    """What was accepted, what is near, what was not checked, what the person looks at: a line each."""
    lines = [
        f"accepted: {WORDS[e.finding.severity]} {e.finding.code} ({e.origin}: {e.reason})"
        for e in report.quieted
    ]
    lines += [f"{text} is accepted, but was not found this time" for text in report.unused_acceptances]
    if report.clearances:
        near = report.clearances[0]
        gap = show_length(abs(near.gap_mm), units)
        how = f"HIT by the {near.body}, overlap {gap}" if near.gap_mm < 0 else f"{gap} from the {near.body}"
        lines.append(f"nearest is {near.name}: {how}")
    if report.not_checked:
        groups = grouped_by_fact(report.not_checked)
        others = len(groups) - 1
        more = f" and for {others} more reason{'s' * (others != 1)}" if others else ""
        lines.append(f"not checked: {len(report.not_checked)}, because {groups[0][0]}{more} (--all)")
        if report.setup.job is None:
            lines.append("a job file tells the rest: millcalc new job")
    lines.append(f"look yourself before the start: {len(report.checklist)} questions (--all)")
    lines.append(f"mind: {ALWAYS_SHORT}")
    lines.append(FOOTER_SHORT)
    return lines
