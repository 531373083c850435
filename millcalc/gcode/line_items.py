"""Items of a line that need no look at the rest of it: words, line numbers, comments, and what is none of these."""

from __future__ import annotations

from millcalc.gcode.expressions import ValueReader
from millcalc.gcode.lookalikes import lookalike
from millcalc.gcode.number_reader import BLANKS, DIGITS
from millcalc.gcode.problems import BlockError, Problem
from millcalc.gcode.words import Block, TextRules

LARGEST_NUMBER = 1e12
"""Larger numbers are refused: no length, speed or index of any machine comes near it."""


class LineItems:
    """Reads single items into a block.

    block: The block that is being read.
    reader: Reader bound to the same text.
    rules: What the profile accepts.
    """

    __slots__ = ("block", "letters", "reader", "rules", "text")

    def __init__(self, block: Block, reader: ValueReader, rules: TextRules) -> None:
        self.block = block
        self.reader = reader
        self.rules = rules
        self.text = block.text
        self.letters = rules.letters

    def _problem(self, code: str, start: int, end: int, fact: str, action: str, blocks: bool = True) -> None:
        self.block.problems.append(
            Problem(code, start, end, fact, action, self.text[start:end][:40], "", blocks=blocks)
        )

    def _word(self, letter: str, value: float, start: int, end: int) -> None:
        block, reader = self.block, self.reader
        if abs(value) > LARGEST_NUMBER:
            raise reader.fail(
                "WORD-09",
                start,
                f"word {letter} has a number that is too large: {value:.6g}",
                "correct the number",
                f"less than {LARGEST_NUMBER:g}",
                end,
            )
        if self.rules.decimals and letter not in "GM":
            self._decimals(letter, start, end)
        if letter == "G":
            code = reader.integer(value * 10.0)
            if code is None or code < 0:
                raise reader.fail(
                    "WORD-06",
                    start,
                    f"{block.text[start:end]} is not a code: G codes have at most one decimal",
                    "correct the G word",
                    "a G code",
                    end,
                )
            block.g.append((code, start, end))
        elif letter == "M":
            code = reader.integer(value)
            if code is None or code < 0:
                raise reader.fail(
                    "WORD-08",
                    start,
                    f"{block.text[start:end]} is not a code: M codes are whole numbers",
                    "correct the M word",
                    "a whole number",
                    end,
                )
            block.m.append((code, start, end))
        elif letter in block.words:
            before = block.words[letter]
            raise reader.fail(
                "WORD-04",
                start,
                f"word {letter} stands twice in one line ({before[0]:g} and {value:g})",
                f"keep one {letter} word in the line",
                f"one {letter} word",
                end,
            )
        else:
            block.words[letter] = (value, start, end)

    def _decimals(self, letter: str, start: int, end: int) -> None:
        written = self.text[start:end]
        if "." in written and "[" not in written:
            places = len(written.split(".")[1].strip(BLANKS))
            if places > self.rules.decimals:
                self.reader.notes.append(
                    Problem(
                        "WORD-21",
                        start,
                        end,
                        f"word {letter} has {places} decimals; this controller class keeps {self.rules.decimals}",
                        "let the program be written with fewer decimals",
                        written,
                        f"{self.rules.decimals} decimals",
                        blocks=False,
                    )
                )

    def _line_number(self, start: int, first: bool) -> None:
        reader, text = self.reader, self.text
        digits = ""
        at = reader.at
        while at < len(text) and (text[at] in DIGITS or text[at] in BLANKS):
            if text[at] in DIGITS:
                digits += text[at]
            at += 1
        following = text[at] if at < len(text) else ""
        reader.at = at
        while reader.at > start + 1 and text[reader.at - 1] in BLANKS:
            reader.at -= 1
        if not digits or (following and following in ".+-"):
            if digits or (following and following in ".+-"):
                while reader.at < len(text) and text[reader.at] in DIGITS + ".+-" + BLANKS:
                    reader.at += 1
            raise reader.fail(
                "WORD-14",
                start,
                "a line number must be N and digits only",
                "write N and a whole number, or leave it out",
                "N and digits",
                max(at, start + 1),
            )
        if not first:
            raise reader.fail(
                "WORD-14",
                start,
                f"line number N{digits} does not stand first in its line",
                "put it first, or start a new line before it: two lines may have run together",
                "N at the start of a line",
                at,
            )
        self.block.number = int(digits) if len(digits) < 18 else None
        if len(digits) > self.rules.number_digits:
            self.block.problems.append(
                Problem(
                    "WORD-14",
                    start,
                    at,
                    f"line number N{digits[:20]} has {len(digits)} digits",
                    "leave line numbers out, or number in smaller steps",
                    f"{len(digits)} digits",
                    f"at most {self.rules.number_digits} digits",
                    blocks=False,
                )
            )

    def _comment(self, start: int) -> None:
        text, reader = self.text, self.reader
        close = text.find(")", start)
        inner = text.find("(", start + 1)
        if close < 0:
            reader.at = len(text)
            self.block.comments.append(("comment", start + 1, len(text)))
            raise reader.fail(
                "TEXT-09",
                start,
                "a comment is not closed in its line",
                "close it with ) or remove the (",
                "a closing )",
                len(text),
            )
        if 0 <= inner < close:
            reader.at = self._outer_close(start)
            self.block.comments.append(("comment", start + 1, reader.at))
            raise reader.fail(
                "TEXT-10",
                inner,
                "a comment begins inside a comment; it ends at the first )",
                "use other brackets inside the comment",
                "no ( inside a comment",
                close + 1,
            )
        content = text[start + 1 : close]
        squeezed = "".join(character for character in content if character not in BLANKS)[:4].lower()
        kind = "message" if squeezed == "msg," else "comment"
        begin = start + 1
        if kind == "message":
            begin = text.index(",", start) + 1
        self.block.comments.append((kind, begin, close))
        reader.at = close + 1

    def _outer_close(self, start: int) -> int:
        depth = 0
        for at in range(start, len(self.text)):
            if self.text[at] == "(":
                depth += 1
            elif self.text[at] == ")":
                depth -= 1
                if depth == 0:
                    return at + 1
        return len(self.text)

    def _other_comment(self, mark: str, start: int) -> BlockError:
        self.reader.at = len(self.text)
        return self.reader.fail(
            "TEXT-22",
            start,
            f"text after {mark} is no comment here",
            "write comments in ( )",
            "( )",
            len(self.text),
        )

    def _unknown_letter(self, letter: str, start: int) -> BlockError:
        reader, text = self.reader, self.text
        at = reader.at
        while at < len(text) and (text[at] in DIGITS or text[at] in "+-." or text[at] in BLANKS):
            at += 1
        if at == reader.at and at < len(text) and text[at].isalpha():
            while at < len(text) and text[at].isalpha():
                at += 1
        end = at
        while end > start + 1 and text[end - 1] in BLANKS:
            end -= 1
        reader.at = end
        action = f"remove the word {text[start:end][:20]}"
        fact = f"letter {letter} is not a word letter"
        if letter == "E":
            fact += "; E words come from programs for printers that extrude"
        elif letter in "UVW":
            fact += f"; {letter} axes are not read"
        elif letter == "O":
            fact += " inside a line"
            action = "if the digit 0 was meant, write it; a program number stands first in its line"
        return reader.fail("WORD-01", start, fact, action, f"one of {' '.join(self.letters)}", end)

    def _unexpected(self, character: str, start: int) -> BlockError:
        reader, text = self.reader, self.text
        if character >= "\x80":
            problem = lookalike(text, start)
            reader.at = problem.end
            return BlockError(problem)
        reader.at = start + 1
        if character == ")":
            return reader.fail(
                "TEXT-11", start, "a ) closes no comment", "remove it, or open the comment with (", "no )"
            )
        if character in DIGITS + "+-.":
            while reader.at < len(text) and text[reader.at] in DIGITS + "+-." + BLANKS:
                reader.at += 1
            return reader.fail(
                "WORD-03",
                start,
                "a number stands without a letter before it",
                "write the letter it belongs to",
                "a letter",
            )
        if character in "<>=|&@^~`!?*_{}\\\"'$:,%[]":
            while reader.at < len(text) and text[reader.at] == character:
                reader.at += 1
        shown = repr(character) if character.isprintable() else f"control character 0x{ord(character):02X}"
        return reader.fail(
            "TEXT-05",
            start,
            f"{shown} is not expected here",
            "remove it",
            "a word, a comment or the line's end",
        )
