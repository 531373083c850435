"""What every rewriting needs: the program, the job, and how to read, place and judge."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from millcalc.errors import ProgramError
from millcalc.findings import Finding, Severity
from millcalc.gcode.machine import Observer
from millcalc.gcode.program import Program
from millcalc.job.setup import Setup
from millcalc.preflight.context import Context
from millcalc.preflight.run import Outcome, run_rules


@dataclass(frozen=True)
class Desk:
    """A program and the means to look at it and at copies of it.

    data: The program as it is in its file.
    name: Its name.
    setup: The job.
    read: Reads bytes, told an observer of the blocks or None, as the job's controller would.
    place: Puts a program that was read on the job's stock and simulates its cut.
    quiet: Codes accepted for this run, with the reason.
    """

    data: bytes
    name: str
    setup: Setup | None
    read: Callable[[bytes, Observer | None], Program]
    place: Callable[[Program], Context]
    quiet: dict[str, str] = field(default_factory=dict)

    def look(self, data: bytes) -> Context:
        """Read a program and simulate its cut.

        data: The program.
        Returns: Ready for the rules.
        """
        return self.place(self.read(data, None))


def judged(ctx: Context) -> tuple[Outcome, tuple[Finding, ...]]:
    """Run every rule, and name the findings that keep a program from being called good.

    ctx: Program, job and simulated cut.
    Returns: Everything, and the stops and warnings that nobody accepted.
    """
    outcome = run_rules(ctx)
    return outcome, tuple(f for f in outcome.findings if f.severity >= Severity.WARNING)


def refuse_unreadable(program: Program, original: bytes) -> None:
    """Refuse a program whose text is not what a controller reads, or that cannot be read to its end.

    program: The program as read.
    original: The bytes of its file.
    Raises ProgramError: With the first reason and its line.
    """
    if program.data != original:
        raise ProgramError(
            "text stored as two bytes a character (UTF-16)",
            "plain text",
            "store the program again as plain text (ASCII or UTF-8)",
            file=program.name,
        )
    stops = [f for f in program.findings if f.severity == Severity.STOP]
    if stops:
        first = min(stops, key=lambda f: f.line or 0)
        raise ProgramError(
            f"{first.fact} ({first.code})",
            "a program that can be read from its first line to its last",
            first.action or "mend this first",
            file=program.name,
            line=first.line,
        )
    if not program.complete:
        raise ProgramError(
            "a program that was not read to its end",
            "a whole program",
            "millcalc check names the reason",
            file=program.name,
        )
    if not len(program.motions):
        raise ProgramError("a program that moves nothing", "a program with motions", file=program.name)
