"""Text broken into lines as a person would: no number parted from its unit, no last word left alone."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence
from typing import Final

_GLUE: Final = "\uf8ff"  # is no blank to the library that wraps, and no letter of any language
_UNITS: Final = (
    r"(?:mm|in|µm|um|thou|rpm|m/min|mm/min|in/min|sfm|mm/tooth|in/tooth|cm[³3]|in[³3]|cm[³3]/min|in[³3]/min|s|min|h"
    r"|N|W|kW|N/[µu]m|lbf|lbf/thou|hp|ksi|N/mm²|deg|degrees|%|Hz|kg|MB)"
)
_PAIR: Final = re.compile(
    rf"(?<=[\d.]) (?={_UNITS}(?![\w/]))|(?<=\b[XYZFSTPIJKR]) (?=-?\d)|(?<=\ba[pe]) (?=\d)|(?<=\w) (?=×\d)"
)
_SHORT: Final = 9  # a last line of fewer characters stands alone [-]
_NARROWER: Final = 14  # columns to give away for a fuller last line [-]


def wrap(text: str, room: int, hang: int = 0, *, whole: bool = False, kept: Sequence[str] = ()) -> list[str]:
    """Break a text at blanks.

    text: One paragraph.
    room: Columns [-].
    hang: Blanks before all lines but the first [-].
    whole: Whether a word longer than a line, such as a path to copy, stays whole.
    kept: Parts with blanks in them, such as names of files, that are not broken at these.
    Returns: Lines; none for an empty text.

    >>> wrap("at most 0.9 mm deep in a slot, then 12 mm", 14)
    ['at most', '0.9 mm deep', 'in a slot,', 'then 12 mm']
    """
    for part in kept:
        text = text.replace(part, part.replace(" ", _GLUE))
    glued = _PAIR.sub(_GLUE, text)
    lines = _wrapped(glued, room, hang, whole)
    if len(lines) > 1 and len(lines[-1].strip()) < _SHORT:
        for narrower in range(1, min(_NARROWER, room // 4)):
            other = _wrapped(glued, room - narrower, hang, whole)
            if len(other) > len(lines):
                break
            if len(other[-1].strip()) >= _SHORT:
                lines = other
                break
    return [line.replace(_GLUE, " ") for line in lines]


def _wrapped(text: str, room: int, hang: int, whole: bool) -> list[str]:
    return textwrap.wrap(
        text, room, subsequent_indent=" " * hang, break_on_hyphens=False, break_long_words=not whole
    )
