"""What a class of controllers does not like about the way a line is written, beyond its meaning."""

from __future__ import annotations

from collections.abc import Iterator

from millcalc.gcode.lookalikes import spelled
from millcalc.gcode.problems import Problem
from millcalc.gcode.words import Block, TextRules


def add_habits(block: Block, rules: TextRules) -> None:
    """Add what the profile's controllers do not like about the way the line is written.

    block: The block as read; problems are added to it.
    rules: What the profile accepts.
    """
    for start, piece in _code_parts(block):
        _code(block, rules, start, piece)
    for _, start, end in block.comments:
        _comment(block, rules, start, end)


def _code_parts(block: Block) -> Iterator[tuple[int, str]]:
    """What stands outside the comments: first column and text."""
    at = 0
    for _, start, end in block.comments:
        yield at, block.text[at:start]
        at = end
    yield at, block.text[at:]


def _code(block: Block, rules: TextRules, start: int, piece: str) -> None:
    if not rules.lower_case:
        small = next((k for k, c in enumerate(piece) if "a" <= c <= "z"), -1)
        if small >= 0:
            letter, at = piece[small], start + small
            fact = f"letter {letter!r} is lower case, which this controller class does not read"
            _tell(block, "TEXT-13", at, at + 1, fact, "write capital letters", letter, letter.upper())
    if not rules.tabs and "\t" in piece:
        at = start + piece.index("\t")
        _tell(block, "TEXT-14", at, at + 1, "a tab stands in the line", "write blanks", "a tab", "a blank")


def _comment(block: Block, rules: TextRules, start: int, end: int) -> None:
    note = block.text[start:end]
    if not rules.semicolon and block.text[max(start - 1, 0) : start] == ";":
        fact = "a comment begins with ; which this controller class does not read"
        _tell(block, "TEXT-15", start - 1, end, fact, "write comments in ( )", ";", "( )")
    if not rules.foreign_in_comments:
        odd = next((k for k, c in enumerate(note) if c >= "\x80"), -1)
        if odd >= 0:
            fact = "a comment holds a character outside plain ASCII; some controllers take it for a command"
            action, found = "write the comment in plain letters", spelled(note, odd)[0]
            _tell(block, "TEXT-07", start + odd, start + odd + 1, fact, action, found, "plain ASCII")
    if not rules.realtime_in_comments:
        live = next((k for k, c in enumerate(note) if c in "!?~"), -1)
        if live >= 0:
            mark, at = note[live], start + live
            fact = f"a comment holds {mark!r}, which this controller class may act on at once"
            action = f"remove {mark!r} from the comment"
            _tell(block, "TEXT-16", at, at + 1, fact, action, mark, "a comment without ! ? ~")


def _tell(
    block: Block, code: str, start: int, end: int, fact: str, action: str, found: str, expected: str
) -> None:
    block.problems.append(Problem(code, start, end, fact, action, found, expected, blocks=False))
