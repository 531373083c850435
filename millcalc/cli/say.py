"""The one way a command prints plain lines, and the one way it asks."""

from __future__ import annotations

import typer

from millcalc.shown import shown


def say(text: object = "", *, err: bool = False, nl: bool = True) -> None:
    """Print text; control characters in it are shown as codes.

    text: What.
    err: To the error stream.
    nl: Whether a line end follows.
    """
    typer.echo(shown(str(text)), err=err, nl=nl)


def answer_to(question: str) -> str:
    """Ask on standard input.

    question: What is asked.
    Returns: The line that was typed.
    Raises EOFError: At the end of the input.
    """
    return input(shown(question))
