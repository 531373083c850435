"""The tool's way as few lines: by kind, drawn once where passes repeat, no finer than a picture can show."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from millcalc.stock.frames import points_of

if TYPE_CHECKING:
    from millcalc.preflight.context import Context

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
KINDS = ("rapid", "air", "cut")  # drawn in this order, the last on top
FINEST_SHARE = 1 / 4000  # finest raster, as a share of the picture's size
MOST_CELLS = 32_000  # cells along an axis that a key can hold
DENSE_LINES = 30.0  # as many lines side by side across their own field are drawn translucent [-]
MOST_CHORDS = 96  # chords of one arc


@dataclass(frozen=True)
class WayLines:
    """The tool's way seen from above.

    x0_mm, y0_mm, step_mm: Place of raster point (0, 0) and its spacing [mm].
    segments: For each kind: from x, y to x, y on the raster, in program order, no segment twice.
    plunges_mm: Where the tool goes straight down into the work [mm].
    """

    x0_mm: float
    y0_mm: float
    step_mm: float
    segments: dict[str, Ints]
    plunges_mm: Floats

    @property
    def dense(self) -> bool:
        """Whether the lines lie so close that they would hide what lies below them."""
        steps = [np.diff(line, axis=0) for kind in KINDS for line in self.polylines(kind)]
        if not steps:
            return False
        length, ends = np.hypot(*np.concatenate(steps).T).sum(), np.concatenate(list(self.segments.values()))
        low, high = (
            np.minimum(ends[:, :2], ends[:, 2:]).min(axis=0),
            np.maximum(ends[:, :2], ends[:, 2:]).max(axis=0),
        )
        area = float(np.prod(np.maximum(high - low, 1)))
        return bool(length * float(np.max(high - low)) / area > DENSE_LINES)

    def polylines(self, kind: str) -> list[Ints]:
        """Segments of a kind chained where one ends and the next begins.

        kind: One of KINDS.
        Returns: Raster points.
        """
        seg = self.segments.get(kind)
        if seg is None or not len(seg):
            return []
        broken = np.flatnonzero((seg[1:, :2] != seg[:-1, 2:]).any(axis=1)) + 1
        return [np.vstack([part[:1, :2], part[:, 2:]]) for part in np.split(seg, broken)]

    def path_data(self, kind: str) -> str:
        """The lines of a kind as SVG path data on the raster.

        kind: One of KINDS.
        Returns: Absolute first points, then relative steps; empty for no lines.
        """
        parts: list[str] = []
        for line in self.polylines(kind):
            steps = np.diff(line, axis=0).tolist()
            parts.append(f"M{line[0, 0]} {line[0, 1]}l" + " ".join(f"{dx} {dy}" for dx, dy in steps))
        return "".join(parts)

    def places_mm(self, kind: str) -> list[Floats]:
        """The lines of a kind in part coordinates.

        kind: One of KINDS.
        Returns: Points [mm].
        """
        origin = np.array([self.x0_mm, self.y0_mm])
        return [origin + line * self.step_mm for line in self.polylines(kind)]


def way_lines(ctx: Context, box: tuple[float, float, float, float], most_segments: int = 24_000) -> WayLines:
    """The tool's way as lines for a picture.

    ctx: Program and set-up.
    box: The picture: x low, x high, y low, y high; ways that lie outside are left out [mm].
    most_segments: Greatest number of line pieces; the raster becomes coarser until they fit [-].
    Returns: Lines of each kind, and the straight plunges.
    """
    facts, motions = ctx.facts, ctx.program.motions
    kind = np.where(facts.rapid, 0, np.where(facts.cutting, 2, 1)).astype(np.int64)
    known = np.isfinite(motions.start_mm[:, :2]).all(axis=1) & np.isfinite(motions.end_mm[:, :2]).all(axis=1)
    moves = motions.moves & known & (facts.plan_mm > 1e-6)
    size = max(box[1] - box[0], box[3] - box[2], 1e-3)
    step = size * FINEST_SHARE
    found = _on_raster(ctx, np.flatnonzero(moves), kind, box, step)
    while sum(len(part) for part in found.values()) > most_segments:
        step *= 2
        found = {name: _coarser(part) for name, part in found.items()}
    down = np.flatnonzero(facts.straight_down & facts.inside & known)
    plunges = motions.end_mm[down, :2]
    if len(plunges):
        _, first = np.unique(np.rint(plunges / (4 * step)), axis=0, return_index=True)
        plunges = plunges[np.sort(first)[:600]]
    return WayLines(box[0], box[2], step, found, plunges)


def _on_raster(
    ctx: Context, rows: Ints, kind: Ints, box: tuple[float, float, float, float], step_mm: float
) -> dict[str, Ints]:
    """Segments of each kind on a raster, none twice, straight runs joined."""
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


def _coarser(segments: Ints) -> Ints:
    """The same on a raster twice as coarse."""
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
