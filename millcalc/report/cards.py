"""Findings about one place as one card with one remedy."""

from __future__ import annotations

import math
from dataclasses import dataclass

from millcalc.check.model import BlockOut, CheckReport, FindingOut

NEAR_MM = 0.5  # mm; findings of one line that are closer than this are about one place
JOINED = {
    "cause": "Follows from it; check again once it is right:",
    "screws": "And these:",
    "cut": "One place, one remedy, for:",
    "single": "",
}


@dataclass(frozen=True)
class Card:
    """What is told together.

    findings: Places in the report's list, the head first [-].
    remedies: Whole edits, each once, that satisfy all of them.
    joined: Why the others stand here, in words; empty for one finding.
    """

    findings: tuple[int, ...]
    remedies: tuple[str, ...]
    joined: str = ""


def cards(report: CheckReport) -> tuple[Card, ...]:
    """Blocks of a report, those about one place in one card.

    report: What was found.
    Returns: In the order of their first finding; each finding is in exactly one.
    """
    made: list[Card] = []
    told = list(report.told())
    while told:
        head = told.pop(0)
        same = [block for block in told if _one_place(report, head, block)]
        told = [block for block in told if block not in same]
        places = [place for block in (head, *same) for place in block.findings]
        remedies = [text for block in (head, *same) for text in _remedies(report, block)]
        joined = JOINED[head.kind] or ("At the same place:" if same else "")
        made.append(Card(tuple(places), tuple(dict.fromkeys(filter(None, remedies))), joined))
    return tuple(made)


def _remedies(report: CheckReport, block: BlockOut) -> list[str]:
    if block.kind == "screws":
        return [report.findings[place].action for place in block.findings]
    return [block.remedy]


def _one_place(report: CheckReport, one: BlockOut, other: BlockOut) -> bool:
    """Whether two blocks are about the same line at the same place; causes stay alone."""
    if "cause" in (one.kind, other.kind):
        return False
    a, b = report.findings[one.findings[0]], report.findings[other.findings[0]]
    return a.line is not None and a.line == b.line and _distance_mm(a, b) <= NEAR_MM


def _distance_mm(a: FindingOut, b: FindingOut) -> float:
    if a.place_mm is None or b.place_mm is None:
        return math.inf
    return math.hypot(a.place_mm.x - b.place_mm.x, a.place_mm.y - b.place_mm.y)
