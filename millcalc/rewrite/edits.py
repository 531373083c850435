"""Changes of single words in a program's bytes; everything else stays as it is, byte for byte."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from millcalc.gcode.program import Program
from millcalc.gcode.words import Block

_LITERAL = re.compile(r"[A-Za-z][ \t]*[+-]?(?:[0-9][0-9 \t]*\.?[0-9 \t]*|\.[0-9 \t]*[0-9][0-9 \t]*)\Z")


@dataclass(frozen=True, slots=True)
class Edit:
    """One replaced stretch of a line.

    line: Line of the program, 1-based [-].
    start, end: Bytes of the line that are replaced, 0-based; equal for an insertion [-].
    text: What stands there instead; plain ASCII.
    """

    line: int
    start: int
    end: int
    text: str


def apply(program: Program, edits: Iterable[Edit]) -> bytes:
    """The program's bytes with some words changed.

    program: The program.
    edits: The changes, in any order; they must not overlap.
    Returns: The new text.
    Raises ValueError: If two edits overlap.

    >>> from millcalc.gcode.reader import read_program
    >>> apply(read_program(b"G1 X1 F90 (edge)\\r\\n"), [Edit(1, 6, 9, "F60")])
    b'G1 X1 F60 (edge)\\r\\n'
    """
    data, starts = program.data, program.line_starts
    out: list[bytes] = []
    at = 0
    for edit in sorted(edits, key=lambda e: (e.line, e.start, e.end)):
        begin = int(starts[edit.line - 1])
        if begin + edit.start < at:
            raise ValueError(f"two changes overlap in line {edit.line}")
        out += [data[at : begin + edit.start], edit.text.encode("ascii")]
        at = begin + edit.end
    out.append(data[at:])
    return b"".join(out)


def is_literal(text: str) -> bool:
    """Whether a word is a letter with a plain number, nothing computed.

    text: The word as written.
    Returns: False for parameters and expressions.

    >>> is_literal("Z-1.5"), is_literal("Z #5"), is_literal("Z[1+2]")
    (True, False, False)
    """
    return _LITERAL.match(text) is not None


def raised(text: str, by: Decimal) -> str:
    """A literal word with something added to its number; its decimals are kept, more are added where needed.

    text: The word as written.
    by: What to add (unit of the program).
    Returns: The word with its new number.

    >>> raised("Z-6.200", Decimal("12")), raised("z -.5", Decimal("2.25")), raised("Z-12", Decimal("12"))
    ('Z5.800', 'z 1.75', 'Z0')
    """
    match = re.match(r"([A-Za-z][ \t]*)(.*)\Z", text, re.DOTALL)
    assert match is not None
    digits = re.sub(r"[ \t]", "", match.group(2))
    value = Decimal(digits.rstrip(".") if digits.rstrip(".") else "0") + by
    written = f"{value:f}"
    if digits.endswith(".") and "." not in written:
        written += "."
    if not value:
        written = written.lstrip("-")
    return match.group(1) + written


def end_of_words(block: Block) -> int:
    """Where the last word of a line ends, comments left out.

    block: The line as read.
    Returns: Byte column behind the last word, 0-based [-].
    """
    ends = [end for _, _, end in block.words.values()]
    ends += [end for _, _, end in (*block.g, *block.m)]
    return max(ends)


def spaced(block: Block) -> bool | None:
    """Whether the words of a line are written apart from each other.

    block: The line as read.
    Returns: True with a blank between any two words; None for a line of one word.
    """
    spans = sorted(
        [(s, e) for _, s, e in block.words.values()] + [(s, e) for _, s, e in (*block.g, *block.m)]
    )
    if len(spans) < 2:
        return None
    return any(b[0] > a[1] for a, b in pairwise(spans))
