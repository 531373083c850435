"""The one way a command prints plain lines, and the one way it asks."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator, Sequence
from typing import Final

import typer

from millcalc.shown import shown

_FILE: Final = re.compile(r"[/\\]|\.\w{1,8}$")  # a path, or a name with an ending
_COMMAND: Final = re.compile(r"`[^`\n]+`")  # what the person is to type
_COMMAND_MOST: Final = 60  # characters that fit a line with what stands around them [-]


def say(text: object = "", *, err: bool = False, nl: bool = True, names: Sequence[str] = ()) -> None:
    """Print text; control characters in it are shown as codes.

    text: What.
    err: To the error stream, wrapped at its width.
    nl: Whether a line end follows.
    names: Files and folders in an error that stay whole; those that were typed do so anyway.
    """
    if err:
        typer.echo(fitted(str(text), names), err=True, nl=nl)
    else:
        typer.echo(shown(str(text)), nl=nl)


def fitted(text: str, names: Sequence[str] = ()) -> str:
    """A text for the error stream: broken at words to its width, in characters that it can carry.

    text: One line or more.
    names: Files and folders in it, which stay whole, to be copied; those that were typed do so anyway.
    Returns: The same text in lines that fit, but for a name that is longer than a line.
    """
    from millcalc.cli.common import wrapped
    from millcalc.report.console import plain

    text = plain(text, sys.stderr)
    kept = [plain(name, sys.stderr) for name in (*names, *_typed_names()) if " " in name]
    kept += [found for found in _COMMAND.findall(text) if len(found) < _COMMAND_MOST]
    return "\n".join(part for line in text.split("\n") for part in wrapped(line, sys.stderr, kept))


def _typed_names() -> Iterator[str]:
    """Names of files on the command line, ``--option=NAME`` too."""
    for word in sys.argv[1:]:
        name = word.partition("=")[2] if word.startswith("-") else word
        if _FILE.search(name):
            yield name


def answer_to(question: str) -> str:
    """Ask on standard input.

    question: What is asked.
    Returns: The line that was typed.
    Raises EOFError: At the end of the input.
    """
    return input(shown(question))
