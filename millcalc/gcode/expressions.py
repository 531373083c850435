"""Real values: numbers, parameters, expressions and functions, read from a line at a position.

``NaN`` is a value that only the machine knows (a probe result, an offset that was never given); it travels
through arithmetic without complaint.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import lru_cache

from millcalc.gcode.lookalikes import lookalike
from millcalc.gcode.problems import BlockError, Problem
from millcalc.tuning import INTEGER_TOLERANCE

NAN = float("nan")
FUNCTIONS = (
    "abs",
    "acos",
    "asin",
    "atan",
    "cos",
    "exp",
    "exists",
    "fix",
    "fup",
    "ln",
    "round",
    "sin",
    "sqrt",
    "tan",
)
# name -> rank; a higher rank binds tighter. NISTIR 6556 section 3.3.2.3; comparisons: common practice, no source
OPERATORS = {
    "**": 5,
    "*": 4,
    "/": 4,
    "mod": 4,
    "+": 3,
    "-": 3,
    "or": 3,
    "xor": 3,
    "and": 3,
    "eq": 2,
    "ne": 2,
    "gt": 2,
    "ge": 2,
    "lt": 2,
    "le": 2,
}
_BY_FIRST: dict[str, tuple[str, ...]] = {}
for _name in sorted(OPERATORS, key=len, reverse=True):
    _BY_FIRST[_name[0]] = (*_BY_FIRST.get(_name[0], ()), _name)
BLANKS = " \t\x00\x0b\x0c"
DIGITS = "0123456789"


@lru_cache(maxsize=1024)
def _near(word: str, words: tuple[str, ...], count: int) -> list[str]:
    return difflib.get_close_matches(word, words, count)


@dataclass
class Parameters:
    """Numbered and named parameters as a program sees them.

    Attributes
    ----------
    numbered : dict of int to float
        Values that were set.
    named : dict of str to float
        Names beginning with an underscore, seen everywhere.
    local : dict of str to float
        Other names, of the subprogram that is running.
    system : callable or None
        Gives the value of a parameter kept by the machine, or None when it keeps no such parameter.
    """

    numbered: dict[int, float] = field(default_factory=dict)
    named: dict[str, float] = field(default_factory=dict)
    local: dict[str, float] = field(default_factory=dict)
    system: Callable[[int], float | None] | None = None

    def number(self, index: int) -> float | None:
        """Value of a numbered parameter, or None when it was never set."""
        if self.system is not None and index >= 5061:
            value = self.system(index)
            if value is not None:
                return value
        return self.numbered.get(index)

    def name(self, name: str) -> float | None:
        """Value of a named parameter, or None when it was never set."""
        return self.named.get(name) if name.startswith("_") else self.local.get(name)

    def set_name(self, name: str, value: float) -> None:
        """Set a named parameter."""
        (self.named if name.startswith("_") else self.local)[name] = value


class ValueReader:
    """Reads real values from one line.

    Parameters
    ----------
    text : str
        The line, one character a byte.
    parameters : Parameters
        Where parameter values come from.
    refuse : frozenset of str
        Parts of the language the profile lacks: ``expressions``, ``parameters``, ``named parameters``,
        ``comparisons``, ``signed values``.
    last_parameter : int
        Largest parameter number [-].

    Attributes
    ----------
    word_at : int
        Where the word that is being read begins, for errors; set by whoever reads the word.
    """

    __slots__ = ("at", "last_parameter", "notes", "operator_at", "parameters", "refuse", "text", "word_at")

    def __init__(
        self,
        text: str,
        parameters: Parameters,
        refuse: frozenset[str] = frozenset(),
        last_parameter: int = 5999,
    ) -> None:
        self.last_parameter = last_parameter
        self.word_at = 0
        self.operator_at = 0
        self.text = text
        self.parameters = parameters
        self.refuse = refuse
        self.at = 0
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
            return self._number(what)
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
            return sign * self._number(what)
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

    def _number(self, what: str) -> float:
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
            if followed == "[" and len(name) > 1:
                near = _near(name, FUNCTIONS, 3)
                self.at = at
                raise self.fail(
                    "PARAM-04",
                    start,
                    f"{name!r} is not a function",
                    f"write {' or '.join(near)}" if near else f"use one of {', '.join(FUNCTIONS)}",
                    " or ".join(near) or "a function",
                    start + len(text[start:at].rstrip()),
                )
            hint = ""
            if text[start] in "oO" and start + 1 < len(text) and text[start + 1] in DIGITS + ".":
                hint = "; a letter O stands where the digit 0 was meant"
            raise self.fail(
                "WORD-02",
                self.word_at,
                f"{what} has no value{hint}",
                f"write the number after {what}, or remove it",
                "a number",
                len(self.text[: max(start, self.word_at + 1)].rstrip(BLANKS)),
            )
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
        for name in _BY_FIRST.get(character, ()):
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
        start = self.at
        word = ""
        for letter in self.text[start:]:
            if not letter.isalpha():
                break
            word += letter
        shown = word or character
        near = _near(word.lower(), tuple(OPERATORS), 2) if word else []
        raise self.fail(
            "PARAM-03",
            start,
            f"{shown!r} is not an operation",
            f"write {' or '.join(near)}" if near else "use ** * / mod + - or xor and, or close the bracket",
            " or ".join(near) or "an operation or ]",
            start + len(shown),
        )

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


def function_value(name: str, value: float) -> float:
    """Value of a function of one number; angles in degrees.

    Parameters
    ----------
    name : str
        Lower-case name, not ``atan`` or ``exists``.
    value : float
        The argument [- or deg].

    Returns
    -------
    float
        The result; NaN for NaN [- or deg].

    Raises
    ------
    ValueError
        Outside the function's domain.

    Example
    -------
    >>> function_value("fix", -2.8), function_value("fup", -2.8), function_value("round", -0.5001)
    (-3.0, -2.0, -1.0)

    References
    ----------
    NISTIR 6556, section 3.3.2.4. Halves round away from zero: from memory.
    """
    if math.isnan(value):
        return value
    if name == "abs":
        return abs(value)
    if name == "acos":
        return math.degrees(math.acos(value))
    if name == "asin":
        return math.degrees(math.asin(value))
    if name == "cos":
        return math.cos(math.radians(value))
    if name == "exp":
        return math.exp(value)
    if name == "fix":
        return float(math.floor(value)) if math.isfinite(value) else value
    if name == "fup":
        return float(math.ceil(value)) if math.isfinite(value) else value
    if name == "ln":
        return math.log(value)
    if name == "round":
        return math.copysign(float(math.floor(abs(value) + 0.5)), value) if math.isfinite(value) else value
    if name == "sin":
        return math.sin(math.radians(value))
    if name == "sqrt":
        return math.sqrt(value)
    return math.tan(math.radians(value))


def operation_value(name: str, left: float, right: float) -> float:
    """Value of an operation of two numbers.

    Parameters
    ----------
    name : str
        Lower-case operator.
    left, right : float
        The operands [-].

    Returns
    -------
    float
        The result; comparisons and logic give 0 or 1, or NaN when an operand is not known [-].

    Raises
    ------
    ValueError, OverflowError, ZeroDivisionError
        When the operation has no real value.

    Example
    -------
    >>> operation_value("mod", 15.0, 4.0), operation_value("xor", 2.0, 2.0), operation_value("**", 2.0, 3.0)
    (3.0, 0.0, 8.0)

    References
    ----------
    NISTIR 6556, section 3.3.2.3. A modulus takes the sign of its right operand: from memory.
    """
    if name == "+":
        return left + right
    if name == "-":
        return left - right
    if name == "*":
        return left * right
    if name == "/":
        return left / right
    if math.isnan(left) or math.isnan(right):
        return NAN
    if name == "**":
        power = left**right
        if isinstance(power, complex):
            raise ValueError("negative base with a broken power")
        return float(power)
    if name == "mod":
        return left % right if right > 0 else left % abs(right)
    if name in ("and", "or", "xor"):
        truth = {
            "and": left != 0 and right != 0,
            "or": left != 0 or right != 0,
            "xor": (left != 0) != (right != 0),
        }
        return 1.0 if truth[name] else 0.0
    near = abs(left - right) <= 1e-6
    result = {
        "eq": near, "ne": not near, "gt": left > right, "ge": left >= right, "lt": left < right, "le": left <= right,
    }[name]  # fmt: skip
    return 1.0 if result else 0.0
