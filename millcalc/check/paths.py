"""The tool's way as few lines: by kind, drawn once where passes repeat, no finer than a picture can show."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from millcalc.check.coarse_ways import KINDS, Floats, Ints, coarser, on_raster

if TYPE_CHECKING:
    from millcalc.preflight.context import Context


FINEST_SHARE = 1 / 4000  # finest raster, as a share of the picture's size
DENSE_LINES = 30.0  # as many lines side by side across their own field are drawn translucent [-]


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
    found = on_raster(ctx, np.flatnonzero(moves), kind, box, step)
    while sum(len(part) for part in found.values()) > most_segments:
        step *= 2
        found = {name: coarser(part) for name, part in found.items()}
    down = np.flatnonzero(facts.straight_down & facts.inside & known)
    plunges = motions.end_mm[down, :2]
    if len(plunges):
        _, first = np.unique(np.rint(plunges / (4 * step)), axis=0, return_index=True)
        plunges = plunges[np.sort(first)[:600]]
    return WayLines(box[0], box[2], step, found, plunges)
