"""Is the log's file as this program left it: a note beside the file of its size, its time and its first page.

A file that others wrote to, cut short, copied or put back is looked through whole before the next write; one that is
as it was left need not be. The note promises nothing: without it, or where it differs, the whole look is taken.
"""

from __future__ import annotations

import zlib
from contextlib import suppress
from pathlib import Path
from typing import Final

from millcalc.cutlog.connect import beside

ENDING: Final = "-left"
_FIRST: Final = 4096  # bytes of the first page: the head with its count of changes, the tables' roots


def _state(path: Path) -> str:
    """The file as it is: bytes, time of writing [ns], sum of the first page."""
    told = path.stat()
    with path.open("rb") as file:
        head = zlib.crc32(file.read(_FIRST))
    return f"{told.st_size} {told.st_mtime_ns} {head:08x}\n"


def is_in_one_file(path: Path) -> bool:
    """Whether nothing of the log stands in a write-ahead log.

    path: The log file.
    Returns: False where another process has written and not finished, or one was killed.
    """
    pending = beside(path, "-wal")
    return not pending.exists() or pending.stat().st_size == 0


def is_as_left(path: Path) -> bool:
    """Whether the file is as the note beside it says.

    path: The log file.
    Returns: False too where there is no note, or a write-ahead log holds changes.
    """
    try:
        return is_in_one_file(path) and beside(path, ENDING).read_text(encoding="ascii") == _state(path)
    except (OSError, UnicodeDecodeError):
        return False


def is_noted(path: Path) -> bool:
    """Whether the last look at the file found it whole.

    path: The log file.
    Returns: True where there is a note beside it.
    """
    return beside(path, ENDING).exists()


def note_as_left(path: Path) -> None:
    """Note the file as it is now, after it was found whole; where that cannot be written, nothing depends on it.

    path: The log file.
    """
    with suppress(OSError):
        if is_in_one_file(path):
            beside(path, ENDING).write_text(_state(path), encoding="ascii")
        else:
            forget(path)


def forget(path: Path) -> None:
    """Take the note away: the next write looks through the file whole.

    path: The log file.
    """
    with suppress(OSError):
        beside(path, ENDING).unlink(missing_ok=True)
