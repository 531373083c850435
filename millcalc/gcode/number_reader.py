"""Numbers in a line of text: blanks anywhere in them, and what is often written into them by mistake."""

from __future__ import annotations

import math

from millcalc.gcode.problems import BlockError, Problem
from millcalc.gcode.tuning import INTEGER_TOLERANCE

BLANKS = " \t\x00\x0b\x0c"
DIGITS = "0123456789"


class NumberReader:
    """Walks along a line and reads numbers.

    text: The line, one character a byte.
    at: Where it stands, 0-based [-].
    word_at: Where the word that is being read begins, for errors; set by whoever reads the word.
    notes: Problems that do not keep the line from being read.
    """

    __slots__ = ("at", "notes", "text", "word_at")

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.word_at = 0
        self.notes: list[Problem] = []

    def skip(self) -> str:
        """Step over blanks; the character that follows, or an empty string at the end."""
        text, at, size = self.text, self.at, len(self.text)
        while at < size and text[at] in BLANKS:
            at += 1
        self.at = at
        return text[at] if at < size else ""

    def fail(
        self, code: str, start: int, fact: str, action: str, expected: str, end: int | None = None
    ) -> BlockError:
        """Make the error for something between `start` and the present position."""
        stop = max(self.at, start + 1) if end is None else end
        return BlockError(Problem(code, start, stop, fact, action, self.text[start:stop], expected))

    def number(self, what: str) -> float:
        text, size = self.text, len(self.text)
        start = at = self.at
        digits: list[str] = []
        point = False
        while at < size:
            character = text[at]
            if character in DIGITS:
                digits.append(character)
            elif character == ".":
                if point:
                    self.at = at + 1
                    raise self.fail(
                        "WORD-03",
                        start,
                        f"{what} has a number with two decimal points",
                        "write the number with one decimal point",
                        "one decimal point",
                    )
                point = True
                digits.append(character)
            elif character not in BLANKS:
                break
            at += 1
        end = at
        while end > start and text[end - 1] in BLANKS:
            end -= 1
        self.at = end
        number = "".join(digits)
        if number == ".":
            raise self.fail(
                "WORD-03",
                start,
                f"{what} has a decimal point without any digit",
                "write the digits",
                "at least one digit",
            )
        if at < size:
            self._after_number(what, start, end, at)
        return float(number)

    def _after_number(self, what: str, start: int, end: int, at: int) -> None:
        """Catch what is often written into numbers: a comma, an exponent, a letter for a digit."""
        text = self.text
        character = text[at]
        if character == "," and at + 1 < len(text):
            self.at = at + 1
            while self.at < len(text) and text[self.at] in DIGITS:
                self.at += 1
            fixed = text[start : self.at].replace(",", ".")
            raise self.fail(
                "WORD-03",
                start,
                f"{what} is written with a comma: {text[start : self.at]}",
                f"write a decimal point: {fixed}",
                fixed,
            )
        if at != end:
            return
        if character in "eE":
            stop = at + 1
            if stop < len(text) and text[stop] in "+-":
                stop += 1
            first = stop
            while stop < len(text) and text[stop] in DIGITS:
                stop += 1
            signed = first > at + 1
            follows = text[stop] if stop < len(text) else " "
            if stop > first and (signed or follows not in "."):
                self.at = stop
                written = text[start:stop]
                try:
                    plain = f"{float(written):.10f}".rstrip("0").rstrip(".")
                except (ValueError, OverflowError):
                    plain = "a plain decimal number"
                raise self.fail(
                    "WORD-03",
                    start,
                    f"{what} is written with an exponent: {written}",
                    f"write {plain}",
                    plain,
                )
        if character in "oO" and (at + 1 >= len(text) or text[at + 1] in DIGITS + ".oO" + BLANKS):
            stop = at
            while stop < len(text) and text[stop] in DIGITS + ".oO":
                stop += 1
            written = text[start:stop]
            fixed = written.replace("o", "0").replace("O", "0")
            self.at = stop
            raise self.fail(
                "WORD-03",
                start,
                f"{what} has the letter O inside its number: {written}",
                f"write the digit zero; was {what.split()[-1]}{fixed} meant?",
                fixed,
            )

    def integer(self, value: float) -> int | None:
        """The integer a value is near enough to, or None."""
        if math.isnan(value) or math.isinf(value):
            return None
        nearest = round(value)
        return nearest if abs(value - nearest) <= INTEGER_TOLERANCE else None
