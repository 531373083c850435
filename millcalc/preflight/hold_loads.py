"""What the cuts ask of the hold-down, and what the listed screws bear."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from millcalc.limits.request import CutRequest
from millcalc.limits.state import State
from millcalc.preflight import tuning
from millcalc.preflight.hold_kinds import screw_bears_n
from millcalc.preflight.uses import distinct_cuts

if TYPE_CHECKING:
    from millcalc.job.setup import Setup
    from millcalc.limits.tooling import Tooling
    from millcalc.preflight.uses import CutUses

Floats = NDArray[np.float64]


def screws_bear_n(setup: Setup) -> float | None:
    """Pull that the weakest of the listed screws bears.

    setup: The job.
    Returns: Pull, its safety factor taken off [N]; None without screws or where something is unknown.
    """
    density = setup.job.bed.wood_density_kg_m3
    each = []
    for screw, entry in zip(setup.screws or (), setup.job.screws or (), strict=True):
        if not screw.holds:
            continue
        if density is None or entry.depth_in_bed_mm is None or screw.shank_radius_mm <= 0:
            return None
        shank_mm = 2 * screw.shank_radius_mm
        each.append(screw_bears_n(density, shank_mm, entry.depth_in_bed_mm, tuning.WITHDRAWAL_SAFETY))
    return min(each, default=None)


def cut_forces(cut: CutUses) -> tuple[Floats, Floats]:
    """Side force and lift of every cut of a tool, with the upper published coefficients.

    cut: The tool's cuts.
    Returns: Peak force along the table, and lift [N]. (each shape (n,))
    """
    slot = cut.slots()
    cases, back = distinct_cuts(cut.rpm, cut.chip_mm, cut.depth_mm, cut.width_mm, slot)
    side, lift = np.zeros(len(cases)), np.zeros(len(cases))
    for is_slot in (True, False):
        some = cases[:, 4] == float(is_slot)
        if some.any():
            side[some], lift[some] = _loads(cut.tooling, is_slot, *(cases[some, k] for k in range(4)))
    return side[back], lift[back]


def _loads(
    tooling: Tooling, slot: bool, rpm: Floats, chip_mm: Floats, depth_mm: Floats, width_mm: Floats
) -> tuple[Floats, Floats]:
    request = CutRequest("slot" if slot else "side", proven=True)
    loads = State(tooling, request, rpm, chip_mm, depth_mm, width_mm).loads(2)
    up = 1.0 if tooling.cutter.spiral == "up" else 0.0
    shape = rpm.shape
    return np.broadcast_to(loads.peak_n, shape), np.broadcast_to(up * loads.axial_n, shape)


def worst_force(cut: CutUses) -> tuple[float, float, int]:
    """Greatest side force and lift of a tool's cuts, with the upper published coefficients.

    cut: The tool's cuts.
    Returns: Peak force along the table [N], lift [N], and the index of the cut [-].
    """
    key = "axis-thrust" if "axis-thrust" in cut.uses else next(iter(cut.uses))
    at = int(np.argmax(cut.uses[key]))
    one = slice(at, at + 1)
    slot = bool(cut.slots()[at])
    side, lift = _loads(
        cut.tooling, slot, cut.rpm[one], cut.chip_mm[one], cut.depth_mm[one], cut.width_mm[one]
    )
    return float(side[0]), float(lift[0]), at
