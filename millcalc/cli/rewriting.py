"""What lift, restart and correct share: the desk, accepted findings, and plain printing."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from millcalc.cli.common import compile_notice
from millcalc.errors import InputError

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


def accepted(entries: Iterable[str] | None) -> dict[str, str]:
    """Accepted findings from the command line.

    entries: Texts like ``SCREW-05=measured them``.
    Returns: Reason by code.
    Raises InputError: If one has no reason.
    """
    quiet = {}
    for entry in entries or ():
        code, _, reason = entry.partition("=")
        if len(reason.strip()) < 3:
            raise InputError(
                repr(entry), "CODE=reason", "say why it is accepted; it is printed", field="--accept"
            )
        quiet[code.strip().upper()] = reason.strip()
    return quiet


class Page:
    """Prints wrapped lines with plain characters where the stream needs them."""

    def __init__(self, console: Console | None = None) -> None:
        from millcalc.report.console import make_console

        self.console = console or make_console()

    def say(self, text: str = "", *, indent: int = 0, hang: int = 0, style: str = "") -> None:
        """Print a text, wrapped at the width and indented."""
        from rich.text import Text

        from millcalc.report.console import plain

        room = max(20, self.console.width - indent)
        shown = plain(text, self.console.file)
        lines = textwrap.wrap(shown, room, subsequent_indent=" " * hang, break_on_hyphens=False) or [""]
        for line in lines:
            self.console.print(
                Text(" " * indent + line.rstrip(), style=style, no_wrap=True, overflow="ignore"), crop=False
            )

    def row(self, text: str, *, indent: int = 2, style: str = "") -> None:
        """Print one line as it is, cut off at the width."""
        from rich.text import Text

        from millcalc.report.console import plain

        shown = plain(text, self.console.file)
        room = max(20, self.console.width - indent)
        if len(shown) > room:
            cut = plain("…", self.console.file)
            shown = shown[: room - len(cut)] + cut
        self.console.print(
            Text(" " * indent + shown, style=style, no_wrap=True, overflow="ignore"), crop=False
        )

    def head(self, text: str) -> None:
        """Print a heading after an empty line."""
        self.say()
        self.say(text, style="bold")

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
