"""Which cells of the stock are held, by screws, clamps and what lies beneath."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from millcalc.stock.grid import NEVER, NOT_STOCK, Grid
from millcalc.stock.holds import Hold
from millcalc.stock.pieces_kernels import OUTER, root_of

ROWS_AT_A_TIME = 64  # cells are looked at in blocks, to save memory


def holding(
    grid: Grid, through: NDArray[np.int32], holds: Sequence[Hold]
) -> tuple[NDArray[np.bool_], NDArray[np.int8], NDArray[np.bool_]]:
    """Which cells are held, and by what.

    grid, holds: Cells, and what holds the stock.
    through: When each cell was cut through.
    Returns: Held cells (flat), the part beyond the grid that each cell touches, and which of those parts are held.
    """
    box, stock = grid.region, grid.stock
    cropped = {
        "left": box.x_min > stock.x_min,
        "right": box.x_max < stock.x_max,
        "front": box.y_min > stock.y_min,
        "back": box.y_max < stock.y_max,
    }
    # two parts only where the grid spans the stock one way and is cropped at both ends the other way
    apart = (cropped["left"] and cropped["right"] and not cropped["front"] and not cropped["back"]) or (
        cropped["front"] and cropped["back"] and not cropped["left"] and not cropped["right"]
    )
    part = {"left": 0, "front": 0, "right": int(apart), "back": int(apart)}
    held = np.zeros(through.shape, dtype=bool)
    for hold in holds:
        near = _round(grid, hold)
        rows, columns = np.arange(grid.rows)[near[0]], np.arange(grid.columns)[near[1]]
        held[near] |= hold.covers(*grid.places_mm(rows[:, None], columns)) & (through[near] != NOT_STOCK)
    outer = np.full(through.shape, -1, dtype=np.int8)
    if any(cropped.values()):
        _note_edges(
            grid, through, {side: part[side] for side, is_cropped in cropped.items() if is_cropped}, outer
        )
    outer_held = np.zeros(OUTER, dtype=bool)
    for hold in holds:
        for side, beyond in (
            ("left", hold.x_mm < box.x_min),
            ("right", hold.x_mm > box.x_max),
            ("front", hold.y_mm < box.y_min),
            ("back", hold.y_mm > box.y_max),
        ):
            inside = stock.x_min <= hold.x_mm <= stock.x_max and stock.y_min <= hold.y_mm <= stock.y_max
            if beyond and cropped[side] and inside:
                outer_held[part[side]] = True
    return held.ravel(), outer.ravel(), outer_held


def _round(grid: Grid, hold: Hold) -> tuple[slice, slice]:
    """Rows and columns round a held area: all cells in it and some more."""
    x, y = (
        np.array([middle - half, middle + half])
        for middle, half in ((hold.x_mm, hold.half_x_mm), (hold.y_mm, hold.half_y_mm))
    )
    corners = grid.cells_at(x[:, None], y)
    return tuple(  # type: ignore[return-value]
        slice(*np.clip([int(cells.min()) - 1, int(cells.max()) + 2], 0, count).tolist())
        for cells, count in zip(corners, (grid.rows, grid.columns), strict=True)
    )


def _note_edges(
    grid: Grid, through: NDArray[np.int32], part: dict[str, int], outer: NDArray[np.int8]
) -> None:
    """Write down for each cell at a cropped side which part beyond the grid it touches.

    grid, through: Cells, and when each was cut through.
    part: Number of the part beyond each cropped side, later ones written over earlier ones.
    outer: Written.
    """
    box, near = grid.region, 1.5 * grid.cell_mm
    for first in range(0, grid.rows, ROWS_AT_A_TIME):
        rows = np.arange(first, min(first + ROWS_AT_A_TIME, grid.rows))
        x, y = grid.places_mm(rows[:, None], np.arange(grid.columns))
        stock_cells = through[first : first + len(rows)] != NOT_STOCK
        edge = {
            "left": x < box.x_min + near,
            "right": x > box.x_max - near,
            "front": y < box.y_min + near,
            "back": y > box.y_max - near,
        }
        block = outer[first : first + len(rows)]
        for side, number in part.items():
            block[edge[side] & stock_cells] = number


def hold_edge(
    grid: Grid,
    through: NDArray[np.int32],
    parent: NDArray[np.int32],
    size: NDArray[np.int32],
    held: NDArray[np.uint8],
    outer: NDArray[np.int8],
) -> None:
    """Mark as held what keeps the stock's edge: the stock beyond the grid, or else the largest edge piece.

    grid, through: Cells, and when each was cut through.
    parent, size: Joined cells and their counts.
    held: Written: held pieces.
    outer: Parts beyond the grid that each cell touches.
    """
    cells = through.size
    touched = np.unique(outer[outer >= 0])
    if len(touched):
        for part in touched:
            held[root_of(parent, cells + int(part))] = 1
            held[cells + int(part)] = 1
        return
    remaining = np.flatnonzero(through.ravel() == NEVER)
    if not len(remaining):
        return
    rows, columns = np.divmod(remaining, grid.columns)
    place = grid.centres_mm(rows, columns)
    near = 1.5 * grid.cell_mm
    stock = grid.stock
    at_edge = (
        (place[:, 0] < stock.x_min + near)
        | (place[:, 0] > stock.x_max - near)
        | (place[:, 1] < stock.y_min + near)
        | (place[:, 1] > stock.y_max - near)
    )
    candidates = remaining[at_edge] if at_edge.any() else remaining
    roots = np.unique([root_of(parent, int(cell)) for cell in candidates])
    held[roots[np.argmax(size[roots])]] = 1
