"""The one way a command prints plain lines, and the one way it asks."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator, Sequence
from typing import IO, Final

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


def tell(text: object, names: Sequence[str] = ()) -> None:
    """Print text for a person: broken at words to the width of the output.

    text: One line or more; one that fits stays as it is.
    names: Files and folders in it that stay whole; those that were typed do so anyway.
    """
    typer.echo(fitted(str(text), names, sys.stdout))


def fitted(text: str, names: Sequence[str] = (), stream: IO[str] | None = None) -> str:
    """A text broken at words to the width of a stream, in characters that it can carry.

    text: One line or more.
    names: Files and folders in it, which stay whole, to be copied; those that were typed do so anyway.
    stream: Where it goes; standard error when None.
    Returns: The same text in lines that fit, but for a name that is longer than a line.
    """
    from millcalc.cli.common import wrapped
    from millcalc.report.console import plain

    stream = stream or sys.stderr
    text = plain(text, stream)
    kept = [plain(name, stream) for name in (*names, *_typed_names()) if " " in name]
    kept += [found for found in _COMMAND.findall(text) if len(found) < _COMMAND_MOST]
    return "\n".join(part for line in text.split("\n") for part in wrapped(line, stream, kept))


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
