"""Where a program's cuts lie in the operating map of each cutter."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from millcalc.advise.operating_map import OperatingMap, make_map
from millcalc.limits.request import CutRequest
from millcalc.preflight.limits import SLOT_SHARE
from millcalc.preflight.uses import cut_uses

if TYPE_CHECKING:
    from millcalc.preflight.context import Context

Floats = NDArray[np.float64]
MOST_POINTS = 40  # cuts of a program drawn into a map


def program_maps(ctx: Context) -> list[OperatingMap]:
    """An operating map of every cutter of a program, with the program's cuts in it.

    ctx: Program, set-up and simulated cut.
    Returns: At the chip load and width of most of each cutter's way; only cutters whose cuts could be
      judged.
    """
    maps = []
    for cut in cut_uses(ctx)[0]:
        diameter = cut.tooling.cutter.diameter_mm
        length = np.nan_to_num(ctx.facts.motions.length_mm[cut.rows])
        slot = cut.width_mm >= SLOT_SHARE * diameter
        is_slot = bool(length[slot].sum() >= 0.5 * length.sum())
        mine = slot if is_slot else ~slot
        if not mine.any():
            continue
        chip = _middle(cut.chip_mm[mine], length[mine])
        width = diameter if is_slot else _middle(cut.width_mm[mine], length[mine])
        pairs = np.column_stack([np.round(cut.rpm[mine], 0), np.round(cut.depth_mm[mine], 2)])
        unique = np.unique(pairs, axis=0)
        if len(unique) > MOST_POINTS:
            keep = np.unique(np.linspace(0, len(unique) - 1, MOST_POINTS).astype(int))
            unique = unique[keep]
        points = tuple((float(a), float(b)) for a, b in unique if b > 0)
        if points and chip > 0:
            request = CutRequest("slot" if is_slot else "side", proven=True)
            maps.append(make_map(cut.tooling, request, chip, width, points, ctx.units))
    return maps


def _middle(values: Floats, weights: Floats) -> float:
    """Median of values, each counted by its length of way."""
    order = np.argsort(values)
    total = np.cumsum(weights[order])
    if total[-1] <= 0:
        return float(np.median(values))
    return float(values[order][np.searchsorted(total, total[-1] / 2)])
