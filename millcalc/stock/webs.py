"""Thin webs, walls and skins in the stock that is left: what may bend, break or be forgotten."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.stock.grid import NEVER, OUTSIDE, Grid
from millcalc.stock.left import ThinWeb
from millcalc.stock.morphology import boxes, distance, grown, label, within
from millcalc.stock.tuning import REMOVAL_THIN_SKIN_MM, REMOVAL_WEB_CELLS, REMOVAL_WEB_PER_DIAMETER

UNCUT_MM = 0.01  # the top counts as uncut to this depth
KINDS = ("tab", "web", "wall", "skin")
TAB_AREA = 3.0  # a tab is no larger than this many diameters times its width and a diameter
LONG = 2.0  # a thin region longer than this many times the limit is reported even where it joins nothing


@dataclass(frozen=True)
class _Plan:
    """Cells for the search, every `stride`-th of the grid's; `cell_mm` is their distance [mm]."""

    grid: Grid
    height: NDArray[np.float32]
    stock: NDArray[np.bool_]
    gone: NDArray[np.bool_]
    stride: int
    row0: int
    column0: int

    @property
    def cell_mm(self) -> float:
        return self.grid.cell_mm * self.stride

    def place_mm(self, cell: tuple[int, int]) -> tuple[float, float, float]:
        row = np.asarray([self.row0 + self.stride * cell[0]])
        column = np.asarray([self.column0 + self.stride * cell[1]])
        x, y = self.grid.centres_mm(row, column)[0]
        height = float(self.height[cell])
        return float(x), float(y), height if height > OUTSIDE else self.grid.top_mm


def find_webs(
    grid: Grid, height: NDArray[np.float32], through: NDArray[np.int32], diameter_mm: float
) -> tuple[ThinWeb, ...]:
    """Find what is narrow or thin in the stock that is left.

    grid: The cells.
    height: Heights at the end [mm].
    through: Motion that cut each cell through [-].
    diameter_mm: Diameter of the largest cutter; narrower than this is thin [mm].
    Returns: Tabs, webs, walls, skins; the narrowest first.

    Note: A region is thin where a disc of the limit's diameter does not fit (a morphological opening by
      distance transforms); it is a web where it joins the rest in two places or more. Widths are good to
      about one cell.
    """
    limit = REMOVAL_WEB_PER_DIAMETER * diameter_mm
    plan = _plan(grid, height, through, limit)
    if plan is None:
        return ()
    floor, top = grid.floor_mm, grid.top_mm
    gone, remaining = plan.gone, plan.stock & ~plan.gone
    webs: list[ThinWeb] = []
    taken = np.zeros(plan.height.shape, dtype=bool)
    if gone.any():
        for cells, cell, width in _tabs(plan, remaining, diameter_mm):
            thickness = float(np.median(plan.height[cells]))
            taken |= cells
            webs.append(_web("tab", plan, cells, cell, width, thickness - floor))
        for cells, cell, width in _thin(plan, remaining, limit):
            if (cells & taken).any():
                continue
            near = _near(plan, cells, cell, max(width, plan.cell_mm))
            thickness = float(np.median(plan.height[near]))
            taken |= cells
            webs.append(_web("web", plan, cells, cell, width, thickness - floor))
    uncut = remaining & ((plan.height >= top - UNCUT_MM) | (plan.height == OUTSIDE))
    if (remaining & ~uncut).any():
        for cells, cell, width in _thin(plan, uncut, limit):
            if (cells & taken).any():
                continue
            tall = _wall_height(plan, cells, uncut)
            if tall > max(width, UNCUT_MM):
                webs.append(_web("wall", plan, cells, cell, width, tall))
    webs.sort(key=lambda web: (KINDS.index(web.kind), web.width_mm))
    return (*webs, *_skins(plan, remaining, diameter_mm))


def _plan(
    grid: Grid, height: NDArray[np.float32], through: NDArray[np.int32], limit_mm: float
) -> _Plan | None:
    """The cells round everything that was cut, beyond the grid where need be; None when nothing was."""
    cut = (height > OUTSIDE) & (height < np.float32(grid.top_mm) - UNCUT_MM)
    rows, columns = np.flatnonzero(cut.any(axis=1)), np.flatnonzero(cut.any(axis=0))
    if not len(rows):
        return None
    margin = math.ceil(3 * limit_mm / grid.cell_mm) + 3
    spans = [(int(cells[0]) - margin, int(cells[-1]) + margin + 1) for cells in (rows, columns)]
    size = (spans[0][1] - spans[0][0]) * (spans[1][1] - spans[1][0])
    stride = max(1, math.ceil(math.sqrt(size / REMOVAL_WEB_CELLS)))
    row, column = (np.arange(*span, stride) for span in spans)
    stock = grid.stock
    x, y = grid.places_mm(row[:, None], column)
    inside = (x >= stock.x_min) & (x < stock.x_max) & (y >= stock.y_min) & (y < stock.y_max)
    known = [_shared(cells, count, stride) for cells, count in ((row, grid.rows), (column, grid.columns))]
    there, here = zip(*known, strict=True)
    part = np.full(inside.shape, OUTSIDE, dtype=np.float32)
    part[there] = height[here]
    gone = np.zeros(inside.shape, dtype=bool)
    gone[there] = through[here] != NEVER
    gone &= part > OUTSIDE
    return _Plan(grid, part, inside, gone & inside, stride, spans[0][0], spans[1][0])


def _shared(cells: NDArray[np.int64], count: int, stride: int) -> tuple[slice, slice]:
    """Where rows or columns of the search, every `stride`-th, are the grid's: places in the search, and in the grid."""
    first, last = (int(place) for place in np.searchsorted(cells, (0, count)))
    begin = int(cells[0])
    return slice(first, last), slice(begin + first * stride, begin + last * stride, stride)


def _thin(
    plan: _Plan, mask: NDArray[np.bool_], limit_mm: float
) -> list[tuple[NDArray[np.bool_], tuple[int, int], float]]:
    """Thin regions of a mask: cells, narrowest cell, width [mm]."""
    radius = limit_mm / 2 / plan.cell_mm + 0.5
    apart, reach = within(mask, radius)
    core = apart > reach
    opened = within(~core, radius)[0] <= reach if core.any() else core
    labels, count = label(mask & ~opened)
    found = []
    for number, place in enumerate(boxes(labels, count), start=1):
        rows, columns = (slice(max(0, part.start - 4), part.stop + 4) for part in place)
        cells = labels[rows, columns] == number
        if cells.sum() < 4:
            continue
        local = np.sqrt(apart[rows, columns])
        touching = grown(cells, 2) & opened[rows, columns] & mask[rows, columns]
        patches, joined = label(touching)
        widest = float(local[cells].max())
        if joined >= 2:
            neck = _neck(cells, local, patches, widest)
        elif cells.sum() / (2 * widest) > LONG * 2 * radius:
            neck = widest
        else:
            continue
        ridge = np.where(cells & (local >= neck - 1e-9), local, np.inf)
        row, column = np.unravel_index(int(np.argmin(ridge)), ridge.shape)
        whole = np.zeros(mask.shape, dtype=bool)
        whole[rows, columns] = cells
        width = max(2 * neck - 1.0, 0.5) * plan.cell_mm
        found.append((whole, (int(row) + rows.start, int(column) + columns.start), width))
    return found


def _tabs(
    plan: _Plan, remaining: NDArray[np.bool_], diameter_mm: float
) -> list[tuple[NDArray[np.bool_], tuple[int, int], float]]:
    """Lowered bridges in a cut that goes through: cells, middle cell, width along the cut [mm]."""
    low = remaining & (plan.height > OUTSIDE) & (plan.height < plan.grid.top_mm - UNCUT_MM)
    labels, count = label(low)
    found = []
    for number, place in enumerate(boxes(labels, count), start=1):
        rows, columns = (slice(max(0, part.start - 3), part.stop + 3) for part in place)
        cells = labels[rows, columns] == number
        area = float(cells.sum()) * plan.cell_mm**2
        if area > TAB_AREA * diameter_mm * 10 * diameter_mm:
            continue
        beside = grown(cells, 2)
        ends, joined = label(beside & plan.gone[rows, columns])
        _, sides = label(beside & remaining[rows, columns] & ~low[rows, columns])
        if joined != 2 or sides < 2:
            continue
        apart = distance(ends != 1)[ends == 2]
        width = max(float(apart.min()) - 1.0, 0.5) * plan.cell_mm
        if area > TAB_AREA * diameter_mm * (width + diameter_mm):
            continue
        places = np.argwhere(cells)
        row, column = places[np.argmin(((places - places.mean(axis=0)) ** 2).sum(axis=1))]
        whole = np.zeros(remaining.shape, dtype=bool)
        whole[rows, columns] = cells
        found.append((whole, (int(row) + rows.start, int(column) + columns.start), width))
    return found


def _neck(
    cells: NDArray[np.bool_], depth: NDArray[np.float64], patches: NDArray[np.int32], widest: float
) -> float:
    """Greatest distance from the edge [cells] that a way from one patch to another keeps."""
    low, high = 0.0, widest
    for _ in range(12):
        middle = 0.5 * (low + high)
        way, _ = label((cells & (depth >= middle)) | (patches > 0))
        ends = {
            (int(way[row, column]), int(patches[row, column])) for row, column in np.argwhere(patches > 0)
        }
        joined = len({label for label, _ in ends}) < len({patch for _, patch in ends})
        low, high = (middle, high) if joined else (low, middle)
    reached = depth[cells & (depth >= low)]
    return float(reached.min()) if len(reached) else max(low, 0.5)


def _near(plan: _Plan, cells: NDArray[np.bool_], cell: tuple[int, int], reach_mm: float) -> NDArray[np.bool_]:
    rows, columns = np.ogrid[: cells.shape[0], : cells.shape[1]]
    near = (rows - cell[0]) ** 2 + (columns - cell[1]) ** 2 <= (reach_mm / plan.cell_mm) ** 2
    return np.asarray(cells & near & (plan.height > OUTSIDE)) | _only(cells, cell)


def _only(cells: NDArray[np.bool_], cell: tuple[int, int]) -> NDArray[np.bool_]:
    only = np.zeros_like(cells)
    only[cell] = True
    return only


def _wall_height(plan: _Plan, cells: NDArray[np.bool_], uncut: NDArray[np.bool_]) -> float:
    """Height of a wall over the floor beside it [mm]."""
    beside = grown(cells, 3) & ~uncut & (plan.height > OUTSIDE)
    if not beside.any():
        return 0.0
    return plan.grid.top_mm - max(float(np.median(plan.height[beside])), plan.grid.floor_mm)


def _web(
    kind: str,
    plan: _Plan,
    cells: NDArray[np.bool_],
    cell: tuple[int, int],
    width_mm: float,
    thickness_mm: float,
) -> ThinWeb:
    return ThinWeb(kind, plan.place_mm(cell), width_mm, thickness_mm, float(cells.sum()) * plan.cell_mm**2)


def _skins(plan: _Plan, remaining: NDArray[np.bool_], diameter_mm: float) -> list[ThinWeb]:
    """Thin floors at least half a cutter wide."""
    grid = plan.grid
    limit = min(REMOVAL_THIN_SKIN_MM, 0.5 * (grid.top_mm - grid.floor_mm))
    thin = remaining & (plan.height > OUTSIDE) & (plan.height < np.float32(grid.floor_mm + limit))
    if not thin.any():
        return []
    labels, count = label(thin)
    skins = []
    for number, box in enumerate(boxes(labels, count), start=1):
        place = tuple(
            slice(max(0, part.start - 1), part.stop + 1) for part in box
        )  # with the cells beside it
        cells = labels[place] == number
        local = np.where(cells, distance(thin[place]), 0.0)
        width = (2 * float(local.max()) - 1.0) * plan.cell_mm
        if width < 0.5 * diameter_mm:
            continue
        row, column = np.unravel_index(int(np.argmax(local)), local.shape)
        cell = (int(row) + place[0].start, int(column) + place[1].start)
        thickness = float(plan.height[place][cells].min()) - grid.floor_mm
        whole = np.zeros(thin.shape, dtype=bool)
        whole[place] = cells
        skins.append(_web("skin", plan, whole, cell, width, thickness))
    return skins
