"""Expressions of a line that runs again and again, made into one Python function; nothing is parsed again.

Only what the plain reader takes without a word of complaint is made into a function; where a value cannot be had (a
parameter that was never set, a division by zero), the function raises, and the plain reader says why.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from functools import lru_cache, partial
from typing import Any

from millcalc.gcode.operations import FUNCTIONS, NAN, OPERATORS, function_value, operation_value
from millcalc.gcode.parameters import Parameters
from millcalc.gcode.tuning import EQUAL_TOLERANCE, INTEGER_TOLERANCE

KEPT_BY_THE_PROGRAM = 5061
"""Parameters from here on may be kept by the machine: they are read by the plain reader."""
NO_VALUE = (KeyError, ValueError, OverflowError, ZeroDivisionError, TypeError)
"""What a function raises where a line needs the plain reader."""

_NUMBER = re.compile(r"[0-9]+\.?[0-9]*|\.[0-9]+")
_NAME = re.compile(r"<([^<>\[\]#()]+)>")
_FUNCTION = re.compile(rf"({'|'.join(name for name in FUNCTIONS if name not in ('atan', 'exists'))}|atan)\[")
_OPERATOR = re.compile("|".join(re.escape(name) for name in sorted(OPERATORS, key=len, reverse=True)))
_COMMENT = re.compile(r"\([^()]*\)|;.*")
_LONGEST_NUMBER = 15

Evaluate = Callable[..., tuple[Any, ...]]
HOLE = "\0"
"""Stands in a text where lines of one shape have numbers of their own."""


class NotPlain(Exception):
    """The text holds something that only the plain reader takes."""


def values_of(text: str, parameters: Parameters) -> Evaluate:
    """A function that gives the values of a line in the order in which they stand.

    text: The line, one that the plain reader took without a problem; it may have HOLEs for numbers.
    parameters: Where parameter values come from.
    Returns: Called with a number for each HOLE; gives words, then of a setting index or name and value, of an O
      word the values in its brackets.  It raises one of NO_VALUE where the plain reader is needed.
    Raises NotPlain: If the line holds anything out of the ordinary.
    """
    code = _compiled(re.sub(r"[ \t]", "", _COMMENT.sub("", text)).lower())
    place: dict[str, Any] = {
        "P": parameters.numbered,
        "G": parameters.named,
        "L": parameters,
        "index": _index,
        **_FUNCTIONS,
    }
    exec(code, place)
    made: Evaluate = place["values"]
    return made


@lru_cache(maxsize=4096)
def _compiled(text: str) -> Any:
    parts = _Parts(text)
    parts.line()
    inner = ", ".join(parts.values)
    given = ", ".join(f"a{k}" for k in range(parts.holes))
    return compile(
        f"def values({given}):\n    return ({inner}{',' if parts.values else ''})", "<line>", "exec"
    )


class _Parts:
    """Walks along a line without blanks and comments, in lower case, and writes Python for each value."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.holes = 0
        self.values: list[str] = []

    def line(self) -> None:
        text = self.text
        while self.at < len(text):
            letter = text[self.at]
            self.at += 1
            if letter == "#":
                self.values.append(self.index())
                self._expect("=")
                self.values.append(self.real())
            elif letter == "o":
                self._control()
                return
            elif letter in "ngm":  # a number of the line, a code: the same every time
                self._number()
            elif letter.isalpha() and letter.isascii():
                self.values.append(self.real())
            else:
                raise NotPlain

    def _expect(self, mark: str) -> None:
        if not self.text.startswith(mark, self.at):
            raise NotPlain
        self.at += len(mark)

    def _control(self) -> None:
        label = re.compile(r"([0-9]+|<[^<>]+>)[a-z]+").match(self.text, self.at)
        if label is None:
            raise NotPlain
        self.at = label.end()
        while self.at < len(self.text):
            self.values.append(self._bracket())

    def _number(self) -> str:
        match = _NUMBER.match(self.text, self.at)
        if match is None or len(match.group()) > _LONGEST_NUMBER:
            raise NotPlain
        self.at = match.end()
        return repr(float(match.group()))

    def real(self) -> str:
        character = self.text[self.at : self.at + 1]
        if character and character in "+-":
            self.at += 1
            if self.text[self.at : self.at + 1] in ("+", "-"):
                raise NotPlain
            return f"({'-1.0' if character == '-' else '1.0'} * {self.real()})"
        if character == "[":
            return self._bracket()
        if character == "#":
            self.at += 1
            return self._parameter()
        if character == HOLE:
            self.at += 1
            self.holes += 1
            return f"a{self.holes - 1}"
        function = _FUNCTION.match(self.text, self.at)
        if function is None:
            return self._number()
        self.at = function.end() - 1
        inner = self._bracket()
        if function.group(1) != "atan":
            return f"{function.group(1)}_({inner})"
        self._expect("/")
        return f"atan_({inner}, {self._bracket()})"

    def _parameter(self) -> str:
        index = self.index()
        if index.startswith("'"):
            return f"{'G' if index.startswith(repr('_')[:-1]) else 'L.local'}[{index}]"
        return f"P[{index}]"

    def index(self) -> str:
        """Index or quoted name of the parameter whose # was just passed."""
        name = _NAME.match(self.text, self.at)
        if name is not None:
            self.at = name.end()
            return repr(name.group(1))
        if self.text[self.at : self.at + 1].isdigit():
            number = float(self._number())
            return str(_index(number))
        return f"index({self.real()})"

    def _bracket(self) -> str:
        self._expect("[")
        value = self._operation(self.real(), 0)
        self._expect("]")
        return f"({value})"

    def _operation(self, left: str, rank: int) -> str:
        while True:
            operator = _OPERATOR.match(self.text, self.at)
            if operator is None or OPERATORS[operator.group()] <= rank:
                return left
            name = operator.group()
            self.at = operator.end()
            right = self._operation(self.real(), OPERATORS[name])
            left = f"({left} {name} {right})" if name in "+-*/" else f"{_SAFE[name]}({left}, {right})"


def _index(value: float) -> int:
    nearest = round(value)
    if abs(value - nearest) > INTEGER_TOLERANCE or not 1 <= nearest < KEPT_BY_THE_PROGRAM:
        raise KeyError(value)
    return nearest


_SAFE = {name: f"{'power' if name == '**' else name}_" for name in OPERATORS if name not in "+-*/"}
_FUNCTIONS: dict[str, Any] = {
    **{f"{name}_": partial(function_value, name) for name in FUNCTIONS if name not in ("atan", "exists")},
    **{python: partial(operation_value, name) for name, python in _SAFE.items()},
    # the common ones without a way past the others; NaN passes through these by itself
    "sin_": lambda value: math.sin(math.radians(value)),
    "cos_": lambda value: math.cos(math.radians(value)),
    "sqrt_": math.sqrt,
    "abs_": abs,
    "lt_": lambda one, two: 1.0 if one < two else 0.0 if one == one and two == two else NAN,
    "le_": lambda one, two: 1.0 if one <= two else 0.0 if one == one and two == two else NAN,
    "gt_": lambda one, two: 1.0 if one > two else 0.0 if one == one and two == two else NAN,
    "ge_": lambda one, two: 1.0 if one >= two else 0.0 if one == one and two == two else NAN,
    "eq_": lambda one, two: (
        1.0 if abs(one - two) <= EQUAL_TOLERANCE else 0.0 if one == one and two == two else NAN
    ),
    "mod_": lambda one, two: one % two if two > 0 else operation_value("mod", one, two),
    "atan_": lambda one, two: math.degrees(math.atan2(one, two)),
}
