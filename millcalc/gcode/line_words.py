"""One line of text to a block: walks along the line, item by item."""

from __future__ import annotations

import re

from millcalc.gcode.expressions import ValueReader
from millcalc.gcode.flow_words import comment_at, read_flow_word
from millcalc.gcode.foreign_text import KINDS, foreign_kind, is_macro_statement
from millcalc.gcode.habits import add_habits
from millcalc.gcode.line_items import LineItems
from millcalc.gcode.number_reader import BLANKS, DIGITS
from millcalc.gcode.operations import FUNCTIONS
from millcalc.gcode.problems import BlockError, Problem
from millcalc.gcode.words import Block, TextRules

_PLAIN = re.compile(
    r"[ \t]*([A-Za-z])[ \t]*([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))(?=[ \t]*(?:[A-DF-NP-Za-df-np-z;(]|$))"
)
_COMMENT = re.compile(r"\([^()]*\)|;.*")
_BRACKETS = re.compile(r"[#\[]")
_FUNCTION = re.compile(rf"({'|'.join(FUNCTIONS)})\s*\[", re.IGNORECASE)


def read_block(text: str, line: int, reader: ValueReader, rules: TextRules, line_bytes: int = 0) -> Block:
    """Read one line.

    text: The line without its end, one character a byte.
    line: Line number, 1-based [-].
    reader: Reader bound to the same text.
    rules: What the profile accepts.
    line_bytes: Length with the line's end, for the length check [byte].
    Returns: The block; its problems say what could not be read.
    """
    block = Block(text, line)
    if rules.max_line and line_bytes > rules.max_line:
        block.problems.append(
            Problem(
                "TEXT-04",
                rules.max_line - 1,
                len(text),
                f"the line is {line_bytes} bytes long; this controller class reads {rules.max_line}",
                "split the line or shorten its comment",
                f"{line_bytes} bytes",
                f"at most {rules.max_line} bytes",
                blocks=False,
                measured=float(line_bytes),
                limit=float(rules.max_line),
                unit="byte",
            )
        )
    _Line(block, reader, rules).read()
    block.problems.extend(reader.notes)
    if block.broken:
        _judge(block)
    elif rules.habits:
        add_habits(block, rules)
    return block


def _judge(block: Block) -> None:
    """Replace many errors of a line that is no G-code by the one fact that matters."""
    if is_macro_statement(block.text):
        block.kind = "macro"
        block.problems = [
            Problem(
                "FLOW-11", -1, -1, "a jump or loop of the IF/GOTO or WHILE/DO kind is not followed",
                "write the loop with O words, or write the moves out", block.text.strip()[:60], "O-word loops",
            )
        ]  # fmt: skip
        return
    kind = foreign_kind(block.text)
    if kind is not None and any(problem.code != "TEXT-22" for problem in block.problems):
        block.kind = kind
        shown = block.text.strip()
        block.problems = [
            Problem(
                "TEXT-03", -1, -1, f"this line is not G-code: {KINDS[kind]}",
                "remove the line, or put it in a comment ( )" if kind == "prose" else "remove the line",
                shown if len(shown) <= 60 else shown[:57] + "...", "a block of G-code",
            )
        ]  # fmt: skip


class _Line(LineItems):
    """Walks along one line."""

    __slots__ = ()

    def read(self) -> None:
        """Fill the block."""
        reader, text = self.reader, self.text
        if text.count("#") + text.count("[") > 300 and len(_BRACKETS.findall(_COMMENT.sub("", text))) > 300:
            self._problem(
                "PARAM-03",
                0,
                len(text),
                "more than 300 brackets and parameters in one line",
                "split the line",
            )
            return
        if "\x00" in text:
            at = text.index("\x00")
            count = text.count("\x00")
            self._problem(
                "TEXT-08",
                at,
                at + 1,
                f"the line holds {count} NUL byte{'s' if count > 1 else ''}",
                "write the file again: it was damaged when it was stored or copied",
                blocks=False,
            )
        first = True
        bad = 0
        while True:
            begin = reader.at
            try:
                match = _PLAIN.match(text, reader.at)
                if match is not None and len(match.group(2)) < 16:
                    letter = match.group(1).upper()
                    if letter in self.letters:
                        reader.at = match.end(2)
                        first = False
                        self._word(letter, float(match.group(2)), match.start(1), match.end(2))
                        continue
                character = reader.skip()
                if not character:
                    return
                first = self._item(character, first)
            except BlockError as error:
                self.block.problems.append(error.problem)
                bad += 1
                first = False
                self._leave_brackets(begin)
                if bad > 8:
                    return

    def _leave_brackets(self, begin: int) -> None:
        """After an error inside brackets go on behind them."""
        text, reader = self.text, self.reader
        read = text[begin : reader.at]
        level = read.count("[") - read.count("]")
        close = reader.at
        while level > 0 and close < len(text):
            level += (text[close] == "[") - (text[close] == "]")
            close += 1
        if level == 0:
            reader.at = close

    def _item(self, character: str, first: bool) -> bool:
        """Read one item; returns whether a line number may still follow."""
        reader, text, block = self.reader, self.text, self.block
        start = reader.at
        if character.isascii() and character.isalpha():
            letter = character.upper()
            reader.at += 1
            if letter == "N":
                self._line_number(start, first)
                return False
            if letter == "O" and (first or not (block.words or block.g or block.m)):
                read_flow_word(block, reader, start)
                return False
            if letter not in self.letters:
                raise self._unknown_letter(letter, start)
            reader.word_at = start
            value = reader.real(f"word {letter}")
            self._word(letter, value, start, reader.at)
            return False
        if character == "(":
            self._comment(start)
            return first
        if character == ";":
            block.comments.append(("comment", start + 1, len(text)))
            reader.at = len(text)
            return first
        if character == "#":
            following = text[start + 1 :].lstrip(BLANKS)
            if not following or (following[0] not in DIGITS + "<[#.+-" and not _FUNCTION.match(following)):
                raise self._other_comment("#", start)
            self._setting(start)
            return False
        if character == "/":
            if text.startswith("//", start):
                raise self._other_comment("//", start)
            reader.at += 1
            if text[:start].strip(BLANKS) == "":
                block.deleted = True
                if reader.at < len(text) and text[reader.at] in "123456789":
                    reader.at += 1
                return True
            if self.rules.delete_anywhere:
                block.deleted = True
                return False
            raise reader.fail(
                "TEXT-12",
                start,
                "a slash stands inside the line",
                "put it first in the line, or in brackets to divide",
                "a slash as first character",
            )
        if character == "%" and text[:start].strip(BLANKS) == "":
            block.percent = True
            reader.at = len(text)
            return False
        if character == ":" and first and text[start + 1 :].lstrip(BLANKS)[:1].isdigit():
            reader.at += 1
            read_flow_word(block, reader, start)
            return False
        raise self._unexpected(character, start)

    def _setting(self, start: int) -> None:
        reader, text = self.reader, self.text
        try:
            index = reader.parameter_index()
        except BlockError:
            rest = re.compile(r"\s*=\s*[-+0-9.]*").match(self.text, reader.at)
            if rest is not None:
                reader.at = rest.end()
            raise
        shown = f"#{index}" if isinstance(index, int) else f"#<{index}>"
        if reader.skip() != "=":
            raise reader.fail(
                "PARAM-02",
                start,
                f"parameter {shown} stands alone: no = follows",
                f"write {shown}=value, or a letter before it",
                "=",
            )
        reader.at += 1
        reader.word_at = start
        value = reader.real(f"setting {shown}")
        if reader.skip() in ("+", "-", "*", "/"):
            begin = reader.at
            stop = reader.at = comment_at(text, begin)
            written = text[text.index("=", start) + 1 : stop].strip()
            raise reader.fail(
                "PARAM-03",
                start,
                f"setting {shown} calculates outside brackets: {written}",
                f"write {shown}=[{written}]",
                f"[{written}]",
                stop,
            )
        self.block.settings.append((index, value))
