"""Values nobody means, for every place of a file: what a typing slip, a damaged disk or a joker may leave there."""

from __future__ import annotations

import copy
import math
from collections.abc import Iterator
from typing import Any

Place = tuple[str | int, ...]

VALUES: tuple[Any, ...] = (
    None, True, -1, 0, 1e-300, 5e-324, -1e308, 1e308, math.inf, -math.inf, math.nan, 2**70, "", "x", "nan mm",
    "1e999 mm", "-0 mm", "1/0 in", "1e-320 mm", "\u0661\u0662 mm", "\x1b[2J\x07", "\u202egood", "9" * 400, "=1+1",
    "a: b", [], {}, [1, "x"], {"value": "x"}, {"value": math.nan, "source": "x", "confidence": "measured"}, [[[]]],
    "2020-13-40", "1 parsec", "1e400", "-5", "0", "0.0000001", "100 m", "nan", "inf",
    False, 1, 0.01, 1e-5, 7.5, 99_999, "0.01 mm", "90 m", "1 mm", "none", "centre", "measured", "10 %", ["none"],
)  # fmt: skip


def places(data: Any, at: Place = ()) -> Iterator[Place]:
    """Every place of nested lists and mappings, the inner ones after the outer."""
    if at:
        yield at
    if isinstance(data, dict):
        for key, value in data.items():
            yield from places(value, (*at, key))
    elif isinstance(data, list):
        for index, value in enumerate(data):
            yield from places(value, (*at, index))


def put(data: Any, at: Place, value: Any) -> Any:
    """A copy with another value at one place."""
    made = copy.deepcopy(data)
    inner = made
    for step in at[:-1]:
        inner = inner[step]
    inner[at[-1]] = copy.deepcopy(value)
    return made
