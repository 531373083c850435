"""Operators and functions of expressions.  NaN is a value only the machine knows; it passes through."""

from __future__ import annotations

import math

from millcalc.gcode.tuning import EQUAL_TOLERANCE

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
BY_FIRST: dict[str, tuple[str, ...]] = {}
for _name in sorted(OPERATORS, key=len, reverse=True):
    BY_FIRST[_name[0]] = (*BY_FIRST.get(_name[0], ()), _name)


def function_value(name: str, value: float) -> float:
    """Value of a function of one number; angles in degrees.

    name: Lower-case name, not ``atan`` or ``exists``.
    value: The argument [- or deg].
    Returns: The result; NaN for NaN [- or deg].
    Raises ValueError: Outside the function's domain.

    >>> function_value("fix", -2.8), function_value("fup", -2.8), function_value("round", -0.5001)
    (-3.0, -2.0, -1.0)

    Source: NISTIR 6556, section 3.3.2.4. Halves round away from zero: from memory.
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

    name: Lower-case operator.
    left, right: The operands [-].
    Returns: The result; comparisons and logic give 0 or 1, or NaN when an operand is not known [-].
    Raises ValueError, OverflowError, ZeroDivisionError: When the operation has no real value.

    >>> operation_value("mod", 15.0, 4.0), operation_value("xor", 2.0, 2.0), operation_value("**", 2.0, 3.0)
    (3.0, 0.0, 8.0)

    Source: NISTIR 6556, section 3.3.2.3. A modulus takes the sign of its right operand: from memory.
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
    near = abs(left - right) <= EQUAL_TOLERANCE
    result = {
        "eq": near, "ne": not near, "gt": left > right, "ge": left >= right, "lt": left < right, "le": left <= right,
    }[name]  # fmt: skip
    return 1.0 if result else 0.0
