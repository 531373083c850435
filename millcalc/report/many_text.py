"""The result of checking several programs: one table for a terminal, one list for other programs."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from millcalc.check.cautions import ALWAYS_SHORT, FOOTER_SHORT
from millcalc.check.many import Found, Row
from millcalc.check.model import FindingOut
from millcalc.report.check_text import STYLES, WORDS, clock
from millcalc.report.console import plain
from millcalc.report.printer import Printer

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

FORMAT_ERROR = "millcalc-check-error"
VERSION = 1
CHECKLIST_SHOWN = 5
_COUNTS_AND_GAPS = 26  # columns of the table for its indent, three counts and the gaps [-]
_LEAST_FINDING = 20  # columns for the worst finding: its sign, code and line [-]
# what each program's own list says in numbers, and how those lines begin
OWN = (
    "Zero touched off where this program's job says, and looked at from 5 mm above a known spot?",
    "The right cutter for this program fitted, measured, clean and tight?",
)
SAID = ("Zero", "The right cutter", "Cutter", "Shank")


def many_json(rows: Sequence[Row]) -> str:
    """The checks of several programs as JSON text.

    rows: What came of each.
    Returns: A list: of each program its report as ``--json`` gives it for one, or, where it could not be
      checked, an object of the format ``millcalc-check-error`` with program, job, error and exit code.
    """
    listed: list[dict[str, Any]] = []
    for row in rows:
        if row.report is not None:
            listed.append(row.report.model_dump(mode="json"))
        else:
            listed.append(
                {
                    "format": FORMAT_ERROR,
                    "version": VERSION,
                    "program": row.program,
                    "job": row.job,
                    "error": row.error,
                    "exit_code": row.failed_code,
                }
            )
    return json.dumps(listed, indent=2, ensure_ascii=True, allow_nan=False) + "\n"


def print_many(console: Console, rows: Sequence[Row], found: Found, seconds: float) -> None:
    """Print the checks of several programs as one table, worst first, and what the person looks at.

    console: Where to print.
    rows: What came of each.
    found: The programs that were found.
    seconds: How long it took in all [s].
    """
    page = Printer(console, 2)
    page.show(_table(page, rows))
    page.say()
    for text in _in_words(rows, found, seconds):
        page.say(text)
    reports = [row.report for row in rows if row.report is not None]
    if reports:
        questions = _checklist([report.checklist for report in reports])
        page.say(
            f"look yourself before each start: {len(questions)} questions and more, with the program (--all)"
        )
        page.say(f"mind: {ALWAYS_SHORT}")
        page.say(FOOTER_SHORT, style="dim")


def _table(page: Printer, rows: Sequence[Row]) -> Table:
    """A program a row, the worst first; names and findings are cut to what fits beside the numbers."""
    from rich.text import Text

    console = page.console
    times = [clock(row.report.times.quick_s) for row in rows if row.report and row.report.times]
    longest = max([len("runs"), *map(len, times)])
    room = console.width - longest - _COUNTS_AND_GAPS
    most = min(max([len("program"), *(len(row.program) for row in rows)]), room - _LEAST_FINDING)
    table = page.table(
        [("program", "left"), *((word, "right") for word in ("stops", "warn", "notes")), ("worst finding", "left"),
         ("runs", "right")]
    )  # fmt: skip

    def text(words: str, style: str = "") -> Text:
        return Text(plain(words, console.file), style=style)

    def cut(words: str, style: str = "") -> Text:
        shown, end = plain(words, console.file), plain("…", console.file)
        kept = room - most
        for mark in (
            ":",
            " line ",
        ):  # code and line tell more than half of a title, and half a number misleads
            if len(shown) > kept:
                shown = shown.partition(mark)[0]
        return Text(shown if len(shown) <= kept else shown[: kept - len(end)] + end, style=style)

    for row in sorted(rows, key=_rank):
        name = text(_tail(plain(row.program, console.file), most, plain("…", console.file)))
        if row.report is None:
            table.add_row(name, "", "", "", text("NOT CHECKED", "bold red"), "")
            continue
        report = row.report
        worst = report.findings[0] if report.findings else None
        style = STYLES[worst.severity] if worst else ""
        runs = clock(report.times.quick_s) if report.times else "-"
        counts = [report.count(word) for word in ("stop", "warning", "note")]
        said = _worst(worst) if worst else "no problem found in what was checked"
        table.add_row(
            name,
            *(
                text(str(number) if number else "-", style if place == 0 else "")
                for place, number in enumerate(counts)
            ),
            cut(said if report.program.complete else f"NOT READ TO THE END; {said}", style),
            text(runs),
        )
    return table


def _tail(name: str, most: int, mark: str) -> str:
    """The end of a path, which tells programs apart."""
    return name if len(name) <= most else mark + name[len(name) - most + len(mark) :]


def _in_words(rows: Sequence[Row], found: Found, seconds: float) -> list[str]:
    """What the table does not say: counts, what was passed over, what facts are missing."""
    said: list[str] = []
    checked = [row for row in rows if row.report is not None]
    of = f"{len(checked)} of {_many(len(rows), 'program')}"
    said.append(f"{of} checked in {seconds:.1f} s; runs: time on the machine, without stops at corners")
    if found.passed_over:
        said.append(f"not looked at: {_many(found.passed_over, 'other file')} that do not end as programs do")
    for folder in found.unreadable:
        said.append(f"could not be looked into: {folder}")
    said += [f"{row.program}: {row.error}" for row in rows if row.report is None]
    jobs = dict.fromkeys(row.report.setup.job for row in checked if row.report and row.report.setup.job)
    if jobs:
        said.append(f"judged by {', '.join(jobs)}")
    alone = [row.program for row in checked if row.report and row.report.setup.job is None]
    if alone:
        said.append(
            f"{_many(len(alone), 'program')} without a job: only the text was checked. A job counts when it lies "
            "beside the program as job.yaml and its field `program` names it, or is given with --job for all"
        )
    waiting = [(row.program, len(row.report.not_checked)) for row in checked if row.report]
    most = max(waiting, key=lambda item: item[1], default=("", 0))
    if most[1]:
        total = sum(number for _, number in waiting)
        most_of = f", {most[1]} of them for {most[0]}" if len(rows) > 1 else ""
        said.append(f"not checked, because facts are missing: {_many(total, 'thing')}{most_of}")
    quieted = sum(len(row.report.quieted) for row in checked if row.report)
    if quieted:
        said.append(f"accepted by you and not counted: {_many(quieted, 'finding')}")
    said.append("millcalc check PROGRAM --job JOB tells one in full; --all tells them all")
    return said


def _rank(row: Row) -> tuple[int, int, int]:
    """Worst first: not checked, most stops, most warnings."""
    if row.report is None:
        return (0, 0, 0)
    return (1, -row.report.count("stop"), -row.report.count("warning"))


def _worst(finding: FindingOut) -> str:
    where = f" line {finding.line}" if finding.line else ""
    return f"{WORDS[finding.severity]} {finding.code}{where}: {finding.title or finding.fact}"


def _checklist(lists: list[tuple[str, ...]]) -> list[str]:
    """What is to be looked at before every one of the programs."""
    if len(lists) == 1:
        return list(lists[0][:CHECKLIST_SHOWN])
    common = [line for line in lists[0] if all(line in other for other in lists[1:])]
    return [*OWN, *(line for line in common if not line.startswith(SAID))][:CHECKLIST_SHOWN]


def _many(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
