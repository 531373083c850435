"""Run the motions over the stock: the one entry to the removal simulation."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.beside import Beside
from millcalc.gcode.motions import MotionTable
from millcalc.stock.bed import bed_depth_mm
from millcalc.stock.engagement_kernels import (
    AE,
    AP,
    ENGAGED_MOST,
    ENGAGED_START,
    HOLDER,
    PLACE,
    SECTION,
    SHANK,
    Output,
)
from millcalc.stock.grid import BoxLike, Grid, Region, choose_cell_mm, make_grid, straighten
from millcalc.stock.holds import Hold
from millcalc.stock.left import EngagementJump, LoosePiece, ThinWeb
from millcalc.stock.path_kernels import CHORD_SHARE, Columns, reached
from millcalc.stock.pieces import find_loose
from millcalc.stock.removal_kernels import NOISE_MM, Field
from millcalc.stock.result import Removal
from millcalc.stock.shape_kernels import WINDOW
from millcalc.stock.shapes import CutterShape
from millcalc.stock.tools import shape_index, shape_rows
from millcalc.stock.tuning import (
    REMOVAL_CHUNK_STEPS,
    REMOVAL_JUMPS_KEPT,
    REMOVAL_MEMORY_BYTES,
)
from millcalc.stock.walker import Walk
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
    meanwhile: Callable[[], None] | None = None,
) -> Removal:
    """Remove material motion by motion and report what the cutter meets.

    motions: The program's motions, tip coordinates.
    stock: The uncut stock in part coordinates [mm].
    shapes: Cutters by tool number.
    holds: Screws and clamps; without any, whatever keeps the stock's edge is taken as held.
    assume_tool: Tool number to take where the program names none.
    cell_mm: Cell size; None takes the smallest cutter's diameter / 32 [mm].
    memory_limit_bytes: Memory the grid may take; the cells become coarser beyond [byte].
    progress: Called as ``progress(motions done, motions)`` now and then.
    pieces: Whether to look for loose pieces and thin webs.
    meanwhile: Done in a second thread while the motions are walked, such as loading what comes next.
    Returns: One entry a motion; the stock that is left.
    Raises ValueError: If the stock has no volume or the cell size is not positive.

    Note: The cutter removes what its cutting surface and the cylinder above it meet, whether its end can cut or not.
      Arcs are walked in chords within a twentieth of a cell. Depths of level cuts with flat cutters are exact; widths
      and engagement follow from the removed cells over a window of travel (an eighth of the diameter, four cells at
      least). What lies beside the stock is not part of the field.
    """
    cut = _prepare(motions, stock, shapes, assume_tool, cell_mm, memory_limit_bytes)
    out, jumps_lost = _run(motions, cut, progress, meanwhile)
    left = _left(motions, cut, holds or ()) if pieces else _NOT_LOOKED_FOR
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
        bed_depth_mm=bed_depth_mm(motions, stock.z_min),
        final=straighten(cut.grid, cut.field.height),
        loose=left.loose,
        cell_mm=cut.grid.cell_mm,
        depth_error_mm=depth_error_mm(cut.used, cut.grid.cell_mm),
        width_error_mm=width_error_mm(cut.grid.cell_mm),
        section_mm2=out.numbers[:, SECTION].copy(),
        skip_reason=cut.reason,
        jumps=_jumps(out.jumps, motions.line),
        jumps_left_out=jumps_lost,
        webs=left.webs,
        held_by=left.held_by,
        slivers=left.slivers,
    )


@dataclass(frozen=True)
class _Cut:
    """What the kernels run on.

    cols: The motions.
    field, grid: The uncut stock, and where its cells are.
    rows: The cutters.
    used: Cutters that some motion runs with.
    reason: Why a motion is left out, one entry a motion.
    """

    cols: Columns
    field: Field
    grid: Grid
    rows: NDArray[np.float64]
    used: list[CutterShape]
    reason: NDArray[np.uint8]


def _prepare(
    motions: MotionTable,
    stock: BoxLike,
    shapes: Mapping[int, CutterShape],
    assume_tool: int | None,
    cell_mm: float | None,
    memory_limit_bytes: int,
) -> _Cut:
    if not (stock.x_max > stock.x_min and stock.y_max > stock.y_min and stock.z_max > stock.z_min):
        raise ValueError("stock without volume: every maximum must lie above its minimum")
    numbers = sorted(shapes)
    index, reason = shape_index(motions, numbers, assume_tool)
    used = [shapes[numbers[i]] for i in np.unique(index[index >= 0])]
    cols = _columns(motions, index)
    grid = _grid(cols, stock, used, cell_mm, memory_limit_bytes)
    field = Field(*grid.uncut(), grid.geometry())
    return _Cut(cols, field, grid, shape_rows(shapes, numbers, grid.cell_mm), used, reason)


@dataclass(frozen=True)
class _Left:
    """Loose pieces and thin webs of what is left, pieces too small to tell, and what holds the rest."""

    loose: tuple[LoosePiece, ...]
    webs: tuple[ThinWeb, ...]
    slivers: int
    held_by: str


_NOT_LOOKED_FOR = _Left((), (), 0, "not looked for")


def _left(motions: MotionTable, cut: _Cut, holds: Sequence[Hold]) -> _Left:
    height, through = cut.field.height, cut.field.through
    diameter = 2 * max((shape.radius_mm for shape in cut.used), default=1.0)
    webs = Beside(lambda: find_webs(cut.grid, height, through, diameter))
    loose, slivers, held_by = find_loose(cut.grid, through, height, holds, motions.line, diameter)
    return _Left(loose, webs.fetch(), slivers, held_by)


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


def _grid(
    cols: Columns, stock: BoxLike, used: list[CutterShape], cell_mm: float | None, memory_limit_bytes: int
) -> Grid:
    """Cells over the part of the stock that the motions reach."""
    reach = max([1.0 if not used else 0.0, *(max(s.radius_mm, s.nut_radius_mm) for s in used)])
    region = _touched(cols, stock, reach)
    cell = choose_cell_mm([shape.detail_mm for shape in used], region.area_mm2, memory_limit_bytes, cell_mm)
    return make_grid(_widen(region, stock, 3 * cell), stock, cell)


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
    centre, sweep = motions.of_arcs()
    return Columns(
        np.ascontiguousarray(motions.kind),
        np.ascontiguousarray(motions.start_mm),
        np.ascontiguousarray(motions.end_mm),
        centre,
        sweep,
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


def _run(
    motions: MotionTable, cut: _Cut, progress: Progress | None, meanwhile: Callable[[], None] | None
) -> tuple[Output, int]:
    beside = Beside(meanwhile) if meanwhile is not None else None
    way = Walk(cut.cols, cut.field, cut.rows, REMOVAL_JUMPS_KEPT)
    step = float(cut.rows[:, WINDOW][cut.rows[:, WINDOW] > 0].min(initial=np.inf))
    for last in _chunks(motions, step):
        way.to(last)
        if progress is not None:
            progress(last, len(motions))
    lost = way.finish()
    if beside is not None:
        beside.fetch()
    return way.out, lost


def _chunks(motions: MotionTable, step_mm: float) -> list[int]:
    """Ends of runs of motions of about REMOVAL_CHUNK_STEPS steps each."""
    work = 1.0 + np.nan_to_num(motions.length_mm, nan=0.0, posinf=0.0) / step_mm
    total = np.cumsum(work)
    if not len(total):
        return []
    marks = np.arange(REMOVAL_CHUNK_STEPS, total[-1], REMOVAL_CHUNK_STEPS)
    ends = np.unique(np.append(np.searchsorted(total, marks) + 1, len(motions)))
    return [int(end) for end in ends if end <= len(motions)]


def _jumps(kept: NDArray[np.float64], lines: NDArray[np.int32]) -> tuple[EngagementJump, ...]:
    """The jumps that were kept; the room behind them is -1."""
    return tuple(
        EngagementJump(int(motion), int(lines[int(motion)]), (x, y, z), before, after)
        for motion, x, y, z, before, after in kept[: int(np.count_nonzero(kept[:, 0] >= 0))].tolist()
    )


__all__ = ["Grid", "Hold", "Progress", "depth_error_mm", "simulate", "width_error_mm"]
