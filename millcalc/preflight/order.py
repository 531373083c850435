"""Which findings come first, and which of the reader's equal ones are told as one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from millcalc.findings import Finding, Span

# what breaks things first: the crash before the spoiled part before the slow job
FAMILY_ORDER = (
    "SCREW", "ZERO", "RAPID", "LOOSE", "SPIN", "HOLDER", "BED", "TRAVEL", "PLUNGE", "TOOL", "STOCK",
    "DEPTH", "FORCE", "FEED", "MODE", "ARC", "CYCLE", "COMP", "FLOW", "PARAM", "WORD", "TEXT", "TIME",
    "QUIET",
)  # fmt: skip
_RANK = {family: rank for rank, family in enumerate(FAMILY_ORDER)}


def sort_key(finding: Finding) -> tuple[int, int, int, str]:
    """Severity first, then what breaks things first, then the place in the program.

    finding: Any finding.
    Returns: A key for sorting, worst first.
    """
    family = finding.code.split("-")[0]
    return -int(finding.severity), _RANK.get(family, len(_RANK)), finding.line or 0, finding.code


def grouped(findings: Iterable[Finding]) -> list[Finding]:
    """Join equal findings: same code, severity, action and expectation.

    findings: In program order.
    Returns: One for each kind: the first one met, with count and last line; the numbers are those of the
      worst where both findings carry a measured value and a limit.
    """
    kept: dict[tuple[object, ...], Finding] = {}
    for finding in findings:
        key = (finding.code, finding.severity, finding.action, finding.expected, finding.tool)
        old = kept.get(key)
        if old is None:
            kept[key] = finding
            continue
        main = finding if _excess(finding) > _excess(old) else old
        lines = [s.line for f in (old, finding) for s in f.spans]
        lines += [f.last_line for f in (old, finding) if f.last_line is not None]
        spans = main.spans
        if (
            lines and main.line is not None and min(lines) < main.line
        ):  # the worst comes later: name the first, too
            first = Span(min(lines))
            spans = spans if first in spans else (*spans, first)
        count, last = old.count + finding.count, max(lines) if lines else None
        kept[key] = replace(main, spans=spans, count=count, last_line=last)
    return list(kept.values())


def _excess(finding: Finding) -> float:
    if finding.measured is None or finding.limit is None:
        return 0.0
    return abs(finding.measured - finding.limit)
