"""``millcalc check``: look a program over before it is run."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from millcalc.cli.common import Units, compile_notice

if TYPE_CHECKING:
    from rich.console import Console

    from millcalc.report.model import CheckReport


def command() -> None: ...
def report_on(program: Path, job: Path, console: Console | None = None) -> CheckReport: ...
