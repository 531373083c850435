"""Where the O words of a program stand: found once, looked up by label and keyword."""

from __future__ import annotations

import bisect
import re

from millcalc.gcode.source import Source
from millcalc.gcode.words import O_KEYWORDS

_O_LINE = re.compile(
    rb"^[ \t]*/?[ \t]*(?:[nN][ \t]*[0-9]+[ \t]*)?[oO:][ \t]*(<[^>\r\n]*>|[0-9]+)[ \t]*([A-Za-z]*)"
)
_O_ANY = re.compile(rb"(?:^|[\r\n])[ \t]*/?[ \t]*(?:[nN][ \t]*[0-9]+[ \t]*)?[oO:][ \t]*[<0-9]")


class FlowIndex:
    """The O lines of a text.

    source: The program text.
    columns: Columns of the O word of each line found, 0-based [-].
    """

    def __init__(self, source: Source) -> None:
        self.source = source
        self.columns: dict[int, tuple[int, int]] = {}
        self._index: list[tuple[int, str, str]] | None = None
        self._places: dict[tuple[str, str], list[int]] = {}

    def statements(self) -> list[tuple[int, str, str]]:
        """Line index, label and keyword of every O line, found once."""
        if self._index is None:
            self._index = []
            data = self.source.data
            for match in _O_ANY.finditer(data):
                at = match.start() + (1 if data[match.start() : match.start() + 1] in (b"\r", b"\n") else 0)
                line = self.source.line_at(at)
                detail = _O_LINE.match(self.source.raw(line))
                if detail is not None:
                    self.columns[line] = (detail.start(1) - 1, detail.end())
                    label, keyword = (
                        _label(detail.group(1).decode("latin-1")),
                        detail.group(2).decode("latin-1").lower(),
                    )
                    kind = keyword if keyword in O_KEYWORDS else ""
                    self._index.append((line, label, kind))
                    self._places.setdefault((label, kind), []).append(line)
        return self._index

    def next(self, after: int, label: str, keywords: tuple[str, ...]) -> tuple[int, str] | None:
        """The first O line after a line with a label and one of some keywords.

        after: Line index, 0-based; -1 for the whole text [-].
        label: The label.
        keywords: Keywords; an empty one is a program number.
        Returns: Line index and keyword.
        """
        self.statements()
        best: tuple[int, str] | None = None
        for keyword in keywords:
            lines = self._places.get((label, keyword), [])
            at = bisect.bisect_right(lines, after)
            if at < len(lines) and (best is None or lines[at] < best[0]):
                best = lines[at], keyword
        return best


def _label(written: str) -> str:
    if written.startswith("<"):
        return "<" + "".join(c for c in written[1:-1] if not c.isspace()).lower() + ">"
    return written.lstrip("0") or "0"
