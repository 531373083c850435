"""Run the motions over the stock: the one entry to the removal simulation."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.motions import DWELL, MotionTable
from millcalc.stock.engagement_kernels import (
    AE,
    AP,
    ENGAGED_MOST,
    ENGAGED_START,
    HOLDER,
    NUMBER_COLUMNS,
    PLACE,
    SECTION,
    SHANK,
    Output,
    reset_window,
)
from millcalc.stock.grid import BoxLike, Grid, Region, choose_cell_mm, make_grid, straighten
from millcalc.stock.holds import Hold
from millcalc.stock.path_kernels import CHORD_SHARE, STANDS_STILL, UNKNOWN_SHAPE, Columns, reached
from millcalc.stock.pieces import find_loose
from millcalc.stock.removal_kernels import BINS, JUMPS_LOST, LAST_SHAPE, NOISE_MM, WINDOW_COLUMNS, Field
from millcalc.stock.result import (
    NOT_A_MOVE,
    POSITION_UNKNOWN,
    RAN,
    TOOL_UNKNOWN,
    EngagementJump,
    LoosePiece,
    Removal,
    ThinWeb,
)
from millcalc.stock.shape_kernels import SHAPE_COLUMNS, WINDOW
from millcalc.stock.shapes import CutterShape
from millcalc.stock.tuning import (
    REMOVAL_CHUNK_STEPS,
    REMOVAL_JUMPS_KEPT,
    REMOVAL_MEMORY_BYTES,
    REMOVAL_WINDOW_CELLS,
    REMOVAL_WINDOW_PER_DIAMETER,
)
from millcalc.stock.walk_kernels import finish, walk
from millcalc.stock.webs import find_webs

WIDTH_ERROR_CELLS = 2.0

Progress = Callable[[int, int], None]


def simulate(
    motions: MotionTable,
    stock: BoxLike,
    shapes: Mapping[int, CutterShape],
    *,
    holds: Sequence[Hold] | None = None,
    assume_tool: int | None = None,
    cell_mm: float | None = None,
    memory_limit_bytes: int = REMOVAL_MEMORY_BYTES,
    progress: Progress | None = None,
    pieces: bool = True,
) -> Removal:
    """Remove material motion by motion and report what the cutter meets.

    motions: The program's motions, tip coordinates.
    stock: The uncut stock in part coordinates [mm].
    shapes: Cutters by tool number.
    holds: Screws and clamps that hold the stock; None or empty: whatever keeps the stock's edge is taken as
      held.
    assume_tool: Tool number to take where the program names none.
    cell_mm: Cell size; None takes the smallest cutter's diameter / 32 [mm].
    memory_limit_bytes: Memory the grid may take; the cells become coarser beyond [byte].
    progress: Called as ``progress(motions done, motions)`` now and then.
    pieces: Whether to look for loose pieces and thin webs.
    Returns: One entry a motion; the stock that is left.
    Raises ValueError: If the stock has no volume or the cell size is not positive.

    Note: The cutter removes what its cutting surface and the cylinder above it meet. Arcs are walked in
      chords that lie within a twentieth of a cell of the arc. Depths of level cuts with flat cutters are
      exact; widths and engagement angles follow from the lateral offsets of removed cells over a window of
      travel (an eighth of the diameter, four cells at least). Whether the end of a cutter can cut at all is
      not looked at. A bed or anything else beside the stock is not part of the field.
    """
    if not (stock.x_max > stock.x_min and stock.y_max > stock.y_min and stock.z_max > stock.z_min):
        raise ValueError("stock without volume: every maximum must lie above its minimum")
    numbers = sorted(shapes)
    index, reason = _shape_index(motions, numbers, assume_tool)
    used = [shapes[numbers[i]] for i in np.unique(index[index >= 0])]
    largest = max((shape.radius_mm for shape in used), default=1.0)
    reach = max([largest] + [shape.nut_radius_mm for shape in used])
    cols = _columns(motions, index)
    region = _touched(cols, stock, reach)
    cell = choose_cell_mm([shape.detail_mm for shape in used], region.area_mm2, memory_limit_bytes, cell_mm)
    grid = make_grid(_widen(region, stock, 3 * cell), stock, cell)
    height, through = grid.uncut()
    field = Field(height, through, grid.geometry())
    rows = _rows(shapes, numbers, cell)
    out, jumps_lost = _run(motions, cols, field, rows, progress)
    kept = out.jumps[: int(np.count_nonzero(out.jumps[:, 0] >= 0))]
    loose: tuple[LoosePiece, ...] = ()
    webs: tuple[ThinWeb, ...] = ()
    slivers, held_by = 0, "not looked for"
    if pieces:
        loose, slivers, held_by = find_loose(grid, through, height, holds or (), motions.line, 2 * largest)
        webs = find_webs(grid, height, through, 2 * largest)
    return Removal(
        axial_depth_mm=out.numbers[:, AP].copy(),
        radial_width_mm=out.numbers[:, AE].copy(),
        engagement_rad=out.numbers[:, ENGAGED_MOST].copy(),
        engagement_start_rad=out.numbers[:, ENGAGED_START].copy(),
        side=out.side,
        volume_mm3=out.volume,
        peak_place_mm=out.numbers[:, PLACE:].copy(),
        shank_contact_mm=out.numbers[:, SHANK].copy(),
        holder_contact_mm=out.numbers[:, HOLDER].copy(),
        bed_depth_mm=_bed_depth(motions, stock.z_min),
        final=straighten(grid, height),
        loose=loose,
        cell_mm=cell,
        depth_error_mm=depth_error_mm(used, cell),
        width_error_mm=width_error_mm(cell),
        section_mm2=out.numbers[:, SECTION].copy(),
        skip_reason=reason,
        jumps=tuple(_jump(row, motions.line) for row in kept),
        jumps_left_out=jumps_lost,
        webs=webs,
        held_by=held_by,
        slivers=slivers,
    )


def depth_error_mm(shapes: Sequence[CutterShape], cell_mm: float) -> float:
    """Bound of the error of a depth.

    shapes: Cutters in use.
    cell_mm: Cell size [mm].
    Returns: Rounding of the field, chord of an arc, and how much higher than the tip a cutter stands over
      the nearest cell centre, half a cell's diagonal away [mm].
    """
    tip = max((shape.height_mm(min(cell_mm / 2**0.5, shape.radius_mm)) for shape in shapes), default=0.0)
    return NOISE_MM + CHORD_SHARE * cell_mm + tip


def width_error_mm(cell_mm: float) -> float:
    """Bound of the error of a radial width.

    cell_mm: Cell size [mm].
    Returns: Two cells: both ends of the engaged arc are known to a cell in the worst direction of travel.
      Over all directions the root mean square is under half a cell, and one window of travel tends to miss
      width, not to add it (tests/stock/test_convergence.py) [mm].
    """
    return WIDTH_ERROR_CELLS * cell_mm


def _shape_index(
    motions: MotionTable, numbers: Sequence[int], assume_tool: int | None
) -> tuple[NDArray[np.int32], NDArray[np.uint8]]:
    tools = motions.tool
    if assume_tool is not None:
        tools = np.where(tools < 0, np.int32(assume_tool), tools)
    index = np.full(len(motions), UNKNOWN_SHAPE, dtype=np.int32)
    reason = np.full(len(motions), TOOL_UNKNOWN, dtype=np.uint8)
    for place, number in enumerate(numbers):
        rows = tools == number
        index[rows], reason[rows] = place, RAN
    finite = np.isfinite(sum(motions.start_mm[:, axis] + motions.end_mm[:, axis] for axis in range(3)))
    arcs = motions.is_arc
    if arcs.any():
        centres = motions.centre_mm
        in_plane = np.ones(len(motions), dtype=bool)
        for plane, axes in ((17, (0, 1)), (18, (0, 2)), (19, (1, 2))):
            rows = arcs & (motions.plane == plane)
            in_plane[rows] = np.isfinite(centres[np.ix_(rows, axes)]).all(axis=1)
        finite &= in_plane & (np.isfinite(motions.sweep_rad) | ~arcs)
    index[~finite], reason[~finite] = UNKNOWN_SHAPE, POSITION_UNKNOWN
    still = motions.kind == DWELL
    index[still], reason[still] = STANDS_STILL, NOT_A_MOVE
    return index, reason


def _touched(cols: Columns, stock: BoxLike, reach_mm: float) -> Region:
    """The part of the stock within reach of a motion that dips below its top."""
    low_x, high_x, low_y, high_y = reached(cols, stock.z_max)
    if low_x > high_x:
        return Region(stock.x_min, stock.x_min, stock.y_min, stock.y_min)
    return Region(
        min(max(low_x - reach_mm, stock.x_min), stock.x_max),
        max(min(high_x + reach_mm, stock.x_max), stock.x_min),
        min(max(low_y - reach_mm, stock.y_min), stock.y_max),
        max(min(high_y + reach_mm, stock.y_max), stock.y_min),
    )


def _columns(motions: MotionTable, index: NDArray[np.int32]) -> Columns:
    return Columns(
        np.ascontiguousarray(motions.kind),
        np.ascontiguousarray(motions.start_mm),
        np.ascontiguousarray(motions.end_mm),
        np.ascontiguousarray(motions.centre_mm),
        np.ascontiguousarray(motions.sweep_rad),
        np.ascontiguousarray(motions.plane),
        index,
    )


def _widen(region: Region, stock: BoxLike, margin_mm: float) -> Region:
    return Region(
        max(region.x_min - margin_mm, stock.x_min),
        min(region.x_max + margin_mm, stock.x_max),
        max(region.y_min - margin_mm, stock.y_min),
        min(region.y_max + margin_mm, stock.y_max),
    )


def _rows(shapes: Mapping[int, CutterShape], numbers: Sequence[int], cell_mm: float) -> NDArray[np.float64]:
    rows = np.zeros((max(len(numbers), 1), SHAPE_COLUMNS))
    for place, number in enumerate(numbers):
        shape = shapes[number]
        rows[place] = shape.row()
        rows[place, WINDOW] = max(
            REMOVAL_WINDOW_PER_DIAMETER * shape.diameter_mm, REMOVAL_WINDOW_CELLS * cell_mm
        )
    return rows


def _run(
    motions: MotionTable,
    cols: Columns,
    field: Field,
    rows: NDArray[np.float64],
    progress: Progress | None,
) -> tuple[Output, int]:
    count = len(motions)
    out = empty_output(count, REMOVAL_JUMPS_KEPT)
    win, bins = np.zeros(WINDOW_COLUMNS), np.zeros(BINS + 1, np.uint8)
    reset_window(win, bins)
    win[LAST_SHAPE] = -1.0
    step = float(rows[:, WINDOW][rows[:, WINDOW] > 0].min(initial=np.inf))
    first = 0
    for last in _chunks(motions, step):
        walk(cols, field, rows, out, win, bins, first, last)
        first = last
        if progress is not None:
            progress(last, count)
    finish(field, rows, out, win, bins, count)
    return out, int(win[JUMPS_LOST])


def empty_output(motions: int, jumps: int) -> Output:
    """Room for what the walk writes.

    motions: Number of motions [-].
    jumps: Number of engagement jumps to keep [-].
    Returns: Zeros; NaN for places that are not known yet, -1 for jumps.
    """
    out = Output(
        numbers=np.zeros((motions, NUMBER_COLUMNS), np.float32),
        volume=np.zeros(motions, np.float64),
        side=np.zeros(motions, np.uint8),
        jumps=np.full((jumps, 6), -1.0),
    )
    out.numbers[:, PLACE:] = np.nan
    return out


def _chunks(motions: MotionTable, step_mm: float) -> list[int]:
    """Ends of runs of motions of about REMOVAL_CHUNK_STEPS steps each."""
    work = 1.0 + np.nan_to_num(motions.length_mm, nan=0.0, posinf=0.0) / step_mm
    total = np.cumsum(work)
    if not len(total):
        return []
    marks = np.arange(REMOVAL_CHUNK_STEPS, total[-1], REMOVAL_CHUNK_STEPS)
    ends = np.unique(np.append(np.searchsorted(total, marks) + 1, len(motions)))
    return [int(end) for end in ends if end <= len(motions)]


def _bed_depth(motions: MotionTable, floor_mm: float) -> NDArray[np.float32]:
    low = np.minimum(motions.start_mm[:, 2], motions.end_mm[:, 2])
    upright = motions.is_arc & (motions.plane != 17)
    for row in np.flatnonzero(upright):
        low[row] = min(low[row], _lowest_of_arc(motions, int(row)))
    with np.errstate(invalid="ignore"):
        return np.where(np.isfinite(low), np.maximum(floor_mm - low, 0.0), 0.0).astype(np.float32)


def _lowest_of_arc(motions: MotionTable, row: int) -> float:
    """Lowest z of an arc in the XZ or YZ plane [mm]; NaN where unknown."""
    first, second = (2, 0) if motions.plane[row] == 18 else (1, 2)
    a, b = motions.start_mm[row, [first, second]] - motions.centre_mm[row, [first, second]]
    begin, sweep = float(np.arctan2(b, a)), float(motions.sweep_rad[row])
    bottom = np.pi if first == 2 else -np.pi / 2
    # is the bottom point within the sweep?
    ahead = (bottom - begin) % (2 * np.pi) if sweep >= 0 else (begin - bottom) % (2 * np.pi)
    if ahead <= abs(sweep):
        return float(motions.centre_mm[row, 2] - np.hypot(a, b))
    return float("inf")


def _jump(row: NDArray[np.float64], lines: NDArray[np.int32]) -> EngagementJump:
    motion = int(row[0])
    return EngagementJump(
        motion,
        int(lines[motion]),
        (float(row[1]), float(row[2]), float(row[3])),
        float(row[4]),
        float(row[5]),
    )


__all__ = ["Grid", "Hold", "Progress", "depth_error_mm", "simulate", "width_error_mm"]
