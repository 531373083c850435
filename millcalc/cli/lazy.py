"""Commands that are imported only when they are called, so that help starts at once."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from importlib import import_module
from typing import Any

import typer
from typer.core import TyperGroup
from typer.main import get_command

from millcalc.cli.say import fitted

_LONGEST_LINE = 400  # of the overview of a group, before it is broken at the width [-]
HELP_OPTIONS = {"help_option_names": ["-h", "--help"]}
# name: (module below millcalc.cli, line of the overview)
COMMANDS: dict[str, tuple[str, str]] = {
    "settings": ("settings", "Speed, feed, depth and width for a cut, with the reasons."),
    "check": ("check", "Look a program over before the spindle starts."),
    "sheet": ("sheet", "One page to take to the machine."),
    "show": ("show", "What a program contains."),
    "compare": ("compare", "What differs between two programs."),
    "correct": ("correct", "A copy in which only feeds and speeds are mended."),
    "lift": ("lift", "A raised copy, to watch in the air first."),
    "restart": ("restart", "Go on after a stop."),
    "screws": ("screws", "Where screws and clamps can stand."),
    "adjust": ("adjust", "Help when the cut sounds or looks wrong."),
    "alternatives": ("alternatives", "Other ways to make a cut, other bed heights."),
    "stability": ("stability", "Quiet depths over spindle speed."),
    "proof": ("proof", "A test cut for scrap, and what it proved."),
    "alloy": ("alloy", "What an unknown metal may be, by weight and tests."),
    "measure": ("measure", "Your machine's own numbers, with household tools."),
    "log": ("log", "The cuts that were made, and what they teach."),
    "tables": ("tables", "Materials, cutters and machines with their sources."),
    "explain": ("explain", "A finding's code or a word of the trade."),
    "new": ("new", "A new job, machine, cutter or shop, by questions."),
    "page": ("page", "All of it in a browser, at the machine too."),
    "demo": ("demo", "The main job on the weather station's plate."),
}


@contextmanager
def _shown_errors() -> Iterator[None]:
    """Errors of the command line: control characters as codes, wrapped, with what was meant."""
    try:
        yield
    except Exception as error:
        if hasattr(error, "format_message"):
            from millcalc.cli.misspelt import told

            before = "Error: "  # what the library writes in front of it
            message = fitted(before + told(error, list(COMMANDS))).removeprefix(before)
            error.format_message = lambda: message
        raise


# what the help calls a value, by how the library would: with the names of its own kinds
_VALUES = {
    "<str>": "TEXT",
    "<list[str]>": "TEXT",
    "<path>": "FILE",
    "<list[Path]>": "FILE",
    "<int>": "NUMBER",
    "<int range>": "NUMBER",
    "<float>": "NUMBER",
    "<float range>": "NUMBER",
    "<datetime>": "DAY",
}


def _name_values(command: Any) -> None:
    """Give the values of a command words that a machinist reads."""
    for param in command.params:
        kind = getattr(
            param, "type_descriptor", None
        )  # releases without it name values in such words themselves
        if kind is None or kind.is_choice or getattr(param, "is_flag", False):
            continue
        word = _VALUES.get(param.display_type(None))
        if word is not None:
            param.display_type = lambda _, word=word: word


class Group(TyperGroup):
    """A group of commands whose overview says each one's line in full, however long."""

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Write the overview."""
        with formatter.section("Commands"):
            formatter.write_dl(
                [(name, self.commands[name].get_short_help_str(_LONGEST_LINE)) for name in self.commands]
            )


@cache
def _command(name: str) -> Any:
    """The command of a name, made once a process."""
    module = import_module(f"millcalc.cli.{COMMANDS[name][0]}")
    if hasattr(module, "app"):
        app = module.app
    else:
        app = typer.Typer(add_completion=False, rich_markup_mode=None, context_settings=HELP_OPTIONS)
        app.command(name)(module.command)
    command = get_command(app)
    command.name = name
    for one in (command, *getattr(command, "commands", {}).values()):
        _name_values(one)
    return command


class LazyGroup(TyperGroup):
    """The top-level group: knows its commands by name, imports one when it is called."""

    def make_context(self, *args: Any, **more: Any) -> Any:
        """Read the command line up to the command, as the library does it."""
        with _shown_errors():
            return super().make_context(*args, **more)

    def invoke(self, ctx: Any) -> Any:
        """Run the command, as the library does it."""
        with _shown_errors():
            return super().invoke(ctx)

    def list_commands(self, ctx: Any) -> list[str]:
        """Names of the commands, in the order of the overview."""
        return list(COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """The command of a name, imported now; None when there is none."""
        return _command(cmd_name) if cmd_name in COMMANDS else None

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Write the overview without importing any command."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])
