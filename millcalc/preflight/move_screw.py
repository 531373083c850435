"""Where a screw that is hit can stand instead: in the stock, clear of the whole path and of the other screws."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from millcalc.job.setup import Keepout
from millcalc.preflight import tuning
from millcalc.preflight.clearances import Gap, clearances, kept_mm
from millcalc.preflight.context import Context, once
from millcalc.preflight.geometry import point_on_motion
from millcalc.preflight.keepouts import Body, cutter_body, holder_bodies, screw_gap

Place = tuple[float, float]
GRID_MM = 0.5  # mm; places are proposed on such a grid
RINGS_MM = (0.0, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0)  # mm; farther than just needed
TURNS_DEG = (0, 30, -30, 60, -60, 90, -90, 120, -120, 150, -150, 180)  # deg; from straight away from the path
MOST_MEASURED = 2e7  # motions measured in all; a longer program gets fewer tries


@once
def new_places(ctx: Context) -> dict[int, Place | None]:
    """A new place for each screw that something comes too near to.

    ctx: Program and set-up.
    Returns: By the screw's place in the job, from 0: X and Y [mm]; None where no place was found.
    """
    setup = ctx.setup
    if setup is None or setup.screws is None:
        return {}
    worst: dict[int, Gap] = {}
    for gap in clearances(ctx):
        if (
            not gap.clamp
            and len(gap.near)
            and (gap.index not in worst or gap.gap_mm < worst[gap.index].gap_mm)
        ):
            worst[gap.index] = gap
    found: dict[int, Place | None] = {}
    tries = max(8, int(MOST_MEASURED / max(ctx.facts.n, 1)))
    bodies = [cutter_body(ctx), *holder_bodies(ctx)]
    for index, gap in worst.items():
        others = [screw for k, screw in enumerate(setup.screws) if k not in worst]
        others += [_at(setup.screws[k], place) for k, place in found.items() if place is not None]
        found[index] = None
        for place in _candidates(ctx, setup.screws[index], gap, others):
            if tries <= 0:
                break
            tries -= len(bodies)
            if _clear(ctx, _at(setup.screws[index], place), bodies):
                found[index] = place
                break
    return found


def _at(screw: Keepout, place: Place) -> Keepout:
    return replace(screw, x_mm=place[0], y_mm=place[1])


def _candidates(ctx: Context, screw: Keepout, gap: Gap, others: list[Keepout]) -> Iterator[Place]:
    """Places around a screw, nearest first, that stand in the stock and beside the other heads."""
    x, y, _ = point_on_motion(ctx.program.motions, gap.row, gap.share)
    away = float(np.arctan2(screw.y_mm - y, screw.x_mm - x))
    for ring in RINGS_MM:
        far = gap.kept_mm - gap.gap_mm + ring
        for turn in np.radians(TURNS_DEG):
            wanted = screw.x_mm + far * np.cos(away + turn), screw.y_mm + far * np.sin(away + turn)
            place = (round(wanted[0] / GRID_MM) * GRID_MM, round(wanted[1] / GRID_MM) * GRID_MM)
            if _stands(ctx, screw, place) and _beside(screw, place, others):
                yield place


def _stands(ctx: Context, screw: Keepout, place: Place) -> bool:
    stock = ctx.setup.stock if ctx.setup else None
    if stock is None or not screw.holds:
        return True
    edge = max(screw.head_radius_mm, screw.shank_radius_mm) + tuning.HEAD_EDGE_MM
    return bool(
        stock.x_min + edge <= place[0] <= stock.x_max - edge
        and stock.y_min + edge <= place[1] <= stock.y_max - edge
    )


def _beside(screw: Keepout, place: Place, others: list[Keepout]) -> bool:
    return all(
        np.hypot(place[0] - other.x_mm, place[1] - other.y_mm)
        >= screw.head_radius_mm + other.head_radius_mm + tuning.HEADS_APART_MM
        for other in others
    )


def _clear(ctx: Context, screw: Keepout, bodies: list[Body]) -> bool:
    for body in bodies:
        found = screw_gap(ctx, screw, body)
        least = found.least
        if least is not None and found.gap_mm[least] < kept_mm(body.name, screw.margin_mm):
            return False
    return True
