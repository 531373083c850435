"""What holds the depth back beside the forces: flutes, reach, room for chips, and chatter that was measured."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from millcalc.limits import tuning
from millcalc.limits.row import Need
from millcalc.limits.state import State
from millcalc.limits.tooling import core_diameter_mm
from millcalc.mechanics.deflection import FLUTE_DIAMETER_RATIO
from millcalc.mechanics.kinematics import cutting_speed_m_min
from millcalc.mechanics.modes import cantilever_hz
from millcalc.mechanics.stability import ChatterCut, VibrationMode, conservative_limit_mm

Array = NDArray[np.float64]


def flute_length(state: State) -> Need:
    """Axial depth against the length of the flutes."""
    return Need(
        np.asarray(state.depth_mm, float),
        state.tooling.cutter.flute_length_mm,
        "above its flutes the cutter rubs",
        state.tooling.cutter.source,
    )


def reach(state: State) -> Need:
    """Axial depth against the stickout less a clearance under the collet."""
    return Need(
        np.asarray(state.depth_mm, float),
        max(state.tooling.stickout_mm - tuning.STICKOUT_CLEARANCE_MM, 1e-3),
        "the collet nut must stay above the stock",
        "common practice, no source",
    )


def chip_room(state: State) -> Need:
    """Axial depth against what the chips can get out of."""
    limit, reason, source = state.chip_room
    return Need(np.asarray(state.depth_mm, float), limit, reason, source)


def failed_here(state: State) -> bool:
    """Whether the log holds a failure of this kind of cut, with this machine, material and cutter."""
    return any(failed.cut == state.request.cut for failed in state.tooling.margins.failed)


def below_what_failed(state: State) -> Need:
    """Axial depth against a part of that which failed here; a narrower side cut may go deeper in proportion."""
    failed = [one for one in state.tooling.margins.failed if one.cut == state.request.cut]
    width = np.asarray(state.width_mm, float)
    each = [tuning.BELOW_FAILED * one.depth_mm * np.maximum(one.width_mm / width, 1.0) for one in failed]
    least = min(failed, key=lambda one: one.depth_mm * one.width_mm)
    return Need(
        np.asarray(state.depth_mm, float),
        np.min(np.stack(np.broadcast_arrays(*each)), axis=0),
        f"{least.depth_mm:g} mm deep failed here before; the next cut keeps "
        f"{100 * (1 - tuning.BELOW_FAILED):.0f} % below it",
        "your log",
    )


@lru_cache(maxsize=64)
def _chatter_curve(radial_ratio: float, damping: float) -> tuple[Array, Array]:
    """Engagement angles [rad] and the limit depth of a unit mode and unit coefficient there."""
    mode = VibrationMode(1000.0, damping, 1.0)
    angles = np.radians(np.array([5.0, 10.0, 20.0, 30.0, 45.0, 60.0, 75.0, 90.0, 110.0, 130.0, 155.0, 180.0]))
    depths = [
        conservative_limit_mm(ChatterCut(1.0, radial_ratio, 1, np.pi - angle, np.pi, (mode,), (mode,)))
        for angle in angles
    ]
    return angles, np.array(depths)


def chatter_free_depth_mm(state: State, compliance_um_n: Any, damping: float) -> Any:
    """Depth below which one mode cannot chatter at any speed: the lowest point of all lobes [mm].

    state: What cuts.
    compliance_um_n: Give of the mode [um/N].
    damping: Damping ratio [-].

    Source: Altintas and Budak, CIRP Annals 44/1 (1995) 357 (from memory).
    """
    nominal = state.tooling.edge_sets[1]
    angles, depths = _chatter_curve(round(nominal.krc_n_mm2 / nominal.ktc_n_mm2, 3), damping)
    unit = np.exp(np.interp(np.asarray(state.engagement_rad, float), angles, np.log(depths)))
    return unit / (compliance_um_n * nominal.ktc_n_mm2 * state.tooling.cutter.flutes)


def chatter_binds(state: State) -> bool:
    """Whether chatter holds the depth back: only where this cutter was tapped in this spindle.

    A cut that howled lowers the next one by itself, see `below_what_failed`, and teaches deflection.
    """
    return bool(state.tooling.cutter_modes)


def chatter(state: State) -> Need:
    """Axial depth against the depth below which the cut cannot chatter at any speed.

    No first-cut reserve is kept of it: the lowest point of all lobes is a conservative bound already.
    """
    tooling = state.tooling
    if tooling.cutter_modes:
        damping = tooling.cutter_modes[0].damping_ratio
        quiet = chatter_free_depth_mm(state, tooling.cutter_um_n + tooling.spindle_um_n, damping)
        reason = f"depth at which the tapped cutter cannot chatter at any speed, damping ratio {damping:g} measured"
    else:
        quiet = _quiet_depth_mm(state)
        reason = "spindle and collet of this class stay quiet at any speed down to here; " + (
            "lowered by what the log says"
            if tooling.margins.chatter < 1.0
            else "a hint until the cutter is tapped"
        )
    return Need(
        np.asarray(state.depth_mm, float),
        quiet * tooling.margins.chatter,
        reason,
        "Altintas & Budak, CIRP Annals 44/1 (1995) (from memory)",
    )


def _quiet_depth_mm(state: State) -> Any:
    """Depth at which spindle and collet stay quiet at any speed: a hint, not a limit [mm].

    Note: Stiffness and damping of spindle and collet are those of the class, and the frame's own mode is left out.
      Bending of the cutter counts only where the wave that it would leave on the wall, cutting speed over
      natural frequency, is longer than ``SHORTEST_WAVE_MM``: shorter ones are damped by the flank.
    """
    tooling, cutter = state.tooling, state.tooling.cutter
    steel = cutter.material == "hss"
    own_hz = cantilever_hz(
        FLUTE_DIAMETER_RATIO * core_diameter_mm(cutter),
        tooling.stickout_mm,
        tooling.youngs_n_mm2,
        tuning.HSS_DENSITY_KG_M3 if steel else tuning.CARBIDE_DENSITY_KG_M3,
    )
    wave_mm = np.asarray(cutting_speed_m_min(state.speed_rpm, state.diameter_mm)) / 60.0 * 1000.0 / own_hz
    counts = np.clip(wave_mm / tuning.SHORTEST_WAVE_MM - 1.0, 0.0, 1.0)
    compliance = tooling.spindle_um_n + counts * tooling.cutter_um_n
    return chatter_free_depth_mm(state, compliance, tuning.DEFAULT_DAMPING)
