"""One name for what a command writes: ``-o``; the ending says what it becomes."""

from __future__ import annotations

from pathlib import Path

import click
import pytest
from typer.main import get_command

from millcalc.cli.main import app
from millcalc.cli.outputs import PAGE, PICTURE, by_kind
from millcalc.errors import InputError, UsageError

# options that take a file to read, or whether to write at all
READ = {"--job", "--log", "--from-settings", "--from-check", "--from-program", "--program", "--folder", "--wav",
        "--csv", "--check"}  # fmt: skip
WRITING = {"settings", "check", "sheet", "compare", "correct", "lift", "restart", "screws", "alternatives",
           "stability", "proof", "demo", "new job", "log stats", "log export", "log backup", "log recover"}  # fmt: skip


def _commands(command: click.Command, path: tuple[str, ...] = ()) -> dict[str, click.Command]:
    if not hasattr(command, "list_commands"):
        return {" ".join(path): command}
    context = click.Context(command)
    found: dict[str, click.Command] = {}
    for name in command.list_commands(context):
        found |= _commands(command.get_command(context, name), (*path, name))
    return found


def _kind(option: object) -> str:
    """What an option takes; its name depends on the version of the library."""
    return str(getattr(option, "type_descriptor", None) or getattr(option, "type", "")).lower()


COMMANDS = _commands(get_command(app))


@pytest.mark.parametrize("name", COMMANDS)
def test_what_a_command_writes_has_one_name(name: str) -> None:
    files = [
        option
        for option in COMMANDS[name].params
        if option.param_type_name == "option" and "path" in _kind(option)
    ]
    written = [option.opts for option in files if not READ & set(option.opts)]
    assert written == ([["--out", "-o"]] if name in WRITING else [])
    words = {word for option in COMMANDS[name].params for word in (*option.opts, *option.secondary_opts)}
    assert not words & {"--html", "--png", "--plot", "--table", "--copy-to", "--new", "--output"}
    targets = [
        p for p in COMMANDS[name].params if p.param_type_name == "argument" and "write" in p.help.lower()
    ]
    assert not targets, "a file to write is not a bare argument"


def test_the_ending_says_what_is_written(tmp_path: Path) -> None:
    page, picture = tmp_path / "A.HTML", tmp_path / "a.svg"
    assert by_kind([page, picture], {"page": PAGE, "picture": PICTURE}) == {"page": page, "picture": picture}
    with pytest.raises(
        InputError,
        match=r"x.txt'; accepted: page: .html or .htm; picture: .svg or .png; do: give the name one of these endings",
    ):
        by_kind([tmp_path / "x.txt"], {"page": PAGE, "picture": PICTURE})
    with pytest.raises(UsageError, match="are both a page: name one"):
        by_kind([page, tmp_path / "b.htm"], {"page": PAGE})
    with pytest.raises(InputError, match="no such folder"):
        by_kind([tmp_path / "none" / "b.htm"], {"page": PAGE})
