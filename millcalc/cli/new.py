"""``millcalc new``: a job, a machine, a cutter or a shop by answering a few questions."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import typer

from millcalc.cli.lazy import Group
from millcalc.cli.options import Target
from millcalc.cli.say import answer_to, say

app = typer.Typer(
    cls=Group,
    no_args_is_help=True,
    rich_markup_mode=None,
    add_completion=False,
    help="Write a new job, machine, cutter or shop file.",
)


@app.callback()
def _root() -> None:
    """Write a new job, machine, cutter or shop file by answering a few questions."""


@app.command("job")
def job(out: Target = Path("job.yaml")) -> None:
    """Ask for the set-up of a job and write a commented job file; an empty answer leaves a field unknown."""
    from millcalc.job import run_new_job

    def ask(question: object) -> str:
        try:
            return answer_to(_fitted(str(question)))
        except EOFError:
            return ""

    def tell(line: str) -> None:
        say(_fitted(line))

    if sys.stdin is not None and sys.stdin.isatty() and sys.stdout.isatty():
        from millcalc.cli.new_job import Choosing

        run_new_job(out, Choosing(ask, tell), tell)
    else:
        run_new_job(out, ask, tell)


@app.command("machine")
def machine() -> None:
    """Six questions about your machine; what you leave out is typical of its class."""
    from millcalc.cli.new_tables import new_machine

    _answer(new_machine)


@app.command("cutter")
def cutter() -> None:
    """Six questions about a cutter of yours; what you leave out is typical of its kind."""
    from millcalc.cli.new_tables import new_cutter

    _answer(new_cutter)


@app.command("shop")
def shop() -> None:
    """Your machine, cutters and units: shop.yaml in this folder."""
    from millcalc.cli.new_tables import new_shop

    _answer(new_shop)


def _fitted(text: str) -> str:
    """A question or a line, broken at words where it is wider than the terminal."""
    from millcalc.cli.common import wrapped

    return "\n".join(part for line in text.split("\n") for part in wrapped(line))


def _answer(make: Callable[[Path, Callable[[str], str], Callable[[str], None]], Path]) -> None:
    """Run the questions; where nobody can answer, nothing is written."""
    from millcalc.errors import UsageError

    def ask(question: str) -> str:
        try:
            return answer_to(_fitted(question))
        except EOFError:
            raise UsageError(
                "the answers ended before the questions; nothing was written: answer at a terminal, or see "
                "materials/README.md for the file"
            ) from None

    if sys.stdin is None:
        raise UsageError("no terminal to answer at; see materials/README.md for the file")
    make(Path.cwd(), ask, lambda line: say(_fitted(line)))
