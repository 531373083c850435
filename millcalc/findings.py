"""What a check found: plain data, no printing.

Takes nothing of ours but the standard library; everything later builds on it.
A finding states a fact with numbers, the limit it is held against, why it matters and what to do.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import IntEnum


class Severity(IntEnum):
    """How much a finding matters; a larger value is worse."""

    NOTE = 1
    WARNING = 2
    STOP = 3

    @property
    def word(self) -> str:
        """The word shown to the person."""
        return {1: "note", 2: "warning", 3: "stop"}[int(self)]


@dataclass(frozen=True, slots=True)
class Span:
    """A place in the program text; columns count bytes of the line.

    line: Line of the program, 1-based [-].
    start: First column, 1-based [-]; 0 means the whole line.
    end: Column after the last one [-]; 0 means the whole line.
    """

    line: int
    start: int = 0
    end: int = 0


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is wrong, doubtful or worth knowing.

    code: Stable code, ``FAMILY-NN``; ``millcalc explain CODE`` describes it.
    severity: stop, warning or note.
    fact: What is the case, with numbers and units, one sentence.
    action: What to do, with computed numbers where there are any.
    why: Why it matters, one sentence.
    spans: Where in the program text; the first is the main one; empty for the whole program.
    place_mm: Where on the part: x, y, z in part coordinates [mm].
    measured, limit: The two numbers that were compared, in `unit`.
    unit: Unit of both numbers.
    source: Source key, or ``common practice, no source``.
    found, expected: For text findings: what stands there, what was expected.
    tool: Tool number the finding belongs to.
    motion: Row of the motion table the finding belongs to.
    share: Share of that motion at which it happens: first contact, worst sample or release, 0 to 1 [-].
    count: How many equal findings this one stands for [-].
    last_line: Last line of a grouped finding [-].
    """

    code: str
    severity: Severity
    fact: str
    action: str = ""
    why: str = ""
    spans: tuple[Span, ...] = ()
    place_mm: tuple[float, float, float] | None = None
    measured: float | None = None
    limit: float | None = None
    unit: str = ""
    source: str = ""
    found: str = ""
    expected: str = ""
    tool: int | None = None
    motion: int | None = None
    share: float | None = None
    count: int = 1
    last_line: int | None = None

    @property
    def line(self) -> int | None:
        """First line of the program this finding points at [-], or None."""
        return self.spans[0].line if self.spans else None


@dataclass(frozen=True, slots=True)
class NotChecked:
    """A check that could not be made, and which missing fact prevented it.

    code: Code of the rule that could not run.
    what: What was not checked, in words.
    because: The missing fact, e.g. ``stock.thickness_mm is unknown``.
    fields: Dotted names of the missing job or machine fields.
    """

    code: str
    what: str
    because: str
    fields: tuple[str, ...] = field(default=())
