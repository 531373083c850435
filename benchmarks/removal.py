"""How fast material is removed, against two baselines run in the same process.

Run: ``python benchmarks/removal.py`` (a minute or two); ``--quick`` takes a tenth of the segments.

The case: a raster of short straight moves (about 0.4 mm) of a flat 6 mm cutter over a plate of 200 x 160 mm, cells of
0.25 mm, the plate worked down level by level. Kernels are warm: each is called once before it is timed, and the best
of three runs counts for the compiled ones. Times are processor times; nothing here uses a second thread.

(a) plain numpy: a stamp of the cutter for every segment, cut out of the field with ``minimum``; timed on a sample of
the segments, given a segment.
(b) a simple one-thread numba loop over each segment's bounding box that keeps depth and volume only.
Ours keeps depth, width, engagement angle, side, place, volume, cross-section, jumps and cut-through times as well.
"""

from __future__ import annotations

import argparse
import itertools
import math
import sys
import time
from collections.abc import Callable

import numba
import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.motions import MotionTable
from millcalc.stock.cutter_shapes import ball, flat
from millcalc.stock.grid import Region
from millcalc.stock.shapes import CutterShape
from millcalc.stock.simulate import simulate

DIAMETER, CELL, SEGMENT = 6.0, 0.25, 0.4
WIDTH, DEPTH, THICKNESS = 200.0, 160.0, 6.0
STEPOVER, LEVEL = 2.5, 0.5


class Plate(Region):
    """The stock: 200 x 160 x 6 mm."""

    z_min, z_max = -THICKNESS, 0.0


PLATE = Plate(0.0, WIDTH, 0.0, DEPTH)


def raster(segments: int) -> NDArray[np.float64]:
    """Points (segments + 1, 3) of a wavy raster, level by level."""
    along = int(WIDTH / SEGMENT)
    number = np.arange(segments + 1)
    row, place = number // along, number % along
    x = np.where(row % 2 == 0, place * SEGMENT, WIDTH - (place + 1) * SEGMENT)
    y = (row * STEPOVER) % DEPTH + 0.3 * np.sin(number * 0.05)
    z = -LEVEL * (1 + (row * STEPOVER // DEPTH) % (THICKNESS / LEVEL))
    return np.stack([x, y, z], axis=1)


def motions_of(points: NDArray[np.float64]) -> MotionTable:
    """A motion table of straight feed moves through the points."""
    n = len(points) - 1
    return MotionTable(
        kind=np.ones(n, np.uint8), start_mm=points[:-1].copy(), end_mm=points[1:].copy(),
        centre_mm=np.full((n, 3), np.nan), sweep_rad=np.zeros(n), plane=np.full(n, 17, np.uint8),
        length_mm=np.linalg.norm(np.diff(points, axis=0), axis=1), feed_mm_min=np.full(n, 900.0),
        feed_mode=np.full(n, 94, np.uint8), spindle_rpm=np.full(n, 18000.0), spindle_dir=np.ones(n, np.int8),
        tool=np.ones(n, np.int32), coolant=np.zeros(n, np.uint8), line=np.arange(1, n + 1, dtype=np.int32),
        call_depth=np.zeros(n, np.uint8), dwell_s=np.zeros(n), frame=np.zeros(n, np.uint8),
        flags=np.zeros(n, np.uint16),
    )  # fmt: skip


def numpy_stamps(points: NDArray[np.float64], cell: float) -> float:
    """Baseline (a): removed volume [mm3]."""
    field = np.zeros((int(DEPTH / cell), int(WIDTH / cell)))
    volume = 0.0
    radius = DIAMETER / 2
    for (x0, y0, z), (x1, y1, _) in itertools.pairwise(points):
        i0, i1 = max(0, int((min(x0, x1) - radius) / cell)), int((max(x0, x1) + radius) / cell) + 1
        j0, j1 = max(0, int((min(y0, y1) - radius) / cell)), int((max(y0, y1) + radius) / cell) + 1
        part = field[j0:j1, i0:i1]
        x = (np.arange(i0, i0 + part.shape[1]) + 0.5) * cell - x0
        y = ((np.arange(j0, j0 + part.shape[0]) + 0.5) * cell - y0)[:, None]
        dx, dy = x1 - x0, y1 - y0
        share = np.clip((x * dx + y * dy) / max(dx * dx + dy * dy, 1e-12), 0, 1)
        inside = (x - share * dx) ** 2 + (y - share * dy) ** 2 <= radius * radius
        new = np.where(inside, np.minimum(part, z), part)
        volume += float((part - new).sum()) * cell * cell
        part[:] = new
    return volume


@numba.njit
def bounding_boxes(points, cell, radius, field, depth, volume):  # type: ignore[no-untyped-def]
    """Baseline (b): depth and volume of each segment, into the arrays."""
    rows, columns = field.shape
    for k in range(len(points) - 1):
        x0, y0, z = points[k]
        x1, y1 = points[k + 1, 0], points[k + 1, 1]
        dx, dy = x1 - x0, y1 - y0
        inverse = 1.0 / max(dx * dx + dy * dy, 1e-12)
        i0, i1 = (
            max(0, int((min(x0, x1) - radius) / cell)),
            min(columns - 1, int((max(x0, x1) + radius) / cell)),
        )
        j0, j1 = max(0, int((min(y0, y1) - radius) / cell)), min(rows - 1, int((max(y0, y1) + radius) / cell))
        removed, deepest = 0.0, 0.0
        for j in range(j0, j1 + 1):
            y = (j + 0.5) * cell - y0
            for i in range(i0, i1 + 1):
                x = (i + 0.5) * cell - x0
                share = min(max((x * dx + y * dy) * inverse, 0.0), 1.0)
                a, b = x - share * dx, y - share * dy
                if a * a + b * b <= radius * radius:
                    gone = field[j, i] - z
                    if gone > 0.0:
                        removed += gone
                        deepest = max(deepest, gone)
                        field[j, i] = z
        volume[k] = removed * cell * cell
        depth[k] = deepest


def best(action: Callable[[], object], times: int = 3) -> float:
    """Shortest of a few runs, processor time of this one-thread process [s]: other programs do not count."""
    found = math.inf
    for _ in range(times):
        begin = time.process_time()
        action()
        found = min(found, time.process_time() - begin)
    return found


def run_boxes(points: NDArray[np.float64], cell: float) -> float:
    """Baseline (b) once: removed volume [mm3]."""
    n = len(points) - 1
    field = np.zeros((int(DEPTH / cell), int(WIDTH / cell)), np.float32)
    depth, volume = np.zeros(n), np.zeros(n)
    bounding_boxes(points, cell, DIAMETER / 2, field, depth, volume)
    return float(volume.sum())


def ours(motions: MotionTable, cell: float, shape: CutterShape | None = None, pieces: bool = False) -> float:
    """One simulation: removed volume [mm3]."""
    removal = simulate(motions, PLATE, {1: shape or flat(DIAMETER)}, cell_mm=cell, pieces=pieces)
    return float(removal.volume_mm3.sum())


def peak_memory_mb() -> float | None:
    """Greatest memory of this process so far [MB]; None where the platform does not tell."""
    try:
        import resource
    except ImportError:
        return None
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / 1e6 if sys.platform == "darwin" else peak / 1e3


def main() -> None:
    """Run the cases and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--quick", action="store_true", help="a tenth of the segments")
    segments = 100_000 if parser.parse_args().quick else 1_000_000
    points = raster(segments)
    motions = motions_of(points)
    small = raster(2000)
    through = raster(2000)
    through[:, 2] = -THICKNESS - 0.1
    ours(motions_of(through), CELL, pieces=True)
    ours(motions_of(small), CELL)
    ours(motions_of(small), CELL, ball(DIAMETER))
    run_boxes(small, CELL)
    before = peak_memory_mb()
    volume = ours(motions, CELL)
    after = peak_memory_mb()
    ours_s = best(lambda: ours(motions, CELL))
    boxes_s = best(lambda: run_boxes(points, CELL))
    sample = min(4000, segments)
    stamps_s = best(lambda: numpy_stamps(points[: sample + 1], CELL)) * segments / sample
    with_pieces_s = best(lambda: ours(motions, CELL, pieces=True), 1)
    ball_s = best(lambda: ours(motions, CELL, ball(DIAMETER)), 1)
    swept = segments * (math.pi * DIAMETER**2 / 4 + DIAMETER * SEGMENT) / CELL**2
    print(
        f"{segments} segments of {SEGMENT} mm, D {DIAMETER} mm, cells {CELL} mm, plate {WIDTH:g} x {DEPTH:g} mm"
    )
    print(f"  ours                      {ours_s:8.2f} s   {segments / ours_s:12,.0f} segments/s")
    print(
        f"  cells under the cutter    {swept / ours_s:12,.0f} cells/s (counted for every segment, walked or not)"
    )
    print(f"  with pieces and webs      {with_pieces_s:8.2f} s")
    print(f"  ball cutter instead       {ball_s:8.2f} s")
    print(
        f"  (a) numpy stamps          {stamps_s:8.2f} s   from {sample} segments; {stamps_s / ours_s:.0f} times ours"
    )
    print(f"  (b) numba bounding boxes  {boxes_s:8.2f} s   ours takes {ours_s / boxes_s:.2f} of its time")
    print(f"  removed                   {volume:8.0f} mm3 ours, {run_boxes(points, CELL):.0f} mm3 (b)")
    if before is not None and after is not None:
        print(f"  peak memory               {after:8.0f} MB, of which the simulation {after - before:.0f} MB")
    print("growth with segments (linear: the last column stays)")
    for n in (segments // 100, segments // 10, segments):
        part = motions_of(points[: n + 1])
        seconds = best(lambda part=part: ours(part, CELL))  # type: ignore[misc]
        print(f"  {n:10d} segments {seconds:8.3f} s   {seconds / n * 1e9:8.0f} ns a segment")
    print("growth with the cell size (quadratic at most: the last column does not rise)")
    fewer = motions_of(points[: segments // 10 + 1])
    for cell in (0.5, 0.25, 0.125, 0.0625):
        seconds = best(lambda cell=cell: ours(fewer, cell))  # type: ignore[misc]
        print(f"  {cell:10.4f} mm       {seconds:8.3f} s   {seconds * cell**2 * 1e3:8.3f} ms mm2")


if __name__ == "__main__":
    main()
