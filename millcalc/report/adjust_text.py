"""The answer of ``millcalc adjust`` for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from millcalc.advise.adjust import Adjustment, RankedCause
from millcalc.advise.adjust_data import Cause, Symptom
from millcalc.check.cautions import FOOTER
from millcalc.report.printer import Printer
from millcalc.units_show import System, show_chip_load, show_feed_as_is, show_length, show_speed

if TYPE_CHECKING:
    from rich.console import Console


def question_text(symptom: Symptom, rows: tuple[Cause, ...]) -> str:
    """The one question with its answers.

    symptom: What is asked about.
    rows: Possible answers.
    Returns: Several lines.
    """
    width = max(len(row.answer) for row in rows)
    lines = [f"{row.answer:<{width}}  {row.says}" for row in rows]
    return "\n".join([symptom.ask, *("  " + line for line in lines)])


def settings_text(answer: Adjustment, units: System = "mm") -> str:
    """The settings in use on one line.

    answer: The answer.
    units: ``mm`` or ``in``.
    Returns: One line.
    """
    used = answer.used
    return (
        f"in use: {used.cut}, {show_speed(used.speed_rpm)}, {show_feed_as_is(used.feed_mm_min, units)} (chip load "
        f"{show_chip_load(used.feed_per_tooth_mm, units)}), depth {show_length(used.depth_mm, units)}, width "
        f"{show_length(used.width_mm, units)}, stickout {show_length(used.tooling.stickout_mm, units)}; judged "
        + (
            "as proven, every limit in full"
            if used.proven
            else "as a first cut (--proven: every limit in full)"
        )
    )


def print_adjustment(console: Console, answer: Adjustment, units: System = "mm") -> None:
    """Print causes and next settings.

    console: Where to print.
    answer: The answer.
    units: ``mm`` or ``in``.
    """

    page = Printer(console, 2)
    say = page.say

    tooling = answer.used.tooling
    say(
        f"{answer.symptom.title}: {tooling.cutter.title} in {tooling.material.title} on {tooling.machine.title}",
        0,
        "bold",
    )
    if answer.symptom.stop:
        say(answer.symptom.stop, 0, "bold red")
    say(settings_text(answer, units), 0)
    if answer.contradiction:
        say("but: " + answer.contradiction, 0, "bold")
    for number, cause in enumerate(answer.causes, start=1):
        console.print()
        _print_cause(say, number, cause, first=number == 1)
    console.print()
    say(
        "One change at a time, on scrap first, hand on the stop; then ask again, or log it: millcalc log add.",
        0,
    )
    say("In this order the causes are likely; nothing here was seen by millcalc. " + FOOTER, 0)


def _print_cause(say, number: int, cause: RankedCause, first: bool) -> None:  # type: ignore[no-untyped-def]
    row = cause.row
    label = "likeliest" if first else ("as answered" if cause.answered else "also possible")
    say(f"{number}. {row.cause}  ({label}{'' if cause.answered else f', if {row.says}'})", 0, "bold")
    say("the model: " + cause.evidence.text)
    if not first:
        if cause.changes:
            say("then change: " + cause.changes[0].what)
        for left in cause.not_possible if cause.answered else ():
            say(f"not: {left.why}")
        return
    if cause.changes:
        say("change first: " + cause.changes[0].what, style="bold")
        if cause.changes[0].over:
            say("still over with it: " + ", ".join(cause.changes[0].over))
        for later in cause.changes[1:]:
            say("if that is not enough: " + later.what)
    for left in cause.not_possible:
        say(f"not: {left.why}")
    say("by hand: " + row.then)
    say("look for: " + row.look)
    say("never: " + row.never)
