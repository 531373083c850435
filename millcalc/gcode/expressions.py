"""Real values: numbers, parameters, expressions and functions, read from a line at a position.

``NaN`` is a value that only the machine knows (a probe result, an offset that was never given); it travels
through arithmetic without complaint.
"""

from __future__ import annotations

import math

from millcalc.gcode.expression_errors import unknown_function, unknown_operation
from millcalc.gcode.lookalikes import lookalike
from millcalc.gcode.number_reader import BLANKS, DIGITS, NumberReader
from millcalc.gcode.operations import BY_FIRST, FUNCTIONS, OPERATORS, function_value, operation_value
from millcalc.gcode.parameters import Parameters
from millcalc.gcode.problems import BlockError, Problem

NAN = float("nan")


class ValueReader(NumberReader):
    """Reads real values from one line.

    text: The line, one character a byte.
    parameters: Where parameter values come from.
    refuse: Parts of the language the profile lacks: ``expressions``, ``parameters``, ``named parameters``,
      ``comparisons``, ``signed values``.
    last_parameter: Largest parameter number [-].
    """

    __slots__ = ("last_parameter", "operator_at", "parameters", "refuse")

    def __init__(
        self,
        text: str,
        parameters: Parameters,
        refuse: frozenset[str] = frozenset(),
        last_parameter: int = 5999,
    ) -> None:
        super().__init__(text)
        self.last_parameter = last_parameter
        self.operator_at = 0
        self.parameters = parameters
        self.refuse = refuse

    def real(self, what: str) -> float:
        """Read a real value; `what` names what it belongs to, for the error."""
        character = self.skip()
        if character in DIGITS or character == "." or character in "+-":
            if character == "":
                raise self.fail(
                    "WORD-02",
                    self.word_at,
                    f"{what} has no value: the line ends here",
                    f"write the number after {what}, or remove it",
                    "a number",
                    len(self.text),
                )
            if character in "+-":
                return self._signed(what)
            return self.number(what)
        if character == "[":
            return self.expression()
        if character == "#":
            return self._parameter()
        if character.isascii() and character.isalpha():
            return self._function(what)
        start = self.at
        if character >= "\x80":
            problem = lookalike(self.text, start)
            self.at = problem.end
            while self.at < len(self.text) and self.text[self.at] in DIGITS + ".":
                self.at += 1
            raise BlockError(problem)
        self.at += 1
        raise self.fail(
            "WORD-02",
            start,
            f"{what} is followed by {character!r} where its number should be",
            f"write the number after {what}, or remove it",
            "a number",
        )

    def _signed(self, what: str) -> float:
        start = self.at
        sign = -1.0 if self.text[start] == "-" else 1.0
        self.at += 1
        character = self.skip()
        if character and (character in DIGITS or character == "."):
            return sign * self.number(what)
        if character and (character in "[#" or (character.isascii() and character.isalpha())):
            follows_function = character in "[#" or any(
                self.text[self.at :].lower().startswith(name) for name in FUNCTIONS
            )
            if follows_function:
                if "signed values" in self.refuse:
                    self.notes.append(
                        Problem(
                            "PARAM-10",
                            start,
                            self.at,
                            "a sign stands before a bracket or parameter, which this controller class does not read",
                            "write [0 - ...] instead",
                            self.text[start : self.at + 1],
                            "a sign before digits only",
                            blocks=False,
                        )
                    )
                return sign * self.real(what)
        raise self.fail(
            "WORD-03",
            start,
            f"{what} has a sign without a number",
            f"write the digits after the sign of {what}",
            "digits after the sign",
            start + 1,
        )

    def parameter_index(self) -> int | str:
        """Read what follows a ``#``: the index or the name of a parameter."""
        start = self.at
        self.at += 1
        if self.skip() == "<":
            close = self.text.find(">", self.at)
            if close < 0:
                raise self.fail(
                    "PARAM-01",
                    start,
                    "a parameter name has no closing >",
                    "close the name with >",
                    ">",
                    len(self.text),
                )
            name = "".join(c for c in self.text[self.at + 1 : close] if c not in BLANKS).lower()
            self.at = close + 1
            if not name:
                raise self.fail(
                    "PARAM-01", start, "a parameter name is empty", "write the name inside < >", "a name"
                )
            self._refused("named parameters", start, "a named parameter")
            return name
        self._refused("parameters", start, "a parameter")
        value = self.real("#")
        index = self.integer(value)
        if index is None or not 1 <= index <= self.last_parameter:
            raise self.fail(
                "PARAM-01",
                start,
                f"parameter number {value:g} does not exist",
                f"use a whole number from 1 to {self.last_parameter}",
                f"a whole number from 1 to {self.last_parameter}",
            )
        return index

    def _refused(self, part: str, start: int, words: str, end: int = 0) -> None:
        if part in self.refuse:
            end = end or start + 1
            self.notes.append(
                Problem(
                    "WORD-07",
                    start,
                    end,
                    f"{words} is used, which this controller class does not read",
                    "write the number itself, or name the right controller in the job",
                    self.text[start:end],
                    "plain numbers",
                    blocks=False,
                )
            )

    def _parameter(self) -> float:
        start = self.at
        index = self.parameter_index()
        if isinstance(index, str):
            value = self.parameters.name(index)
            shown = f"#<{index}>"
        else:
            value = self.parameters.number(index)
            shown = f"#{index}"
        if value is None:
            self.notes.append(
                Problem(
                    "PARAM-06",
                    start,
                    self.at,
                    f"parameter {shown} is read but the program never set it; 0 is assumed",
                    f"set {shown} at the top of the program",
                    self.text[start : self.at],
                    "a parameter set before",
                    blocks=False,
                )
            )
            return 0.0
        return value

    def _function(self, what: str) -> float:
        start = at = self.at
        text = self.text
        letters: list[str] = []
        while at < len(text) and ((text[at].isascii() and text[at].isalpha()) or text[at] in BLANKS):
            if text[at] not in BLANKS:
                letters.append(text[at].lower())
            at += 1
        name = "".join(letters)
        followed = text[at] if at < len(text) else ""
        if name not in FUNCTIONS:
            raise unknown_function(self, what, name, start, at)
        self.at = at
        if followed != "[":
            raise self.fail(
                "PARAM-03",
                start,
                f"function {name} must be followed by a bracket",
                f"write {name}[...]",
                f"{name}[",
                start + len(name),
            )
        self._refused("expressions", start, "a function")
        if name == "exists":
            return self._exists()
        value = self.expression()
        if name == "atan":
            second = 1.0
            if self.skip() != "/":
                raise self.fail(
                    "PARAM-03", start, "atan needs two values: atan[...]/[...]", "write atan[y]/[x]", "/[...]"
                )
            self.at += 1
            if self.skip() != "[":
                raise self.fail(
                    "PARAM-03", start, "atan needs two values: atan[...]/[...]", "write atan[y]/[x]", "["
                )
            second = self.expression()
            return math.degrees(math.atan2(value, second))
        return self._apply(name, value, start)

    def _exists(self) -> float:
        self.at += 1
        if self.skip() != "#":
            raise self.fail(
                "PARAM-03", self.at, "exists asks for a named parameter", "write exists[#<name>]", "#<name>"
            )
        index = self.parameter_index()
        known = self.parameters.name(index) if isinstance(index, str) else self.parameters.number(index)
        if self.skip() != "]":
            raise self.fail("PARAM-03", self.at, "a bracket is not closed", "close it with ]", "]")
        self.at += 1
        return 0.0 if known is None else 1.0

    def _apply(self, name: str, value: float, start: int) -> float:
        try:
            return function_value(name, value)
        except (ValueError, OverflowError):
            raise self.fail(
                "PARAM-05", start, f"{name}[{value:g}] has no value", "check the number inside the brackets",
                "a number inside the function's range",
            ) from None  # fmt: skip

    def expression(self) -> float:
        """Read ``[ ... ]``; nested brackets deeper than a sane program are an error, not a crash."""
        start = self.at
        if self.text.count("[") > 100:
            raise self.fail(
                "PARAM-03", start, "more than 100 brackets in one line", "split the line", "fewer brackets"
            )
        self._refused("expressions", start, "an expression")
        self.at += 1
        value = self._operation(self.real("the bracket"), 0, start)
        if self.skip() != "]":
            raise self.fail("PARAM-03", start, "a bracket is not closed", "close it with ]", "]", start + 1)
        self.at += 1
        return value

    def _operator(self) -> str | None:
        character = self.skip().lower()
        self.operator_at = self.at
        if character in ("", "]"):
            return None
        for name in BY_FIRST.get(character, ()):
            at, matched = self.at, 0
            while at < len(self.text) and matched < len(name):
                if self.text[at].lower() == name[matched]:
                    matched += 1
                elif self.text[at] not in BLANKS:
                    break
                at += 1
            if matched == len(name):
                self.at = at
                return name
        raise unknown_operation(self, character)

    def _operation(self, left: float, rank: int, bracket: int) -> float:
        while True:
            mark = self.at
            name = self._operator()
            if name is None or OPERATORS[name] <= rank:
                self.at = mark
                return left
            if OPERATORS[name] == 2:
                self._refused("comparisons", self.operator_at, "a comparison", self.at)
            right = self._operation(self.real(f"the operation {name}"), OPERATORS[name], bracket)
            try:
                left = operation_value(name, left, right)
            except (ValueError, OverflowError, ZeroDivisionError):
                what = (
                    "division by zero" if name in ("/", "mod") else f"{left:g} {name} {right:g} has no value"
                )
                raise self.fail(
                    "PARAM-05",
                    bracket,
                    what,
                    "check the numbers in the bracket",
                    "an operation that has a value",
                ) from None
