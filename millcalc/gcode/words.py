"""One line of text to a block: block delete, line number, words, parameter settings, comments, problems."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from millcalc.gcode.problems import Problem

WORD_LETTERS = "ABCDFGHIJKLMPQRSTXYZ"


O_KEYWORDS = (
    "endrepeat",
    "endwhile",
    "continue",
    "elseif",
    "endsub",
    "repeat",
    "return",
    "endif",
    "break",
    "while",
    "call",
    "else",
    "sub",
    "do",
    "if",
)


@dataclass(slots=True)
class FlowWord:
    """An O word: a program number, or a control statement.

    label: Number without leading zeros, or name in lower case with < >.
    keyword: One of O_KEYWORDS, or empty for a program number.
    values: Values in brackets after the keyword.
    start, end: Columns, 0-based [-].
    """

    label: str
    keyword: str
    values: list[float]
    start: int
    end: int


@dataclass(slots=True)
class Block:
    """One line as read.

    words: Value and columns of each letter but G, M and N.
    g, m: G codes times ten, M codes, with columns.
    settings: Parameter settings in the order of the line.
    comments: ``comment`` or ``message`` and the columns of its text.
    unknown_count: Whether a tool, an offset or a count is a value that only the machine knows.
    """

    text: str
    line: int
    words: dict[str, tuple[float, int, int]] = field(default_factory=dict)
    g: list[tuple[int, int, int]] = field(default_factory=list)
    m: list[tuple[int, int, int]] = field(default_factory=list)
    settings: list[tuple[int | str, float]] = field(default_factory=list)
    comments: list[tuple[str, int, int]] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    flow: FlowWord | None = None
    deleted: bool = False
    percent: bool = False
    kind: str = ""
    number: int | None = None
    unknown_count: bool = False

    @property
    def broken(self) -> bool:
        """Whether a problem keeps the block from being executed."""
        return any(problem.blocks for problem in self.problems)

    @property
    def empty(self) -> bool:
        """Whether there is nothing to execute."""
        return not (self.words or self.g or self.m or self.settings or self.flow or self.percent)

    def problem(
        self, code: str, start: int, end: int, fact: str, action: str, expected: str = "", **more: Any
    ) -> Problem:
        """A problem with the columns from start to end; what stands there goes with it."""
        return Problem(code, start, end, fact, action, self.text[start:end], expected, **more)


@dataclass(frozen=True, slots=True)
class TextRules:
    """What a profile says about text; see profiles.Profile for the meaning of the fields."""

    refuse: frozenset[str] = frozenset()
    letters: str = WORD_LETTERS
    max_line: int = 0
    number_digits: int = 9
    lower_case: bool = True
    tabs: bool = True
    semicolon: bool = True
    foreign_in_comments: bool = True
    realtime_in_comments: bool = True
    delete_anywhere: bool = False
    decimals: int = 0
    last_parameter: int = 5999

    @property
    def habits(self) -> bool:
        """Whether the way a line is written matters beyond its meaning."""
        return not (
            self.lower_case
            and self.tabs
            and self.semicolon
            and self.foreign_in_comments
            and self.realtime_in_comments
        )
