"""Characters outside ASCII that look like the right one: dashes, blanks, quotes."""

from __future__ import annotations

import unicodedata

from millcalc.gcode.problems import Problem

_DASHES = {"\u2212", "\u2010", "\u2011", "\u2012", "\u2013", "\u2014", "\uff0d", "\ufe63"}
_WHITE = {"\u00a0", "\u2007", "\u202f", "\u2009", "\u3000", "\ufeff"}


def spelled(text: str, at: int) -> tuple[str, int]:
    """The character that the bytes at a place spell in UTF-8, else in Windows-1252.

    text: A line, one character a byte.
    at: Place in it, 0-based [-].
    Returns: character: The character. size: Number of bytes it takes [byte].

    >>> spelled("X\xe2\x88\x925", 1)
    ('−', 3)
    """
    for size in (2, 3, 4):
        piece = text[at : at + size].encode("latin-1")
        try:
            character = piece.decode("utf-8")
        except UnicodeDecodeError:
            continue
        if len(character) == 1 and len(piece) == size:
            return character, size
    return text[at].encode("latin-1").decode("cp1252", errors="replace"), 1


def lookalike(text: str, at: int) -> Problem:
    """The problem with a character outside ASCII that stands among the words.

    text: A line, one character a byte.
    at: Place in it, 0-based [-].
    Returns: Names the character, and the plain one that was probably meant.
    """
    shown, size = spelled(text, at)
    name = unicodedata.name(shown, f"byte 0x{ord(text[at]):02X}").lower()
    end = at + size
    if shown in _DASHES:
        return Problem(
            "TEXT-06",
            at,
            end,
            f"a {name} stands where the minus sign - should be",
            "write a plain - (hyphen-minus)",
            shown,
            "-",
        )
    if shown in _WHITE:
        name = "byte-order mark" if shown == "\ufeff" else name
        return Problem(
            "TEXT-06",
            at,
            end,
            f"a {name} stands where a plain blank should be",
            "write a plain blank",
            shown,
            "a blank",
        )
    return Problem(
        "TEXT-06",
        at,
        end,
        f"{shown!r} ({name}) is not a character of a program",
        "remove or replace it",
        shown,
        "plain ASCII",
    )
