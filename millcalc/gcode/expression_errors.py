"""What is wrong with a word inside an expression, with what was probably meant."""

from __future__ import annotations

import difflib
from functools import lru_cache

from millcalc.gcode.number_reader import BLANKS, DIGITS, NumberReader
from millcalc.gcode.operations import FUNCTIONS, OPERATORS
from millcalc.gcode.problems import BlockError


@lru_cache(maxsize=1024)
def _near(word: str, words: tuple[str, ...], count: int) -> list[str]:
    return difflib.get_close_matches(word, words, count)


def unknown_function(reader: NumberReader, what: str, name: str, start: int, at: int) -> BlockError:
    """The error of a word where a number or a function belongs.

    reader: At that place; left behind the word where it looks like a function.
    what: What the value belongs to.
    name: The word, without blanks.
    start, at: Where it begins and ends in the line [-].
    """
    text = reader.text
    followed = text[at] if at < len(text) else ""
    if followed == "[" and len(name) > 1:
        near = _near(name, FUNCTIONS, 3)
        reader.at = at
        return reader.fail(
            "PARAM-04",
            start,
            f"{name!r} is not a function",
            f"write {' or '.join(near)}" if near else f"use one of {', '.join(FUNCTIONS)}",
            " or ".join(near) or "a function",
            start + len(text[start:at].rstrip()),
        )
    hint = ""
    if text[start] in "oO" and start + 1 < len(text) and text[start + 1] in DIGITS + ".":
        hint = "; a letter O stands where the digit 0 was meant"
    return reader.fail(
        "WORD-02",
        reader.word_at,
        f"{what} has no value{hint}",
        f"write the number after {what}, or remove it",
        "a number",
        len(reader.text[: max(start, reader.word_at + 1)].rstrip(BLANKS)),
    )


def unknown_operation(reader: NumberReader, character: str) -> BlockError:
    """The error of what stands between two values and is no operation.

    reader: At that place.
    character: Its first character.
    """
    start = reader.at
    word = ""
    for letter in reader.text[start:]:
        if not letter.isalpha():
            break
        word += letter
    shown = word or character
    near = _near(word.lower(), tuple(OPERATORS), 2) if word else []
    return reader.fail(
        "PARAM-03",
        start,
        f"{shown!r} is not an operation",
        f"write {' or '.join(near)}" if near else "use ** * / mod + - or xor and, or close the bracket",
        " or ".join(near) or "an operation or ]",
        start + len(shown),
    )
