"""The result of reading a program: motions, events, frames, findings and the text they came from."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from millcalc.findings import Finding
from millcalc.gcode.motions import MotionTable

EVENT_KINDS = (
    "spindle",  # value: signed rpm, 0 for stop
    "speed",  # S word: value rev/min
    "feed",  # F word: value as programmed, mm/min
    "tool select",  # T word: value tool number
    "tool change",  # M6: value tool number
    "coolant",  # value: bits
    "stop",  # M0, M60: value the M number
    "optional stop",  # M1
    "end",  # M2, M30 or %
    "message",  # text
    "comment",  # text
    "units",  # value 20 or 21
    "distance mode",  # value 90 or 91
    "plane",  # value 17, 18, 19
    "feed mode",  # value 93, 94, 95
    "frame",  # work offset: value 54 .. 59, 59.1 ..
    "shift",  # G92 family, G10, G52: value the G number
    "length offset",  # G43, G43.1, G49: value the G number
    "compensation",  # G40, G41, G42
    "path mode",  # G61, G61.1, G64
    "override",  # M48, M49
    "home",  # G28, G30: value the G number
    "program number",  # O word
    "call",  # subprogram call
    "unchecked",  # understood, but outside what is checked; text says what
)


@dataclass(frozen=True, slots=True)
class Event:
    """Something other than a motion.

    motion: Row of the motion table before which it happens; ``len(motions)`` for after the last [-].
    line: Source line, 1-based [-].
    value: Meaning depends on `kind`; NaN when there is none.
    text: Comment, message or word text.
    """

    kind: str
    motion: int
    line: int
    value: float = float("nan")
    text: str = ""


@dataclass(frozen=True, slots=True)
class Frame:
    """A work frame in force for some motions.

    name: ``G54`` and so on, with ``+G92`` where a shift is on, ``machine`` for G53.
    shift_mm: Subtract from part coordinates to get programmed numbers [mm].
    known: False where the offset relative to the part frame is not known (then zero is assumed and said).
    """

    name: str
    shift_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    known: bool = True


@dataclass(frozen=True)
class Program:
    """A program as read.

    name: File name as the person gave it.
    data: The bytes as read.
    line_starts: Byte offset of each line; the last entry is the length [byte].
    motions: One row a motion.
    frames: Work frames by index.
    findings: What the reader has to say.
    digest: Fingerprint of the file where its bytes were stored otherwise, hexadecimal; else empty.
    machine_origin_mm: Machine coordinates of the part zero; NaN where unknown [mm].
    units_seen, modes_seen: Unit and mode words that occur (``G20``, ``G90`` ...).
    profile: Name of the dialect profile used.
    complete: False when reading stopped at a limit or the text ends inside something open.
    """

    name: str
    data: bytes
    line_starts: NDArray[np.int64]
    motions: MotionTable
    events: tuple[Event, ...]
    frames: tuple[Frame, ...]
    findings: tuple[Finding, ...]
    digest: str = ""
    machine_origin_mm: tuple[float, float, float] = (float("nan"),) * 3
    units_seen: frozenset[str] = field(default=frozenset())
    modes_seen: frozenset[str] = field(default=frozenset())
    profile: str = "rs274-ngc"
    complete: bool = True

    @cached_property
    def sha256(self) -> str:
        """Fingerprint of the bytes of the file, hexadecimal."""
        return self.digest or hashlib.sha256(self.data).hexdigest()

    @property
    def lines(self) -> int:
        """Number of text lines [-]."""
        return len(self.line_starts) - 1

    def line_text(self, line: int) -> str:
        """Text of a line without its end.

        line: Line number, 1-based [-].
        Returns: The text; bytes that are not UTF-8 are read as Windows-1252.
        """
        start, end = int(self.line_starts[line - 1]), int(self.line_starts[line])
        raw = self.data[start:end].rstrip(b"\r\n")
        try:
            return raw.decode("utf-8")
        except UnicodeDecodeError:
            return raw.decode("cp1252", errors="replace")
