"""Pieces of motions as columns, and the points where the stock of a picture changes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.motions import MotionTable
from millcalc.stock.path_kernels import Columns


@dataclass(frozen=True)
class Pieces:
    """Motions cut into pieces at chosen moments.

    row: Row of the motion table [-].
    first, last: Share of the motion at which the piece begins and ends [-].
    """

    row: NDArray[np.int64]
    first: NDArray[np.float64]
    last: NDArray[np.float64]


def piece_columns(motions: MotionTable, pieces: Pieces, shape: NDArray[np.int32]) -> Columns:
    """Columns of the pieces as the kernels take them.

    motions: The motions.
    pieces: Pieces of them.
    shape: Shape row of each motion [-].
    Returns: One entry a piece.
    """
    row = pieces.row
    length = pieces.last - pieces.first
    start, end = motions.start_mm[row], motions.end_mm[row]
    centre, sweep = motions.centre_mm[row], motions.sweep_rad[row]
    cut = np.flatnonzero(length < 1.0)
    if len(cut):
        start[cut] = points_of(motions, row[cut], pieces.first[cut])
        end[cut] = points_of(motions, row[cut], pieces.last[cut])
        sweep[cut] *= length[cut]
    return Columns(
        motions.kind[row],
        np.ascontiguousarray(start),
        np.ascontiguousarray(end),
        np.ascontiguousarray(centre),
        sweep,
        motions.plane[row],
        shape[row],
    )


def points_of(
    motions: MotionTable, rows: NDArray[np.int64], shares: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Points on motions, one a row, at a share of each path.

    motions: The motions.
    rows: Rows of the motion table [-].
    shares: Shares of the path, 0 at the start, 1 at the end [-].
    Returns: Part coordinates; NaN where unknown [mm].
    """
    start, end = motions.start_mm[rows], motions.end_mm[rows]
    points: NDArray[np.float64] = start + (end - start) * shares[:, None]
    arcs = motions.is_arc[rows]
    for plane, (a, b) in ((17, (0, 1)), (18, (2, 0)), (19, (1, 2))):
        some = np.flatnonzero(arcs & (motions.plane[rows] == plane))
        if not len(some):
            continue
        which = rows[some]
        ca, cb = motions.centre_mm[which, a], motions.centre_mm[which, b]
        da, db = start[some, a] - ca, start[some, b] - cb
        first = np.hypot(da, db)
        last = np.hypot(end[some, a] - ca, end[some, b] - cb)
        angle = np.arctan2(db, da) + motions.sweep_rad[which] * shares[some]
        radius = first + (last - first) * shares[some]
        points[some, a] = ca + radius * np.cos(angle)
        points[some, b] = cb + radius * np.sin(angle)
    whole = shares >= 1.0
    points[whole] = end[whole]
    return points
