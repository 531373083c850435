"""Tool paths and set-ups used by the tests of the removal simulation."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from millcalc.gcode.motions import RAPID, MotionTable
from millcalc.stock.result import Removal
from millcalc.stock.shapes import CutterShape
from millcalc.stock.simulate import simulate
from tests.helpers.tables import arc_move, table

Point = Sequence[float]


class Box:
    """A box in part coordinates [mm]."""

    def __init__(
        self,
        x_max: float = 100.0,
        y_max: float = 80.0,
        z_min: float = -6.0,
        x_min: float = 0.0,
        y_min: float = 0.0,
    ) -> None:
        self.x_min, self.x_max = x_min, x_max
        self.y_min, self.y_max = y_min, y_max
        self.z_min, self.z_max = z_min, 0.0


PLATE = Box()


def cut(points: Iterable[Point], z: float, clear: float = 5.0) -> list[dict[str, object]]:
    """Plunge at the first point, cut along the others at one height, lift."""
    way = [tuple(point) for point in points]
    moves: list[dict[str, object]] = [{"kind": RAPID, "to": (*way[0], clear)}]
    moves += [{"to": (*point, z)} for point in way]
    moves.append({"kind": RAPID, "to": (*way[-1], clear)})
    return moves


def turned(points: Iterable[Point], angle: float, middle: Point = (50.0, 40.0)) -> list[tuple[float, float]]:
    """Points turned about a middle [rad]."""
    cos, sin = math.cos(angle), math.sin(angle)
    return [
        (
            middle[0] + cos * (x - middle[0]) - sin * (y - middle[1]),
            middle[1] + sin * (x - middle[0]) + cos * (y - middle[1]),
        )
        for x, y in points
    ]


def moves_table(moves: list[dict[str, object]]) -> MotionTable:
    """A motion table that begins high above the first move's end."""
    return table(moves, start=(0.0, 0.0, 50.0))


def run(moves: list[dict[str, object]], shape: CutterShape, stock: Box = PLATE, **options: object) -> Removal:
    """Simulate moves with one cutter, tool 1."""
    return simulate(moves_table(moves), stock, {1: shape}, **options)  # type: ignore[arg-type]


__all__ = ["PLATE", "Box", "arc_move", "cut", "moves_table", "run", "turned"]
