"""How near each travelling body comes to each screw and clamp: measured once, read by rules and report alike."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.job.build import margin_mm
from millcalc.preflight import tuning
from millcalc.preflight.context import Context, once
from millcalc.preflight.geometry import Clearance
from millcalc.preflight.keepouts import Body, clamp_gap, cutter_body, holder_bodies, screw_gap

CLEAR_MM = 1e-9  # mm; rounding that does not make a gap too small


@dataclass(frozen=True, slots=True)
class Gap:
    """The nearest that one travelling body comes to one screw or clamp.

    name: The screw or clamp, as the job or millcalc names it.
    clamp: True for a clamp, False for a screw.
    index: Its place among the job's screws or clamps, from 0 [-].
    body: ``cutter``, ``collet nut`` and so on.
    kept_mm: Distance to keep between the two [mm].
    gap_mm: Smallest distance; negative where they overlap [mm].
    row, share: Motion at which it is smallest [-], and where along that motion, 0 to 1 [-].
    near: Motions that come closer than `kept_mm` [-].
    hits: Those of them that touch [-].
    """

    name: str
    clamp: bool
    index: int
    body: str
    kept_mm: float
    gap_mm: float
    row: int
    share: float
    near: NDArray[np.intp]
    hits: NDArray[np.intp]


def kept_mm(body: str, cutter_margin_mm: float) -> float:
    """Distance that a travelling body keeps from a screw or clamp.

    body: Its name.
    cutter_margin_mm: Distance the cutter keeps, from how the keep-out's place is known [mm].
    Returns: The cutter's margin, or the holder's [mm].
    """
    return cutter_margin_mm if body == "cutter" else tuning.HOLDER_MARGIN_MM


@once
def clearances(ctx: Context) -> tuple[Gap, ...]:
    """All gaps from screws and clamps of known height.

    ctx: Program and set-up.
    Returns: One entry a keep-out and body that comes below its top, in the job's order, cutter first.
    """
    if ctx.setup is None or not len(ctx.program.motions):
        return ()
    bodies = [cutter_body(ctx), *holder_bodies(ctx)]
    return tuple(_screws(ctx, bodies)) + tuple(_clamps(ctx, bodies))


def _screws(ctx: Context, bodies: list[Body]) -> Iterator[Gap]:
    for index, screw in enumerate((ctx.setup.screws if ctx.setup else None) or ()):
        if np.isfinite(screw.z_top_mm):
            for body in bodies:
                found = screw_gap(ctx, screw, body)
                yield from _gap(screw.name, False, index, body, screw.margin_mm, found)


def _clamps(ctx: Context, bodies: list[Body]) -> Iterator[Gap]:
    for index, (clamp, box) in enumerate((ctx.setup.clamps if ctx.setup else None) or ()):
        if clamp.height_mm is not None and np.isfinite(box.z_max):
            for body in bodies:
                name, margin = clamp.name or f"clamp {index + 1}", margin_mm(clamp.placed)
                yield from _gap(name, True, index, body, margin, clamp_gap(ctx, box, body))


def _gap(
    name: str, clamp: bool, index: int, body: Body, cutter_margin_mm: float, found: Clearance
) -> Iterator[Gap]:
    least = found.least
    if least is None:
        return
    kept = kept_mm(body.name, cutter_margin_mm)
    near = np.isfinite(found.gap_mm) & (found.gap_mm < kept - CLEAR_MM)
    yield Gap(
        name,
        clamp,
        index,
        body.name,
        kept,
        float(found.gap_mm[least]),
        least,
        max(0.0, float(found.place[least])),
        np.flatnonzero(near),
        np.flatnonzero(near & (found.gap_mm <= 0)),
    )
