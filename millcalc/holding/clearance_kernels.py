"""Kernel of the smallest gap between many places and all motions, exact, with whole runs of motions skipped.

Shapes and dtypes: ``kinds`` = (kind, plane) uint8 (n,); ``ends`` = (start, end, centre) float64 (n, 3); ``numbers`` =
(sweep, level, radius) float64 (n,), none of them NaN; ``bounds`` float64 (n, 4), x0, x1, y0, y1 of each motion from
above; ``runs`` float64 (ceil(n / length), 5), the same of each run of ``length`` motions and its largest radius.
``boxes`` float64 (m, 4), x0, x1, y0, y1; a point where x0 = x1 and y0 = y1. ``out`` float64 (m, 3) is filled in place:
gap (infinity where nothing comes down), row and share of the motion's length.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from millcalc.kernels import inner_kernel, kernel
from millcalc.preflight.geometry_kernels import motion_distance


@inner_kernel
def apart(bounds: NDArray[np.float64], row: int, box: tuple[float, float, float, float]) -> float:
    """Distance of two upright rectangles; 0 where they overlap."""
    dx = max(bounds[row, 0] - box[1], box[0] - bounds[row, 1], 0.0)
    dy = max(bounds[row, 2] - box[3], box[2] - bounds[row, 3], 0.0)
    return math.hypot(dx, dy)


@kernel
def least_gaps(
    kinds: tuple[NDArray[np.uint8], NDArray[np.uint8]],
    ends: tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]],
    numbers: tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]],
    bounds: NDArray[np.float64],
    runs: NDArray[np.float64],
    length: int,
    boxes: NDArray[np.float64],
    out: NDArray[np.float64],
) -> None:
    """Fill out with the smallest gap (distance less radius) of each box from all motions."""
    kind, plane = kinds
    start, end, centre = ends
    sweep, level, radius = numbers
    count = len(runs)
    near = np.empty(count)
    for m in range(len(boxes)):
        box = (boxes[m, 0], boxes[m, 1], boxes[m, 2], boxes[m, 3])
        best, best_row, best_share = math.inf, -1.0, 0.0
        first = 0
        for c in range(count):
            near[c] = apart(runs, c, box) - runs[c, 4]
            if near[c] < near[first]:
                first = c
        # the nearest run first: its gap rules out most others
        for turn in range(count + 1):
            c = first if turn == 0 else turn - 1
            if (turn > 0 and c == first) or near[c] >= best:
                continue
            for i in range(c * length, min((c + 1) * length, len(kind))):
                if apart(bounds, i, box) - radius[i] >= best:
                    continue
                motion = (start[i], end[i], centre[i], sweep[i], int(plane[i]))
                distance, share = motion_distance(int(kind[i]), motion, level[i], box)
                if distance - radius[i] < best:
                    best, best_row, best_share = distance - radius[i], float(i), share
        out[m, 0], out[m, 1], out[m, 2] = best, best_row, best_share
