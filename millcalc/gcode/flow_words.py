"""O words: program numbers, and the words that call, loop and branch."""

from __future__ import annotations

import re

from millcalc.gcode.expressions import ValueReader
from millcalc.gcode.number_reader import BLANKS, DIGITS
from millcalc.gcode.problems import Problem
from millcalc.gcode.words import O_KEYWORDS, Block, FlowWord

_A_WORD = re.compile(r"[a-z]\s*[-+.#\[0-9]")
# values in brackets that a control word takes at most; none where it is not named
MOST_VALUES = {"call": 30, "if": 1, "elseif": 1, "while": 1, "repeat": 1, "return": 1, "endsub": 1}


def read_flow_word(block: Block, reader: ValueReader, start: int) -> None:
    """Read an O word and what belongs to it into the block.

    block: The block.
    reader: Stands behind the letter O.
    start: Column of the letter, 0-based [-].
    Raises BlockError: If it has no label, or its values cannot be read.
    """
    label = _label(reader, start)
    reader.skip()
    rest = reader.text[reader.at :].lower()
    keyword = next((word for word in O_KEYWORDS if rest.startswith(word)), "")
    flow = FlowWord(label, keyword, [], start, reader.at)
    block.flow = flow
    if keyword:
        reader.at += len(keyword)
        _values(flow, reader)
    elif rest[:1].isalpha() and not _A_WORD.match(rest):
        # a program name after the number: text of no meaning to the machine
        end = comment_at(reader.text, reader.at)
        block.comments.append(("comment", reader.at, end))
        reader.at = end


def comment_at(text: str, begin: int) -> int:
    """Column where a comment begins, or the end of the line.

    text: The line.
    begin: Column to look from, 0-based [-].
    Returns: Column, 0-based [-].
    """
    found = (text.find(mark, begin) for mark in "(;")
    return min((at for at in found if at >= 0), default=len(text))


def _label(reader: ValueReader, start: int) -> str:
    text, character = reader.text, reader.skip()
    if character == "<":
        close = text.find(">", reader.at)
        if close < 0:
            fact, action = "a label has no closing >", "close the label with >"
            raise reader.fail("FLOW-05", start, fact, action, ">", len(text))
        name = "".join(c for c in text[reader.at + 1 : close] if c not in BLANKS).lower()
        reader.at = close + 1
        return f"<{name}>"
    if character and character in DIGITS:
        begin = reader.at
        while reader.at < len(text) and text[reader.at] in DIGITS:
            reader.at += 1
        return text[begin : reader.at].lstrip("0") or "0"
    if character and character in "[#":
        number = reader.integer(reader.real("word O"))
        if number is None:
            fact = "the label is not a whole number"
            raise reader.fail("FLOW-05", start, fact, "use a whole number", "a label")
        return str(number)
    action = "write the program number or label after O"
    raise reader.fail("WORD-02", start, "word O has no number", action, "a number", start + 1)


def _values(flow: FlowWord, reader: ValueReader) -> None:
    """The values in brackets after the control word, and text that has no use behind them."""
    begin = reader.at
    while reader.skip() == "[":
        flow.values.append(reader.expression())
    flow.end = reader.at
    following = reader.skip()
    too_many = len(flow.values) > MOST_VALUES.get(flow.keyword, 0)
    if not too_many and following in ("", "(", ";"):
        return
    if not too_many:
        begin = reader.at
    reader.at = comment_at(reader.text, begin)
    reader.notes.append(
        Problem(
            "FLOW-12",
            begin,
            max(reader.at, begin + 1),
            f"text follows the control word {flow.keyword} that has no use there",
            "write it in a line of its own",
            reader.text[begin : reader.at].strip()[:40],
            "nothing, or a comment",
            blocks=False,
        )
    )
