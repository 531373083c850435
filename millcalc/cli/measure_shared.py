"""What the measuring commands share: their options, showing a result and putting it into the machine file."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from millcalc.cli.lazy import Group
from millcalc.cli.say import answer_to, say
from millcalc.cli.tooling import choose_machine

if TYPE_CHECKING:
    from millcalc.cli.options import Units
    from millcalc.measure.machine_file import Change
    from millcalc.tables.models import Machine
    from millcalc.units_show import System

app = typer.Typer(
    cls=Group,
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    help="Measure the machine with household tools; the result goes into your machine file.",
)
MachineName = Annotated[
    str | None, typer.Option("--machine", help="Machine; left out, the one in shop.yaml.")
]
Into = Annotated[str | None, typer.Option("--into", help="Name of your machine file, e.g. my-router.")]
Write = Annotated[
    bool | None, typer.Option("--write/--no-write", help="Write the machine file, or only show the result.")
]
By = Annotated[str, typer.Option("--by", help="Who measured; goes into the notes.")]
How = Annotated[bool, typer.Option("--how", help="Show the procedure step by step and end.")]
Axis = Annotated[str, typer.Option("--axis", help="x, y or z.")]


@app.callback()
def _root() -> None:
    """Measure the machine with household tools; the result goes into your machine file."""


def begin(procedure: str, how: bool, units: Units | None) -> System:
    """Print the procedure and end when asked; else tell the units of bare numbers and of the answer."""
    from millcalc.cli.common import shown_units

    if how:
        from millcalc.report.console import make_console, plain
        from millcalc.report.how_text import how_lines

        for line in how_lines(procedure, make_console().width):
            say(plain(line))
        raise typer.Exit
    return shown_units(units)


def the_machine(name: str | None) -> Machine:
    from millcalc.tables import load_shop

    return choose_machine(name, load_shop())


def say_lines(lines: list[str] | tuple[str, ...], mark: str = "") -> None:
    from millcalc.cli.common import wrapped
    from millcalc.report.console import plain

    for line in lines:
        for part in wrapped(plain(mark + line)):
            say(part)


def the_axis(text: str) -> str:
    from millcalc.errors import InputError

    if text.lower() not in ("x", "y", "z"):
        raise InputError(repr(text), "x, y or z", field="--axis")
    return text.lower()


def asking() -> bool:
    return sys.stdin is not None and sys.stdin.isatty()


def finish(
    machine: Machine, into: str | None, write: bool | None, change: Change, doubts: Any, units: System
) -> None:
    """Show what was found and put it into the machine file when that is wanted."""
    from millcalc.measure.machine_file import target_file, write_change
    from millcalc.report.measure_text import change_lines, written_line

    say_lines(tuple(doubts), "· ")
    path, based_on = target_file(machine, into)
    lines = change_lines(change, units)
    say(f"\nfor {path.relative_to(Path.cwd()) if path.is_relative_to(Path.cwd()) else path}:")
    say_lines(lines, "  ")
    if lines != change_lines(change):
        say("  (the file itself keeps millimetres and newtons)")
    if write is None and asking():
        write = typer.confirm("write it?", default=True)
    if not write:
        say("not written; add --write to write it")
        return
    say(written_line(write_change(path, based_on, machine, change)))


def ask_line(text: str) -> str:
    """One line from the person; empty ends."""
    try:
        return answer_to(text).strip()
    except EOFError:
        return ""


def number_of(text: str, option: str) -> float:
    from millcalc.errors import InputError

    try:
        return float(text)
    except ValueError:
        raise InputError(repr(text), "a number with a point for decimals", field=option) from None


def asked_for(value: str | None, text: str) -> str | None:
    """What was given, or what the person types at the prompt; None for neither."""
    if value is not None or not asking():
        return value
    return ask_line(text + ": ") or None
