"""One way to make a console: width, colour and Unicode decided by where the output goes."""

from __future__ import annotations

import os
import re
import sys
from typing import IO, TYPE_CHECKING, Final, cast

from millcalc.shown import shown

if TYPE_CHECKING:
    from rich.console import Console

PIPE_WIDTH = 100
_ASCII = {
    "→": "->",
    "×": "x",
    "·": "-",
    "–": "-",
    "—": "-",
    "≤": "<=",
    "≥": ">=",
    "°": " deg",
    "µ": "u",
    "²": "2",
    "³": "3",
    "█": "#",
    "▌": "+",
    "░": ".",
    "…": "...",
    "“": '"',
    "”": '"',
    "’": "'",
    "±": "+-",
    "ø": "D",
    "⚠": "!",
    "✓": "ok",
}


def can_show_unicode(stream: IO[str] | None = None) -> bool:
    """Whether a stream's encoding can carry the characters we use.

    stream: Standard output when None.
    Returns: True where box, bar and degree characters survive.
    """
    encoding = getattr(stream or sys.stdout, "encoding", None) or "ascii"
    try:
        "→█░°µ²".encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def plain(text: str, stream: IO[str] | None = None) -> str:
    """Text with control characters as codes, and characters the stream cannot carry replaced by plain ones.

    text: Any text.
    stream: Standard output when None.
    Returns: The text, unchanged where it is harmless and the stream can carry it.
    """
    text = shown(text)
    if can_show_unicode(stream):
        return text
    for fancy, simple in _ASCII.items():
        text = text.replace(fancy, simple)
    return text.encode("ascii", "replace").decode("ascii")


_ENDS: Final = re.compile(r"(?:[ \t]|\x1b\[[0-9;]*m)+(?=\n)")  # blanks and styles before the end of a line


class _Trimmed:
    """A stream that gets no blanks at the ends of lines, which tables pad with; styles end where they did."""

    def __init__(self, stream: IO[str]) -> None:
        self._stream = stream

    def __getattr__(self, name: str) -> object:
        return getattr(self._stream, name)

    def write(self, text: str) -> int:
        self._stream.write(_ENDS.sub(lambda found: re.sub(r"[ \t]", "", found.group()), text))
        return len(text)


def make_console(stream: IO[str] | None = None, *, width: int | None = None) -> Console:
    """A rich console for standard output or another stream.

    stream: Standard output when None.
    width: Columns; None takes the terminal's; on a pipe COLUMNS, or 100 [-].
    Returns: Without markup interpretation of square brackets in our texts and without highlighting; colour
      only on a terminal that has it and where NO_COLOR is not set.
    """
    from millcalc.report.careful import CarefulConsole

    target = stream or sys.stdout
    asked = os.environ.get("COLUMNS", "")
    piped = int(asked) if asked.isdigit() and 40 <= int(asked) <= 400 else PIPE_WIDTH
    interactive = bool(getattr(target, "isatty", lambda: False)())
    return CarefulConsole(
        file=cast("IO[str]", _Trimmed(target)),
        width=width if width is not None else (None if interactive else piped),
        highlight=False,
        markup=False,
        emoji=False,
        safe_box=True,
        soft_wrap=False,
    )
