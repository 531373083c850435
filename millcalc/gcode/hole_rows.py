"""Many holes in a row: lines that give nothing but further places of the cycle in force are read and drilled together.

The hole before them was carried out by itself, and left the tool at the height at which it found it. Each further one
is then the same rows at another place: only the way across differs.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.machine import Machine
from millcalc.gcode.motions import RAPID
from millcalc.gcode.source import Source
from millcalc.gcode.state import INCREMENTAL, POS, SHIFT, UNIT
from millcalc.gcode.tuning import FARTHEST_MM, NO_WAY_MM

MOST_AT_ONCE = 10_000  # lines; between two stretches Ctrl-C is heard, and a progress told [-]
FEWEST = 4  # fewer lines are done sooner one by one [-]
_MOST_ROWS = 100_000  # of one stretch, for its memory [-]
_NUMBER = rb"[0-9]{1,9}(?:\.[0-9]{0,9})?|\.[0-9]{1,9}"
_LONGEST = 100  # bytes; a line of such a shape is shorter
Row = tuple[float, ...]
Pattern = tuple[re.Pattern[bytes], re.Pattern[bytes]]


class HoleRows:
    """Drills the holes of the lines that follow.

    machine: Its state and output are changed.
    source: The text.
    digits: Most digits of a line number [-].
    longest: Longest line that the controller reads [byte].
    """

    def __init__(self, machine: Machine, source: Source, digits: int, longest: int) -> None:
        self.machine, self.source = machine, source
        self._line_number = rb"(?:[Nn][0-9]{1,%d}[ \t]*)?" % min(digits, 9)
        self._usable = longest >= _LONGEST
        self._patterns: dict[bytes, Pattern | None] = {}

    def follow(self, first: int, parts: list[bytes]) -> bool:
        """Whether a line is one of the shape of the line before it, whose parts are given; 0-based."""
        pattern = self._known(parts)
        return (
            pattern is not None
            and pattern[1].match(self.source.data, self.source.bounds(first)[0]) is not None
        )

    def _known(self, parts: list[bytes]) -> Pattern | None:
        shape = b"\0".join(parts[::2])
        if shape not in self._patterns:
            self._patterns[shape] = self._pattern(parts) if self._usable else None
        return self._patterns[shape]

    def run(self, first: int, most: int, parts: list[bytes], axes: Sequence[int], rows: list[Row]) -> int:
        """Drill at the places of the lines from one on.

        first: First of the lines, 0-based [-].
        most: Most lines to take [-].
        parts: The line before them, split at its numbers.
        axes: Axis of each of these numbers, 0 or 1 [-].
        rows: What that line's hole was written as.
        Returns: How many lines were carried out [-].
        """
        state, output, source = self.machine.state, self.machine.output, self.source
        pattern, begin = self._known(parts), source.bounds(first)[0]
        room = min(_MOST_ROWS, output.max_motions - output.count) // len(rows) - 1
        most = min(most, MOST_AT_ONCE, source.lines - 1 - first, room)
        if pattern is None or most < FEWEST or state[INCREMENTAL] != 0.0:
            return 0
        region = pattern[0].match(source.data, begin, source.bounds(first + most)[0])
        found = pattern[1].findall(source.data, begin, region.end()) if region else []
        if region is None or len(found) < FEWEST or source.bounds(first + len(found))[0] != region.end():
            return 0
        numbers = found if len(axes) == 1 else chain.from_iterable(found)
        values = np.fromiter(map(float, numbers), np.float64).reshape(len(found), len(axes))
        places, count = self._places(values, axes)
        if count >= FEWEST:
            output.rows_again(rows, places[:count], np.arange(first + 1, first + 1 + count))
        return count if count >= FEWEST else 0

    def _pattern(self, parts: list[bytes]) -> Pattern | None:
        """All lines of a shape in a row, and one of them with its numbers, which may be negative."""
        texts = parts[::2]
        if not texts[0][:1].isalpha() or any(text[:1] in b"0123456789." for text in texts[1:]):
            return None
        whole, one = self._line_number, self._line_number
        for place, text in enumerate(texts):
            last = place == len(texts) - 1
            sign = not last and text.endswith(b"-") and text[-2:-1].isalpha()
            plain = re.escape(text[:-1] if sign else text)
            minus = b"-?" if sign or text[-1:].isalpha() else b""
            whole += plain if last else plain + minus + b"(?:" + _NUMBER + b")"
            one += plain if last else plain + b"(" + minus + b"(?:" + _NUMBER + b"))"
        return re.compile(b"(?:" + whole + b")*+"), re.compile(one)

    def _places(self, values: NDArray[np.float64], axes: Sequence[int]) -> tuple[NDArray[np.float64], int]:
        """Where the holes lie, (n, 2) [mm], and how many of them lie within reach and each beside the one before."""
        state = self.machine.state
        steps = values * float(state[UNIT])
        places = np.tile(state[POS : POS + 2], (len(values), 1))
        for column, axis in enumerate(axes):
            places[:, axis] = steps[:, column] + float(state[SHIFT + axis])
        across = np.abs(np.diff(np.vstack([state[POS : POS + 2], places]), axis=0))
        good = (np.abs(steps) <= FARTHEST_MM).all(axis=1) & (np.abs(places) <= FARTHEST_MM).all(axis=1)
        good &= (across > NO_WAY_MM).any(axis=1)
        return places, len(values) if good.all() else int(np.argmin(good))


def repeatable(rows: list[Row], before: list[float], after: list[float]) -> bool:
    """Whether a hole's rows are those of the next one too: across at its height, down and up to the same height.

    rows: The rows of the hole.
    before, after: Where the tool stood before and after it [mm].
    """
    if not rows or before[2] != after[2] or not all(map(math.isfinite, before)):
        return False
    kind, x, y, z = rows[0][:4]
    beside = all(row[1] == x and row[2] == y for row in rows)
    return kind == RAPID and z == before[2] and (x, y) != (before[0], before[1]) and beside
