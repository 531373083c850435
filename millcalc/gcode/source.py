"""Bytes in: which text a file holds, where its lines begin, and whether it is text at all."""

from __future__ import annotations

import codecs
import re
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from millcalc.errors import ProgramError
from millcalc.files import refuse_odd
from millcalc.gcode.tuning import MAX_PROGRAM_BYTES

_UTF8_BOM = codecs.BOM_UTF8
_LINE_END = re.compile(rb"\r\n|\r|\n")
SAMPLE = 1 << 16
BINARY_SHARE = 0.02
"""Share of control bytes above which a file is not text; estimate."""


def read_bytes(path: Path) -> bytes:
    """Bytes of a program file.

    path: The file.
    Returns: Its content.
    Raises ProgramError: If the file is absent, a directory, unreadable or too large.
    """
    name = str(path)
    try:
        if path.is_dir():
            raise ProgramError("a directory", "a program file", "name the file inside it", file=name)
        refuse_odd(path, kind=ProgramError)
        size = path.stat().st_size
        if size > MAX_PROGRAM_BYTES:
            raise ProgramError(
                f"a file of {size} bytes",
                f"at most {MAX_PROGRAM_BYTES} bytes",
                "split the program",
                file=name,
            )
        with path.open("rb") as stream:
            data = stream.read(MAX_PROGRAM_BYTES + 1)
    except FileNotFoundError:
        raise ProgramError("no file of that name", "a program file", "check the name", file=name) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise ProgramError(f"a file that cannot be read ({reason})", "a readable file", file=name) from None
    if len(data) > MAX_PROGRAM_BYTES:
        raise ProgramError(
            "an endless file", f"at most {MAX_PROGRAM_BYTES} bytes", "name a program file", file=name
        )
    return data


def recoded(data: bytes) -> tuple[bytes, str]:
    """Text of a UTF-16 file as UTF-8; anything else unchanged.

    data: The bytes.
    Returns: data: The text. encoding: ``utf-16`` when it was recoded, ``utf-8-bom`` for a byte-order mark,
      else empty.
    """
    encoding = ""
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        encoding = "utf-16"
    else:
        sample = data[:SAMPLE]
        if (
            len(sample) >= 8
            and sample[1::2].count(0) > 0.9 * len(sample[1::2])
            and sample[0::2].count(0) == 0
        ):
            encoding = "utf-16-le"
        elif (
            len(sample) >= 8
            and sample[0::2].count(0) > 0.9 * len(sample[0::2])
            and sample[1::2].count(0) == 0
        ):
            encoding = "utf-16-be"
    if encoding:
        return data.decode(encoding, errors="replace").encode("utf-8"), "utf-16"
    return data, "utf-8-bom" if data.startswith(_UTF8_BOM) else ""


def is_binary(data: bytes) -> bool:
    """Whether bytes are no text: too many control bytes, or the head of a packed or printed document.

    data: The bytes.
    Returns: True when it makes no sense to read them as lines.
    """
    if data.startswith(
        (b"PK\x03\x04", b"%PDF-", b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"\x1f\x8b", b"\x7fELF", b"MZ\x90")
    ):
        return True
    sample = np.frombuffer(data[:SAMPLE], np.uint8)
    if len(sample) == 0:
        return False
    counts = np.bincount(sample, minlength=256)
    control = int(counts[1:9].sum() + counts[14:32].sum() + counts[127] - counts[26] - counts[17:21].sum())
    text = len(sample) - int(counts[0])
    return control > BINARY_SHARE * max(text, 1) and control >= 3


class Source:
    """The text of a program by lines.

    data: The text.
    compiled: Find the lines with the compiled kernel.
    """

    def __init__(self, data: bytes, compiled: bool) -> None:
        self.data = data
        self.starts: NDArray[np.int64]
        self._list: list[int] | None = None
        if compiled:
            from millcalc.gcode import text_kernels

            self.starts = text_kernels.line_starts(np.frombuffer(data, np.uint8))
        else:
            starts = [0, *(match.end() for match in _LINE_END.finditer(data))]
            if starts[-1] != len(data):
                starts.append(len(data))
            self.starts = np.array(starts, np.int64)
            self._list = starts

    @property
    def lines(self) -> int:
        """Number of lines [-]."""
        return len(self.starts) - 1

    def bounds(self, index: int) -> tuple[int, int]:
        """First byte of a line and the byte after its end; `index` is 0-based."""
        if self._list is not None:
            return self._list[index], self._list[index + 1]
        return int(self.starts[index]), int(self.starts[index + 1])

    def raw(self, index: int) -> bytes:
        """Bytes of a line without its end; `index` is 0-based."""
        start, end = self.bounds(index)
        return self.data[start:end].rstrip(b"\r\n")

    def size(self, index: int) -> int:
        """Length of a line with its end [byte]."""
        start, end = self.bounds(index)
        return end - start

    def text(self, index: int) -> str:
        """Text of a line, one character a byte; a byte-order mark and a final control-Z count as blanks."""
        raw = self.raw(index)
        if index == 0 and raw.startswith(_UTF8_BOM):
            raw = b"   " + raw[3:]
        if index == self.lines - 1 and raw.endswith(b"\x1a"):
            raw = raw.rstrip(b"\x1a")
        return raw.decode("latin-1")

    def line_at(self, offset: int) -> int:
        """Index of the line that holds a byte."""
        return int(np.searchsorted(self.starts, offset, side="right")) - 1
