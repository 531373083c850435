"""Ways made no finer than a picture can show: on a raster, thinned, drawn once, joined."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from millcalc.stock.frame_points import points_of

if TYPE_CHECKING:
    from millcalc.preflight.context import Context


Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
KINDS = ("rapid", "air", "cut")  # drawn in this order, the last on top
MOST_CELLS = 32_000  # cells along an axis that a key can hold
MOST_CHORDS = 96  # chords of one arc


def on_raster(
    ctx: Context, rows: Ints, kind: Ints, box: tuple[float, float, float, float], step_mm: float
) -> dict[str, Ints]:
    """Segments of each kind on a raster, none twice, straight runs joined.

    ctx: The program.
    rows, kind: Motions, and the place of every motion's kind in ``KINDS``.
    box: x low, x high, y low, y high of the picture [mm].
    step_mm: Raster step [mm].
    Returns: Ends by kind, shape (n, 4) [cells].
    """
    row, first, last = _chords(ctx, rows, step_mm)
    motions = ctx.program.motions
    origin = np.array([box[0], box[2]])
    ends = []
    for share in (first, last):
        places = points_of(motions, row, share)[:, :2]
        ends.append(np.rint((places - origin) / step_mm).astype(np.int64))
    kinds = kind[row]
    a, b = ends
    limit = np.array([(box[1] - box[0]) / step_mm, (box[3] - box[2]) / step_mm])
    seen = ((np.maximum(a, b) >= 0) & (np.minimum(a, b) <= limit)).all(axis=1)
    seen &= ((np.abs(a) < MOST_CELLS) & (np.abs(b) < MOST_CELLS)).all(axis=1)
    a, b, kinds = a[seen], b[seen], kinds[seen]
    result: dict[str, Ints] = {}
    for number, name in enumerate(KINDS):
        mine = kinds == number
        result[name] = _joined(*_once(*_thinned(a[mine], b[mine])))
    return result


def _chords(ctx: Context, rows: Ints, step_mm: float) -> tuple[Ints, Floats, Floats]:
    """Motions as straight pieces: arcs in chords that stay within half a raster step."""
    motions = ctx.program.motions
    count = np.ones(len(rows), np.int64)
    arcs = motions.is_arc[rows]
    if arcs.any():
        mine = rows[arcs]
        offset = np.nan_to_num(motions.start_mm[mine] - motions.centre_mm[mine])
        radius = np.maximum(np.linalg.norm(offset, axis=1), 1e-9)
        angle = 2 * np.arccos(1 - np.minimum(0.5 * step_mm / radius, 1.0))
        chords = np.ceil(np.abs(np.nan_to_num(motions.sweep_rad[mine])) / np.maximum(angle, 1e-3))
        count[arcs] = np.clip(chords, 1, MOST_CHORDS).astype(np.int64)
    row = np.repeat(rows, count)
    number = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
    total = np.repeat(count, count)
    return row, number / total, (number + 1) / total


def _thinned(a: Ints, b: Ints) -> tuple[Ints, Ints]:
    """Segments without those that begin and end on the same raster point."""
    moves = (a != b).any(axis=1)
    return a[moves], b[moves]


def coarser(segments: Ints) -> Ints:
    """The same segments on a raster twice as coarse.

    segments: Ends, shape (n, 4) [cells].
    Returns: Fewer segments, of the same shape.
    """
    half = segments >> 1
    return _joined(*_once(*_thinned(half[:, :2], half[:, 2:])))


def _once(a: Ints, b: Ints) -> tuple[Ints, Ints]:
    """Each segment once, whatever its direction; the first stays where it is in the order."""
    if not len(a):
        return a, b
    shift = np.int64(MOST_CELLS)
    one = (a[:, 0] + shift) * (4 * shift) + a[:, 1] + shift
    two = (b[:, 0] + shift) * (4 * shift) + b[:, 1] + shift
    low, high = np.minimum(one, two), np.maximum(one, two)
    order = np.lexsort((np.arange(len(low)), high, low))
    same = (low[order][1:] == low[order][:-1]) & (high[order][1:] == high[order][:-1])
    keep = np.sort(order[np.concatenate([[True], ~same])])
    return a[keep], b[keep]


def _joined(a: Ints, b: Ints) -> Ints:
    """Runs of segments that go on straight become one."""
    if not len(a):
        return np.zeros((0, 4), np.int64)
    step = b - a
    on = (a[1:] == b[:-1]).all(axis=1)
    cross = step[1:, 0] * step[:-1, 1] - step[1:, 1] * step[:-1, 0]
    ahead = (step[1:] * step[:-1]).sum(axis=1) > 0
    begin = np.concatenate([[True], ~(on & (cross == 0) & ahead)])
    first = np.flatnonzero(begin)
    last = np.append(first[1:], len(a)) - 1
    return np.hstack([a[first], b[last]])


def nice_length(most: float) -> float:
    """The largest of 1, 2, 5 times a power of ten that is no longer.

    most: Longest length, above zero (any unit).
    Returns: The length (same unit).

    >>> nice_length(37.0), nice_length(0.6)
    (20.0, 0.5)
    """
    power = 10.0 ** math.floor(math.log10(most))
    for factor in (5.0, 2.0):
        if factor * power <= most * (1 + 1e-9):
            return factor * power
    return power
