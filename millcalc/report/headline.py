"""The verdict of a check in one line: for the first screen, the page's banner and the sheet."""

from __future__ import annotations

from typing import Literal

from millcalc.check.model import CheckReport

Level = Literal["stop", "warning", "note"]
NOTHING = "cuts nothing: no feed motion of it was found to meet the stock or to go below its travel height"


def level(report: CheckReport) -> Level:
    """How bad the worst finding is; a note where there is none.

    report: What was found.
    Returns: ``stop``, ``warning`` or ``note``.
    """
    words: tuple[Level, ...] = ("stop", "warning")
    return next((word for word in words if report.count(word)), "note")


def cuts_nothing(report: CheckReport) -> bool:
    """Whether no cut was found in the program.

    report: What was found.
    Returns: True for a text, an empty file, or a program that only moves through the air.
    """
    return not any(tool.cut_length_mm > 0 for tool in report.program.tools)


def headline(report: CheckReport) -> str:
    """The verdict in one line; never that anything is without danger.

    report: What was found.
    Returns: Whether it must not be run, whether it cuts at all, and how much there is to look at.
    """
    stops = report.count("stop")
    look = len(report.findings) - stops
    if stops:
        more = f", {look} more to look at" if look else ""
        return f"Do not run: {stops} stop{'s' * (stops != 1)}{more}" + (
            "; it cuts nothing" if cuts_nothing(report) else ""
        )
    things = f"{look} thing{'s' * (look != 1)} to look at" if look else "nothing to look at"
    if cuts_nothing(report):
        return f"It {NOTHING}; {things}"
    return f"No stop found, {things} in the {len(report.checked)} things checked"


def banner(report: CheckReport) -> str:
    """The verdict as the page and the sheet show it, large.

    report: What was found.
    Returns: A few words; the counts of the rest stand beside it.
    """
    stops, warnings = report.count("stop"), report.count("warning")
    if stops:
        return f"Do not run: {stops} stop{'s' * (stops != 1)}"
    if cuts_nothing(report):
        return "It cuts nothing"
    if warnings:
        return f"No stop found: look at {warnings} warning{'s' * (warnings != 1)} first"
    things = report.count("note") + len(report.checklist)
    return f"No stop, no warning found: {things} things to look at yourself"
