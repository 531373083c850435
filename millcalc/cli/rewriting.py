"""What lift, restart and correct share: the desk, accepted findings, and plain printing."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from millcalc.cli.common import compile_notice
from millcalc.report.console import make_console
from millcalc.report.printer import Printer

if TYPE_CHECKING:
    from rich.console import Console

    from millcalc.check.prepare import CheckOptions
    from millcalc.findings import Finding
    from millcalc.rewrite.desk import Desk

NOT_A_PROMISE = (
    "millcalc is an aid, not a guarantee: it looked at the program and the job, not at your machine. "
    "You decide."
)


def make_desk(program: Path, job: Path | None, options: CheckOptions) -> Desk:
    """Read the files and put them on a desk.

    program: Program file.
    job: Job file.
    options: Profile, block delete, accepted findings, units.
    Returns: Ready for rewriting.
    """
    from millcalc.check.desk import desk_for

    compile_notice(program, simulates=job is not None)
    return desk_for(program, job, options)


class Page(Printer):
    """A printer of copies: findings and boxes to tick besides.

    console: Where to print; left out, standard output.
    """

    def __init__(self, console: Console | None = None) -> None:
        super().__init__(console or make_console())

    def findings(self, found: Iterable[Finding]) -> None:
        """Print findings: what, where and what to do."""
        for finding in found:
            where = f"line {finding.line}: " if finding.line else ""
            more = f" ({finding.count} lines)" if finding.count > 1 else ""
            self.say(
                f"{finding.severity.word.upper()} {finding.code} {where}{finding.fact}{more}",
                indent=2,
                hang=2,
            )
            if finding.action:
                self.say(f"→ {finding.action}", indent=4, hang=2)

    def boxes(self, items: Iterable[str]) -> None:
        """Print things for the person to tick off."""
        for item in items:
            self.say(f"[ ] {item}", indent=2, hang=4)
