"""What holds back spindle speed, chip and feed."""

from __future__ import annotations

import numpy as np

from millcalc.limits import tuning
from millcalc.limits.row import Need
from millcalc.limits.state import State
from millcalc.limits.tooling import Tooling
from millcalc.mechanics.kinematics import cutting_speed_m_min
from millcalc.mechanics.motion import reachable_feed_mm_min
from millcalc.tables.models import Band

# a dial step may lie this much above the wanted speed [-]; dials are no better than 5 %
SPEED_SLACK = 1.05


def speed_slack(tooling: Tooling) -> float:
    """How far above the starting speed a first cut may go [-]: a step of the dial where there is one."""
    return tuning.DIAL_SLACK if tooling.uses_dial else SPEED_SLACK


def first_speed_m_min(tooling: Tooling, band: Band | None = None) -> float | None:
    """Cutting speed where a first cut stays [m/min]; None where the spindle turns no slower than the start.

    band: The cut's own, as a drill has; None takes the cutter's in this material [m/min].
    """
    band = band or tooling.speed_band_m_min
    if band is None:
        return None
    slowest = float(cutting_speed_m_min(tooling.lowest_rpm, tooling.cutter.diameter_mm))
    return band.begin * speed_slack(tooling) if slowest <= band.begin else None


def cutting_speed(state: State) -> Need:
    """Surface speed against the band of the material for this cutter."""
    tooling, request = state.tooling, state.request
    band = state.speed_band_m_min
    first = None if request.proven else first_speed_m_min(tooling, band)
    gentle = first is not None
    return Need(
        cutting_speed_m_min(state.speed_rpm, state.diameter_mm),
        band.high if first is None else first,
        f"{'where a first cut stays in' if gentle else 'upper end of'} the band for this cutter in "
        "this material",
        band.source,
    )


def machine_speed(state: State) -> Need:
    """Spindle speed against what spindle and cutter allow."""
    tooling = state.tooling
    which = "cutter" if tooling.cutter.max_rpm.value < tooling.machine.spindle.max_rpm else "spindle"
    return Need(
        np.asarray(state.speed_rpm, float),
        tooling.highest_rpm,
        f"highest speed the {which} allows",
        tooling.cutter.max_rpm.source if which == "cutter" else tooling.machine.spindle.source,
    )


def lowest_speed(state: State) -> Need:
    """Spindle speed against the lowest one the spindle runs at."""
    tooling = state.tooling
    return Need(
        np.asarray(state.speed_rpm, float),
        tooling.lowest_rpm,
        "lowest speed the spindle runs at",
        tooling.machine.spindle.source,
        smallest=True,
    )


def chip_load(state: State) -> Need:
    """Greatest chip thickness against the chip-load band."""
    low, begin, high = state.chip_band_mm
    gentle = not state.request.proven
    return Need(
        state.max_chip_mm,
        np.maximum(begin, low) if gentle else high,
        "where the chip-load band starts for a light machine"
        if gentle
        else "upper end of the chip-load band",
        state.tooling.chip_row(state.request.cut).per_diameter.source,
    )


def rubbing(state: State) -> Need:
    """Greatest chip thickness against the smallest chip that still cuts."""
    material = state.tooling.material
    return Need(
        state.max_chip_mm,
        state.tooling.smallest_chip_mm,
        "a thinner chip rubs, heats and welds instead of cutting",
        material.min_chip_mm.source,
        smallest=True,
    )


def top_feed(state: State) -> Need:
    """Feed against the slower axis's highest feed."""
    source = state.tooling.machine.max_feed_mm_min.source
    return Need(state.feed_mm_min, state.top_feed_mm_min, "highest feed of the slower axis", source)


def acceleration(state: State) -> Need:
    """Feed against what can be reached between two corners."""
    segment = state.request.segment_mm or tuning.DEFAULT_SEGMENT_MM
    return Need(
        state.feed_mm_min,
        reached_mm_min(state),
        f"highest feed reached within {segment:g} mm from rest to rest",
        state.tooling.machine.acceleration_mm_s2.source,
    )


def reached_mm_min(state: State) -> float:
    """Highest feed that is reached between two corners [mm/min].

    state: What cuts, and how far its corners are apart.
    """
    axes = state.tooling.machine.acceleration_mm_s2
    segment = state.request.segment_mm or tuning.DEFAULT_SEGMENT_MM
    return float(reachable_feed_mm_min(segment, min(axes.x, axes.y)))
