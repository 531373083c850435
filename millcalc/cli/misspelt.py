"""What the command line could not read, told with the word that was probably meant."""

from __future__ import annotations

import re
from collections.abc import Sequence
from difflib import get_close_matches
from typing import Any, Final

_CHOICE: Final = re.compile(r"(?:Value error, )?'(?P<typed>[^']*)' is not one of (?P<listed>'.*')\.$")
_COMMAND: Final = re.compile(r"No such command '(?P<typed>[^']*)'\.$")
# how the library begins what it says of a value that is none of the kind; what a person reads
_KINDS: Final = (
    (re.compile(r"Input should be a valid integer.*"), "write a whole number"),
    (re.compile(r"Input should be a valid number.*"), "write a number, with a point for decimals"),
    (re.compile(r"Input should be "), "write a number "),
)


def told(error: Any, commands: Sequence[str]) -> str:
    """The message of an error of the command line.

    error: As the library raised it.
    commands: Commands there are, for one that is not among them.
    Returns: What is wrong, and what was probably meant.
    """
    possible = getattr(error, "possibilities", None)
    if possible:
        return _meant(f"No such option: {error.option_name}", error.option_name, possible)
    text: str = error.format_message()
    if found := _CHOICE.search(text):
        plain = f"{text[: found.start()]}'{found['typed']}' is not one of {found['listed']}."
        return _meant(plain, found["typed"], re.findall("'([^']+)'", found["listed"]))
    if found := _COMMAND.match(text):
        return _meant(text, found["typed"], commands)
    for words, plain in _KINDS:
        text = words.sub(plain, text)
    return text


def _meant(text: str, typed: str, known: Sequence[str]) -> str:
    """A message, and the closest of the known words where one is close."""
    close = get_close_matches(typed.lower(), known, n=1)
    return f"{text.rstrip('.')}. Did you mean {close[0]}?" if close else text
