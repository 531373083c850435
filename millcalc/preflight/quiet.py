"""Rules a person has accepted: for this run, in the job, or by a comment in the program.

The comment is ``(millcalc: accept CODE: reason)``; without a reason it counts for nothing, and that is said.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from millcalc.findings import Finding, Severity, Span

if TYPE_CHECKING:
    from millcalc.preflight.context import Context

COMMENT = re.compile(r"^\s*millcalc\s*:\s*(.*)$", re.IGNORECASE)
ACCEPT = re.compile(r"^accept\s+([A-Z]+-\d+)\s*:\s*(\S.{2,})$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Acceptance:
    """A rule accepted by the person.

    code: Code of the rule.
    reason: The person's reason.
    origin: ``this run``, ``job file`` or ``program line N``.
    """

    code: str
    reason: str
    origin: str


@dataclass(frozen=True, slots=True)
class Quieted:
    """A finding that was accepted, and by what."""

    finding: Finding
    acceptance: Acceptance


def acceptances(ctx: Context) -> tuple[dict[str, Acceptance], list[Finding]]:
    """All acceptances in force, and findings about those that cannot be used.

    ctx: Run options, job and program.
    Returns: Acceptance by code; notes on comments that were not understood and on unknown codes.
    """
    from millcalc.preflight.rules import all_rules

    accepted: dict[str, Acceptance] = {}
    notes: list[Finding] = []
    for event in ctx.say.events("comment") + ctx.say.events("message"):
        comment = COMMENT.match(event.text)
        if not comment:
            continue
        match = ACCEPT.match(comment.group(1))
        if match:
            code = match.group(1).upper()
            accepted[code] = Acceptance(code, match.group(2).strip(), f"program line {event.line}")
        else:
            notes.append(_note(f"the comment asks for something, but is not understood: {event.text.strip()}",
                               event.line))  # fmt: skip
    if ctx.setup:
        for entry in ctx.setup.job.quiet:
            accepted[entry.code.upper()] = Acceptance(entry.code.upper(), entry.reason, "job file")
    for code, reason in ctx.quiet.items():
        accepted[code.upper()] = Acceptance(code.upper(), reason, "this run")
    known = {rule.code for rule in all_rules()} | reader_codes()
    for code in [code for code in accepted if code not in known]:
        notes.append(_note(f"{code} is accepted ({accepted[code].origin}), but there is no such rule"))
        del accepted[code]
    return accepted, notes


def reader_codes() -> set[str]:
    """Codes of the reader's own findings, so that they can be accepted too.

    Returns: The codes.
    """
    from millcalc.gcode.codes import CODES

    return set(CODES)


def _note(fact: str, line: int | None = None) -> Finding:
    return Finding(
        "QUIET-01",
        Severity.NOTE,
        fact,
        "write (millcalc: accept CODE: reason) with a code out of this report and a reason",
        "an acceptance that is not understood accepts nothing",
        (Span(line),) if line else (),
        source="millcalc",
    )
