"""How sure a limit is to hold: the spread of every input, the first-cut reserve, and sampled chances.

The reserve of a first cut is derived, one factor for each force-type limit: the share of the limit at which
it holds with the probability in ``tuning.FIRST_CUT_CHANCE``. What is measured has a small spread and so a
small reserve. The chances that are shown come from sampling all inputs together at the chosen settings.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from millcalc.limits import tuning
from millcalc.limits.request import FULL_WIDTH, CutKind
from millcalc.limits.tooling import Tooling
from millcalc.mechanics.forces import turn_loads
from millcalc.mechanics.kinematics import spindle_speed_rpm
from millcalc.mechanics.modes import frame_attenuation
from millcalc.tuning import RANGE_SIGMAS

_SMALL = 1e-12
USUAL_DEPTH = 0.25  # diameters deep; where the shares of frame and cutter in the bending are taken


@dataclass(frozen=True, slots=True)
class Spreads:
    """Standard deviations of the logarithms of the inputs: about the share each may be off [-].

    frame, spindle, cutter: Stiffness of frame at this drop, of collet and spindle, of the cutter [-].
    force_below, force_above: Milling coefficients below and above the nominal set [-].
    power, thrust, strength, damping: Shaft power, axis push, bending strength, damping of the cutter mode
      [-].
    speed: Spindle speed against the one asked for [-].
    chip_floor: Smallest chip that cuts [-].
    """

    frame: float
    spindle: float
    cutter: float
    force_below: float
    force_above: float
    power: float
    thrust: float
    strength: float
    damping: float
    speed: float
    chip_floor: float


def stiffness_known(tooling: Tooling) -> bool:
    """Tell whether the stiffness of the frame was measured on this very machine.

    tooling: What cuts what.
    Returns: True when its confidence is ``measured``.
    """
    return tooling.machine.stiffness_n_um.confidence == "measured"


def spreads_of(tooling: Tooling) -> Spreads:
    """Collect the spread of every input of the limits.

    tooling: What cuts what.
    Returns: Standard deviations of logarithms [-].
    """
    machine, material = tooling.machine, tooling.material
    spread = machine.stiffness_spread
    if stiffness_known(tooling):
        spread = min(spread, tuning.MEASURED_STIFFNESS_SPREAD)
    law = tuning.DROP_LAW_SD_MEASURED if machine.drop_law.confidence == "measured" else tuning.DROP_LAW_SD
    moved = law * abs(float(np.log(tooling.drop_mm / machine.drop_mm)))
    least, nominal, most = (_resultant(tooling, which) for which in range(3))
    floor = material.min_chip_mm
    spindle = machine.spindle

    def known(confidence: str, typical: float) -> float:
        return tuning.PUSH_SD_MEASURED if confidence == "measured" else typical

    return Spreads(
        frame=float(np.hypot(np.log(spread), moved)),
        spindle=_from_range(spindle.stiffness_n_um.lowest, spindle.stiffness_n_um.highest),
        cutter=tuning.CUTTER_STIFFNESS_SD,
        force_below=float(np.log(nominal / least)) / RANGE_SIGMAS,
        force_above=float(np.log(most / nominal)) / RANGE_SIGMAS,
        power=known(spindle.power_confidence, tuning.POWER_SD),
        thrust=known(machine.thrust_n.confidence, tuning.THRUST_SD),
        strength=tuning.STRENGTH_SD,
        damping=tuning.DAMPING_SD_MEASURED if tooling.cutter_modes else tuning.DAMPING_SD,
        speed=tuning.DIAL_SPEED_SD if tooling.uses_dial else tuning.PROGRAM_SPEED_SD,
        chip_floor=_from_range(floor.lowest, floor.highest),
    )


def _from_range(low: float, high: float) -> float:
    """Standard deviation of the logarithm for a published range; 0 for none."""
    return float(np.log(high / low)) / (2 * RANGE_SIGMAS) if 0 < low < high else 0.0


def _resultant(tooling: Tooling, which: int) -> float:
    """In-plane force per millimetre of depth at the start of the chip band [N/mm]."""
    edge = tooling.edge_sets[which]
    chip = tooling.chip_band_mm("slot")[1]
    return float(
        np.hypot(edge.ktc_n_mm2 * chip + edge.kte_n_mm, edge.krc_n_mm2 * chip + edge.kre_n_mm) + _SMALL
    )


@dataclass(frozen=True, slots=True)
class Bending:
    """Parts of the deflection at a setting, as shares that add up to 1 [-]."""

    frame: float
    spindle: float
    cutter: float


def bending_shares(
    tooling: Tooling, speed_rpm: float, engagement_rad: float, chip_mm: float, depth_mm: float
) -> Bending:
    """Split the deflection into what frame, spindle and cutter give.

    tooling: What cuts what.
    speed_rpm: Spindle speed [rev/min].
    engagement_rad: Engagement angle [rad].
    chip_mm, depth_mm: Feed per tooth and axial depth [mm].
    Returns: Shares.
    """
    cutter = tooling.cutter
    loads = turn_loads(
        tooling.edge_sets[1],
        cutter.diameter_mm,
        cutter.flutes,
        cutter.helix_deg,
        chip_mm,
        engagement_rad,
        depth_mm,
        tooling.runout_mm,
    )
    follows = float(frame_attenuation(speed_rpm * cutter.flutes / 60.0, tooling.frame_mode_hz))
    mean, peak = float(loads.mean_n), float(loads.peak_n)
    frame = tooling.frame_um_n * (mean + follows * max(peak - mean, 0.0))
    height = min(depth_mm / 2.0, 0.9 * tooling.stickout_mm)
    spindle, bends = tooling.spindle_um_n * peak, float(tooling.cutter_um_n_at(height)) * peak
    total = frame + spindle + bends + _SMALL
    return Bending(frame / total, spindle / total, bends / total)


def first_cut_budget(tooling: Tooling, cut: CutKind, name: str) -> float:
    """Share of one limit that a first cut may use.

    tooling, cut: What cuts what, and how.
    name: Entry of ``FIRST_CUT_CHANCE``.
    Returns: Budget [-].
    """
    kept = tooling.__dict__.setdefault("_first_cut_budgets", {})
    kind: CutKind = "slot" if cut in FULL_WIDTH else "side"
    if kind not in kept:
        kept[kind] = first_cut_budgets(tooling, kind)
    return float(kept[kind][name])


def first_cut_budgets(tooling: Tooling, cut: CutKind = "slot") -> dict[str, float]:
    """Share of each force-type limit a first cut may use, so that it holds with its target probability.

    tooling: What cuts what.
    cut: Kind of cut; decides whether frame or cutter does the bending.
    Returns: Budget by limit key, between ``tuning.FIRST_CUT_SMALLEST`` and 1 [-].

    Note: Logarithms of the inputs are taken as normal and their effects added (first order). Push, torque
      and strength are reckoned with the upper published coefficients, so part of their reserve is in the
      demand already. Taken at the start of the chip-load band; at other chips the shares of frame and
      cutter differ a little.
    """
    spread = spreads_of(tooling)
    engaged = np.pi if cut in FULL_WIDTH else float(np.arccos(1 - 2 * 0.15))
    _, chip, _ = tooling.chip_band_mm(cut)
    band = tooling.speed_band_m_min
    wanted = band.begin if band is not None else 100.0
    speed = float(spindle_speed_rpm(wanted, tooling.cutter.diameter_mm))
    speed = min(max(speed, tooling.lowest_rpm), tooling.highest_rpm)
    bend = bending_shares(tooling, speed, engaged, chip, USUAL_DEPTH * tooling.cutter.diameter_mm)
    force = float(np.hypot(spread.force_above, tuning.WEAR_LN_SD))
    worn = tuning.WEAR_LN_MEAN
    from_upper = worn - spread.force_above * RANGE_SIGMAS  # the demand uses the upper set
    terms: dict[str, tuple[float, tuple[float, ...]]] = {
        "deflection": (
            worn,
            (
                force,
                bend.frame * spread.frame,
                bend.spindle * spread.spindle,
                bend.cutter * spread.cutter,
            ),
        ),
        "spindle-power": (from_upper, (force, spread.power)),
        "spindle-torque": (from_upper, (force, spread.power)),
        "axis-thrust": (from_upper, (force, spread.thrust)),
        "cutter-strength": (from_upper, (force, spread.strength)),
    }
    budgets = {}
    for key, (shift, parts) in terms.items():
        sigmas = NormalDist().inv_cdf(tuning.FIRST_CUT_CHANCE[key])
        budget = float(np.exp(-(shift + sigmas * np.sqrt(sum(part**2 for part in parts)))))
        budgets[key] = min(max(budget, tuning.FIRST_CUT_SMALLEST), tuning.PROVEN_BUDGET)
    return budgets
