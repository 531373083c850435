"""``millcalc new``: write a job file by answering a few questions."""

from __future__ import annotations

from pathlib import Path

import typer

from millcalc.cli.options import Target
from millcalc.cli.say import answer_to, say

app = typer.Typer(no_args_is_help=True, rich_markup_mode=None, help="Write a new job file.")


@app.callback()
def _root() -> None:
    """Write a new job file."""


@app.command("job")
def job(
    path: Target = Path("job.yaml"),
) -> None:
    """Ask for the set-up of a job and write a commented job file; an empty answer leaves a field unknown."""
    from millcalc.job import run_new_job

    def ask(question: object) -> str:
        try:
            return answer_to(str(question))
        except EOFError:
            return ""

    run_new_job(path, ask, say)
