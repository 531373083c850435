"""Where a screw can stand, as a map in characters."""

from __future__ import annotations

import math
import textwrap

import numpy as np

from millcalc.holding.result import HoldDown, PlaceMap

ASPECT = 2.1  # height of a character over its width, of common terminal fonts; estimate
MAP_COLUMNS, MAP_ROWS = 74, 24


def map_size(size_x_mm: float, size_y_mm: float) -> tuple[int, int]:
    """Columns and rows of a map in characters.

    size_x_mm, size_y_mm: Size of the stock [mm].
    Returns: Columns and rows [-].
    """
    columns = MAP_COLUMNS
    rows = max(4, round(columns / ASPECT * size_y_mm / size_x_mm))
    if rows > MAP_ROWS:
        rows = MAP_ROWS
        columns = max(12, min(MAP_COLUMNS, round(rows * ASPECT * size_x_mm / size_y_mm)))
    return columns, rows


def map_lines(answer: HoldDown, marks: dict[int, str], *, unicode: bool) -> list[str]:
    """The map, back edge on top, and its key.

    answer: What was found.
    marks: Sign of each new screw, by its identity.
    unicode: Whether signs beyond ASCII can be shown.
    Returns: Lines.
    """
    place: PlaceMap = answer.map
    rim, part, cut = ("·", ":", "×") if unicode else (".", ":", "x")
    ny, nx = place.kind.shape
    grid = np.full((ny, nx), " ")
    room = (place.spare_mm >= 0.0) & ~place.blocked
    grid[room & (place.kind == 1)] = rim
    grid[room & (place.kind == 2)] = part
    grid[place.kind == 0] = cut
    half_x = (place.x_mm[1] - place.x_mm[0]) / 2 if nx > 1 else 0.5
    half_y = (place.y_mm[1] - place.y_mm[0]) / 2 if ny > 1 else 0.5

    def put(at: tuple[float, float], sign: str, *, beside: bool = False) -> None:
        column = math.floor((at[0] - place.x_mm[0] + half_x) / (2 * half_x))
        row = math.floor((at[1] - place.y_mm[0] + half_y) / (2 * half_y))
        if beside:  # the middle of a clamp lies mostly beside the stock: shown at the edge
            column, row = min(max(column, 0), nx - 1), min(max(row, 0), ny - 1)
        if 0 <= row < ny and 0 <= column < nx:
            grid[row, column] = sign

    for verdict in answer.verdicts:
        sign = ("O" if verdict.kind == "screw" else "C") if verdict.clear else "!"
        put(verdict.at_mm, sign, beside=verdict.kind == "clamp")
    for proposed in answer.proposal:
        if not proposed.given:
            put((proposed.screw.x_mm, proposed.screw.y_mm), marks[id(proposed)])
    bar = "+" + "-" * nx + "+"
    lines = [bar, *("|" + "".join(row) + "|" for row in grid[::-1]), bar]
    return [*lines, *textwrap.wrap("  ".join(_key(answer, bool(marks), rim, part, cut)), 76)]


def _key(answer: HoldDown, proposed: bool, rim: str, part: str, cut: str) -> list[str]:
    """What the signs mean."""
    place = answer.map
    room = (place.spare_mm >= 0.0) & ~place.blocked
    through = bool((place.kind == 0).any())
    key = [f"{rim} room in the {'waste' if through else 'stock'}"]
    if (room & (place.kind == 2)).any():
        key.append(f"{part} room inside a cut outline")
    key.append("blank: cutter, holder or edge too near")
    if through:
        key.append(f"{cut} cut through")
    else:
        key.append(
            "nothing is cut through: part and waste cannot be told apart, look where a screw would stand"
        )
    if any(v.kind == "screw" and v.clear for v in answer.verdicts):
        key.append("O given")
    if any(v.kind == "clamp" and v.clear for v in answer.verdicts):
        key.append("C clamp")
    if any(not v.clear for v in answer.verdicts):
        key.append("! in the way")
    if proposed:
        key.append("1 2 .. proposed")
    return key
