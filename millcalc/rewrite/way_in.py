"""The way back to where a cut stopped: an earlier stretch of the same level path, ridden down on a ramp."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from millcalc.gcode.motions import ARC_CCW, ARC_CW, LINE, MotionTable

LEVEL_MM = 1e-6  # mm; heights closer than this are the same


@dataclass(frozen=True, slots=True)
class Piece:
    """A level piece of path: a line, or an arc in the XY plane.

    kind: LINE, ARC_CW or ARC_CCW [-].
    start, end: X, Y [mm].
    centre: X, Y of an arc's centre [mm].
    sweep_rad: Signed sweep of an arc [rad].
    """

    kind: int
    start: tuple[float, float]
    end: tuple[float, float]
    centre: tuple[float, float] = (0.0, 0.0)
    sweep_rad: float = 0.0

    @property
    def length_mm(self) -> float:
        """Length of the piece [mm]."""
        if self.kind == LINE:
            return math.dist(self.start, self.end)
        return math.dist(self.start, self.centre) * abs(self.sweep_rad)

    def last(self, length_mm: float) -> Piece:
        """The last part of the piece.

        length_mm: Length of that part, no more than the piece's [mm].
        Returns: The part.
        """
        share = length_mm / self.length_mm
        if self.kind == LINE:
            x = self.end[0] + share * (self.start[0] - self.end[0])
            y = self.end[1] + share * (self.start[1] - self.end[1])
            return Piece(LINE, (x, y), self.end)
        turn = -self.sweep_rad * share
        dx, dy = self.end[0] - self.centre[0], self.end[1] - self.centre[1]
        c, s = math.cos(turn), math.sin(turn)
        start = (self.centre[0] + c * dx - s * dy, self.centre[1] + s * dx + c * dy)
        return Piece(self.kind, start, self.end, self.centre, self.sweep_rad * share)


def path_back(motions: MotionTable, row: int, length_mm: float) -> list[Piece]:
    """The level path that leads to the start of a motion, as far back as wanted or as it goes.

    motions: The program's motions.
    row: Motion whose start is to be reached [-].
    length_mm: How far to go back [mm].
    Returns: In the order in which they are ridden; empty when no level path at the same height leads there.
    """
    z = float(motions.start_mm[row, 2])
    pieces: list[Piece] = []
    left = length_mm
    for k in range(row - 1, -1, -1):
        kind = int(motions.kind[k])
        start, end = motions.start_mm[k], motions.end_mm[k]
        level = abs(start[2] - z) <= LEVEL_MM and abs(end[2] - z) <= LEVEL_MM
        flat = kind == LINE or (kind in (ARC_CW, ARC_CCW) and motions.plane[k] == 17)
        same = motions.call_depth[k] == motions.call_depth[row] and motions.tool[k] == motions.tool[row]
        joined = bool(np.all(np.abs(end - motions.start_mm[k + 1]) <= 1e-6))
        if not (level and flat and same and joined and motions.flags[k] & 0b10110111 == 0):
            break
        piece = Piece(
            kind,
            (float(start[0]), float(start[1])),
            (float(end[0]), float(end[1])),
            (float(motions.centre_mm[k, 0]), float(motions.centre_mm[k, 1])),
            float(motions.sweep_rad[k]),
        )
        size = piece.length_mm
        if size <= 1e-9:
            continue
        if size >= left:
            pieces.insert(0, piece.last(left))
            return pieces
        pieces.insert(0, piece)
        left -= size
    return pieces


def heights_down(pieces: list[Piece], z_mm: float, angle_deg: float) -> list[float]:
    """Heights of a ramp over some pieces: at the start of the first, and at the end of each.

    pieces: The path, in riding order.
    z_mm: Height at its end [mm].
    angle_deg: Ramp angle [deg].
    Returns: One more than there are pieces [mm].
    """
    slope = math.tan(math.radians(angle_deg))
    left = sum(piece.length_mm for piece in pieces)
    out = [z_mm + left * slope]
    for piece in pieces:
        left -= piece.length_mm
        out.append(z_mm + max(left, 0.0) * slope)
    out[-1] = z_mm
    return out
