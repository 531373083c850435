"""The whole result of ``millcalc check`` for a terminal: the worst first, never the word safe."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from millcalc.check.model import BlockOut, CheckReport, FindingOut, Mark, NotCheckedOut
from millcalc.report.console import plain
from millcalc.report.printer import Printer
from millcalc.units_show import System, show_length

if TYPE_CHECKING:
    from rich.console import Console

STYLES = {"stop": "bold red", "warning": "bold yellow", "note": "bold cyan"}
WORDS = {"stop": "STOP", "warning": "WARNING", "note": "NOTE"}


def print_check(console: Console, report: CheckReport, units: System = "mm") -> None:
    """Print a whole check: every finding in full, every check that was not made, the reasons and the sources.

    console: Where to print.
    report: What to print.
    units: ``mm`` or ``in``.
    """
    page = Printer(console)
    _top(page, report, units)
    _findings(page, report, units)
    _accepted(page, report)
    _not_checked(page, report)
    _person(page, report, units)
    page.console.print()
    page.say(_last_line(report), style="bold")


def _top(page: Printer, report: CheckReport, units: System) -> None:
    program, setup = report.program, report.setup
    page.say(f"{program.name}  ·  {report.verdict()}", style="bold")
    read = (
        f"{program.lines} lines, {program.motions} motions, {program.size_bytes} bytes, "
        f"fingerprint {program.sha256[:6]}"
    )
    if not program.complete:
        read += "; NOT READ TO THE END"
    page.say(read, indent=2)
    if setup.job is None:
        page.say("no job file: only what the text alone shows was checked", indent=2)
    else:
        parts = [setup.material or "material unknown", setup.machine or "machine unknown"]
        if setup.stock_mm:
            parts.insert(0, " × ".join(show_length(v, units, 0.1 if units == "mm" else 0.01)
                                       for v in setup.stock_mm))  # fmt: skip
        page.say(f"{setup.job}: " + ", ".join(parts), indent=2)
    if report.times is not None:
        quick, strict = clock(report.times.quick_s), clock(report.times.strict_s)
        span = quick if quick == strict else f"{quick} to {strict}"
        page.say(f"runs {span}, {clock(report.times.cutting_quick_s)} of it cutting", indent=2)
    if report.learned is not None:
        page.say(f"{report.learned.line()} (--no-learn)", indent=2, hang=2)
        if report.learned.reasons:
            page.say(report.learned.reasons, indent=4, hang=2)
    if report.cut.judged_share is not None:
        page.say(
            f"{share_words(report.cut.judged_share)} of the cutting length held against limits", indent=2
        )


def share_words(share: float) -> str:
    """A share as a person says it; all of it only where it is all.

    share: 0 to 1 [-].

    >>> share_words(1.0), share_words(0.998), share_words(0.6)
    ('100 %', '99 %', '60 %')
    """
    whole = 100 if share >= 0.9995 else min(99, round(100 * share))
    return f"{whole} %"


def clock(seconds: float) -> str:
    """A duration as a person says it.

    seconds: How long [s].
    Returns: Seconds, minutes or hours.

    >>> clock(12.2), clock(754)
    ('12 s', '12 min 34 s')
    """
    whole = math.floor(seconds + 0.5)  # as the page rounds it, too
    if whole < 90:
        return f"{whole} s"
    if whole < 5400:
        return f"{whole // 60} min {whole % 60:02d} s"
    return f"{whole // 3600} h {whole % 3600 // 60:02d} min"


JOINS = {
    "cause": "follows from it; check again once it is right:",
    "screws": "",
    "cut": "one place, one remedy, for:",
}


def _findings(page: Printer, report: CheckReport, units: System) -> None:
    for block in report.told():
        page.console.print()
        _block(page, report, block, units)


def _block(page: Printer, report: CheckReport, block: BlockOut, units: System) -> None:
    """The head in full with the remedy that serves all, and its reasons in a line each."""
    head, *reasons = (report.findings[place] for place in block.findings)
    if block.kind != "screws":
        head = head.model_copy(update={"action": block.remedy})
    _one(page, head, units)
    if not reasons:
        return
    if JOINS[block.kind]:
        page.say(JOINS[block.kind], indent=2)
    for finding in reasons:
        where = f" (line {finding.line})" if finding.line else ""
        text = f"{WORDS[finding.severity].lower()} {finding.code}{where}: {finding.fact}"
        text += f" → {finding.action}" if block.kind == "screws" else ""
        page.say(text, indent=4, hang=2)


def _one(page: Printer, finding: FindingOut, units: System) -> None:
    from rich.text import Text

    console = page.console
    left = f"{WORDS[finding.severity]}  {finding.title or finding.code}"
    gap = max(2, min(console.width, 100) - len(left) - len(finding.code))
    console.print(
        Text.assemble(
            (plain(left, console.file), STYLES[finding.severity]),
            " " * gap,
            (finding.code, "dim"),
            no_wrap=True,
        ),
        crop=False,
    )
    page.say(capital(finding.fact) + ".", indent=2)
    where = _where(finding, units)
    if where:
        page.say(where, indent=2, style="dim")
    for mark in finding.marks:
        _excerpt(page, mark)
    if finding.found or finding.expected:
        page.say(
            f"found {finding.found or 'nothing'}; expected {finding.expected or 'something else'}", indent=2
        )
    if finding.action:
        page.say(f"→ {capital(finding.action)}.", indent=2, hang=2)
    if finding.why:
        page.say(f"Why: {finding.why}", indent=2, hang=5, style="dim")
    if finding.source:
        page.say(f"From: {finding.source}", indent=2, style="dim")


def capital(text: str) -> str:
    """A sentence with a capital and without its full stop.

    text: Any.
    """
    text = text.strip().rstrip(".")
    return text[:1].upper() + text[1:]


def _where(finding: FindingOut, units: System) -> str:
    if finding.line is None:
        return f"{finding.count} such places" if finding.count > 1 else ""
    text = f"line {finding.line}"
    if finding.count > 1:
        text += f", the worst of {finding.count} lines"
        if finding.last_line is not None:
            text += f" ({finding.first_line or finding.line} to {finding.last_line})"
    place = finding.place_mm
    if place is not None:
        step = 0.1 if units == "mm" else 0.005
        text += "  ·  " + ", ".join(
            f"{axis} {show_length(value, units, step)}"
            for axis, value in (("X", place.x), ("Y", place.y), ("Z", place.z))
        )
    return text


def _excerpt(page: Printer, mark: Mark) -> None:
    """The program line and, below it, a bar under the words that are meant."""
    if not mark.text:
        return
    number = f"{mark.line:>7}  "
    text = mark.text.expandtabs(1)
    room = max(20, page.console.width - len(number) - 2)
    offset = 0
    if mark.end > room:
        offset = max(0, mark.start - room // 3)
    shown = _printable(text[offset : offset + room])
    page.say(number + shown, indent=2, keep=True)
    start, end = _columns(mark, offset, len(shown))
    if end > start:
        page.say(" " * (len(number) + start) + "~" * (end - start), indent=2, style="bold", keep=True)


def _printable(text: str) -> str:
    return "".join(ch if ch.isprintable() else "?" for ch in text)


def _columns(mark: Mark, offset: int, room: int) -> tuple[int, int]:
    """Character columns of a mark whose columns count bytes."""
    if mark.start <= 0:
        return 0, 0
    raw = mark.text.encode("utf-8")
    start = len(raw[: mark.start - 1].decode("utf-8", "ignore")) - offset
    end = len(raw[: mark.end - 1].decode("utf-8", "ignore")) - offset
    return max(0, start), min(room, end)


def _accepted(page: Printer, report: CheckReport) -> None:
    if not report.quieted and not report.unused_acceptances:
        return
    page.head("accepted by you")
    for entry in report.quieted:
        finding = entry.finding
        page.say(
            f"{WORDS[finding.severity]} {finding.code}: {finding.fact} ({entry.origin}: {entry.reason})",
            indent=2,
        )
    for text in report.unused_acceptances:
        page.say(f"{text} is accepted, but was not found this time", indent=2)


def grouped_by_fact(entries: tuple[NotCheckedOut, ...]) -> list[tuple[str, list[NotCheckedOut]]]:
    """Checks that were not made, by the missing fact, the one that stops most checks first.

    entries: What was not checked.
    Returns: Missing fact and the checks that wait for it.
    """
    groups: dict[str, list[NotCheckedOut]] = {}
    for entry in entries:
        groups.setdefault(entry.because, []).append(entry)
    return sorted(groups.items(), key=lambda item: -len(item[1]))


def _not_checked(page: Printer, report: CheckReport) -> None:
    if not report.not_checked:
        return
    page.head(f"not checked ({len(report.not_checked)}), because something is unknown")
    for because, entries in grouped_by_fact(report.not_checked):
        whats = ", ".join(dict.fromkeys(entry.what for entry in entries))
        text = f"{capital(because)}: {whats}"
        page.say(text if text.endswith("?") else f"{text}.", indent=2)
        names = list(dict.fromkeys(name for entry in entries for name in entry.fields))
        if names and report.setup.job is not None:
            page.say(f"→ write {', '.join(names[:4])}{' ...' if len(names) > 4 else ''} in the job", indent=4)
    if report.setup.job is None:
        page.say("→ millcalc new job makes a job file in two minutes", indent=4)


def _person(page: Printer, report: CheckReport, units: System) -> None:
    if report.setup.hold:
        page.head("what holds the work")
        for text in report.setup.hold_balance or report.setup.hold:
            page.say(text, indent=2)
    if report.clearances:
        page.head("nearest to screws and clamps")
        for entry in report.clearances:
            line = f" in line {entry.line}" if entry.line else ""
            gap, kept = show_length(abs(entry.gap_mm), units), show_length(entry.kept_mm, units)
            where = (
                f"HIT by the {entry.body}, overlap {gap}"
                if entry.gap_mm < 0
                else f"{gap} from the {entry.body}"
            )
            page.say(f"{entry.name}: {where}{line} ({kept} is kept)", indent=2)
    if report.times is not None and report.times.watch and report.times.quick_s > 120:
        page.head("be there at")
        page.say(
            "; ".join(f"{_minutes(w.from_s)} {w.what} (line {w.line})" for w in report.times.watch), indent=2
        )
    page.head("no check sees these; look yourself before the start")
    for text in report.checklist:
        page.say(f"[ ] {text}", indent=2, hang=4)
    page.head("mind")
    for text in report.cautions:
        page.say(f"! {text}", indent=2, hang=2)
    if report.setup.assumptions:
        page.head("taken for granted")
        for text in report.setup.assumptions:
            page.say(f"- {capital(text)}.", indent=2, hang=2)
    page.console.print()
    page.say(report.footer, style="dim")


def _minutes(seconds: float) -> str:
    return f"{int(seconds // 60)}:{int(seconds % 60):02d}"


def _last_line(report: CheckReport) -> str:
    waiting = f"; {len(report.not_checked)} more could not be checked" if report.not_checked else ""
    return capital(report.verdict()) + waiting + "."
