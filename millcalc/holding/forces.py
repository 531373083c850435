"""What the screws must bear: the cut's side force by friction under the heads, its turning moment, and its lift."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.preflight.context import Context
from millcalc.preflight.hold_kinds import screw_bears_n
from millcalc.preflight.hold_loads import worst_force
from millcalc.preflight.tuning import HOLD_FRICTION
from millcalc.preflight.uses import cut_uses

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Demand:
    """The greatest forces of one tool.

    tool: Tool number [-].
    side_n, lift_n: Peak force along the table and lift, upper published coefficients [N].
    line: Line of the program [-].
    """

    tool: int
    side_n: float
    lift_n: float
    line: int


def demands(ctx: Context) -> tuple[tuple[Demand, ...], tuple[str, ...]]:
    """Greatest forces of every tool whose cuts can be judged.

    ctx: Program and set-up.
    Returns: The forces, and of the other tools why there are none.
    """
    setup = ctx.setup
    if setup is None or setup.machine is None or setup.material is None:
        return (), ("forces: the machine or the material is unknown",)
    done, left = cut_uses(ctx)
    found = []
    for cut in done:
        side, lift, at = worst_force(cut)
        line = int(ctx.program.motions.line[cut.rows[at]])
        found.append(Demand(cut.tool, side, lift, line))
    return tuple(found), tuple(f"forces of T{tool}: {because}" for tool, because in left)


def screw_holds_n(
    density_kg_m3: float | None, shank_mm: float | None, thread_mm: float | None, safety: float
) -> float | None:
    """Pull that one screw in a board of wood holds with a safety factor.

    density_kg_m3: Density of the board [kg/m3].
    shank_mm, thread_mm: Diameter, and length of the thread in the board [mm].
    safety: Safety factor on the ultimate withdrawal [-].
    Returns: Pull [N]; None where something is unknown.

    Note: The board is taken as a panel, which holds a share (estimate) of what solid wood of its density
      does.

    >>> round(screw_holds_n(560.0, 4.0, 20.0, 5.0))
    130

    Source: Wood Handbook, USDA Forest Products Laboratory, FPL-GTR-282, chapter 8 (from memory).
    """
    if density_kg_m3 is None or not shank_mm or thread_mm is None:
        return None
    return screw_bears_n(density_kg_m3, shank_mm, thread_mm, safety)


def most_loaded_n(places_mm: Floats, screws_mm: Floats, side_n: float, lift_n: float) -> float:
    """Pull that the most loaded screw needs, wherever the force acts and whichever way it points.

    places_mm: Where the side force may act [mm].
    screws_mm: The screws of one rigid piece [mm].
    side_n, lift_n: Force along the table and lift [N].
    Returns: Pull: side share / friction + share of the lift [N]; infinity without screws.

    Note: Equal screws share the force evenly, and its moment by their distance from their middle (elastic
      method). The load of a screw is linear in the force, so the worst direction is the larger singular
      value of that map. A single screw is taken to hold the force, not the moment: the caller says that the
      piece can turn. Friction is an estimate.

    >>> corners = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]])
    >>> round(most_loaded_n(np.array([[50.0, 50.0]]), corners, 40.0, 20.0), 6)
    45.0

    Source: Elastic method for eccentrically loaded bolt groups, as in machine-design textbooks (from
      memory).
    """
    n = len(screws_mm)
    if n == 0:
        return float("inf")
    middle = screws_mm.mean(axis=0)
    arms, at = screws_mm - middle, places_mm - middle
    polar = float((arms**2).sum())
    share = np.eye(2)[None, None] / n
    matrix = np.broadcast_to(share, (len(places_mm), n, 2, 2)).copy()
    if polar > 0:
        turned = np.stack([-arms[:, 1], arms[:, 0]], axis=1)
        moment = np.stack([-at[:, 1], at[:, 0]], axis=1)  # of a unit force along x, along y
        matrix += turned[None, :, :, None] * moment[:, None, None, :] / polar
    if not len(places_mm):
        matrix = np.broadcast_to(share, (1, n, 2, 2))
    # larger singular value of a 2 x 2 matrix, closed form
    a, b, c, d = matrix[..., 0, 0], matrix[..., 0, 1], matrix[..., 1, 0], matrix[..., 1, 1]
    one, two = a**2 + b**2 + c**2 + d**2, a * d - b * c
    largest = np.sqrt((one + np.sqrt(np.maximum(one**2 - 4 * two**2, 0.0))) / 2)
    return float(largest.max()) * side_n / HOLD_FRICTION + lift_n / n
