"""Drilling: speed, feed, pecks and the limits a drill meets."""

from __future__ import annotations

import numpy as np

from millcalc.advise import tuning
from millcalc.advise.entries import plunge_share
from millcalc.advise.result import Advice, LimitShare, Range, Settings
from millcalc.advise.solve import dial_mark
from millcalc.advise.tooling import CutRequest, Tooling
from millcalc.mechanics.drilling import deep_hole_factors, drill_chip_mm, drill_thrust_n, drill_torque_nm
from millcalc.mechanics.kienzle import specific_force_n_mm2
from millcalc.mechanics.kinematics import cutting_speed_m_min, spindle_speed_rpm
from millcalc.units_show import (
    System,
    depth_to_set_mm,
    feed_to_set_mm_min,
    show_chip,
    show_depth,
    show_feed,
    show_speed,
    speed_to_set_rpm,
)

# An end mill has no point: its edges stand at 180 degrees and its middle only presses.
_END_MILL_POINT_DEG = 180.0
_END_MILL_CENTRE_SHARE = 0.75
_DEEPEST_DIAMETERS = 8.0


def thrust_n(tooling: Tooling, feed_per_rev_mm: float, kc11_n_mm2: float) -> float:
    """Force along the spindle while drilling.

    tooling: What drills what.
    feed_per_rev_mm: Feed per turn [mm].
    kc11_n_mm2: Kienzle specific force [N/mm2].
    Returns: Thrust [N].
    """
    cutter = tooling.cutter
    specific = _kc(tooling, feed_per_rev_mm, kc11_n_mm2)
    if cutter.kind in ("twist drill", "spot drill"):
        point = cutter.included_angle_deg or 118.0
        return float(drill_thrust_n(specific, feed_per_rev_mm, cutter.diameter_mm, point))
    return float(
        drill_thrust_n(
            specific,
            feed_per_rev_mm,
            cutter.diameter_mm,
            _END_MILL_POINT_DEG,
            chisel_share=_END_MILL_CENTRE_SHARE,
        )
    )


def torque_nm(tooling: Tooling, feed_per_rev_mm: float, kc11_n_mm2: float) -> float:
    """Torque of a drill.

    tooling: What drills what.
    feed_per_rev_mm: Feed per turn [mm].
    kc11_n_mm2: Kienzle specific force [N/mm2].
    Returns: Torque [N m].
    """
    specific = _kc(tooling, feed_per_rev_mm, kc11_n_mm2)
    return float(drill_torque_nm(specific, feed_per_rev_mm, tooling.cutter.diameter_mm))


def _kc(tooling: Tooling, feed_per_rev_mm: float, kc11_n_mm2: float) -> float:
    material, cutter = tooling.material, tooling.cutter
    cap = material.chip_cap_mm.value if material.chip_cap_mm else None
    point = (cutter.included_angle_deg or 118.0) if "drill" in cutter.kind else _END_MILL_POINT_DEG
    chip = drill_chip_mm(feed_per_rev_mm, cutter.flutes, point)
    return float(specific_force_n_mm2(kc11_n_mm2, material.mc.value, chip, cap))


def axial_shares(tooling: Tooling) -> tuple[float, float]:
    """Chip load going straight down as a share of the sideways one: to start with, and at most.

    tooling: What goes down into what.
    Returns: 1 and 1 for a drill; the material's plunge shares for anything else [-].
    """
    if tooling.cutter.kind in ("twist drill", "spot drill"):
        return 1.0, 1.0
    return plunge_share(tooling), tooling.material.plunge_share.high


def drill_limits(
    tooling: Tooling, request: CutRequest, speed_rpm: float, feed_per_rev_mm: float, peck_mm: float
) -> tuple[LimitShare, ...]:
    """Every limit of a drilled hole, largest use first.

    tooling: What drills what.
    request: First cut or proven.
    speed_rpm: Spindle speed [rev/min].
    feed_per_rev_mm: Feed per turn [mm].
    peck_mm: Depth between retracts [mm].
    Returns: Sorted by share / budget.
    """
    material, machine, cutter = tooling.material, tooling.machine, tooling.cutter
    band = tooling.speed_band_m_min
    assert band is not None
    kc = material.kc11_n_mm2.highest
    thrust = thrust_n(tooling, feed_per_rev_mm, kc)
    torque = torque_nm(tooling, feed_per_rev_mm, kc)
    omega = 2 * np.pi * speed_rpm / 60.0
    power = float(tooling.available_power_w(speed_rpm))
    speed = float(cutting_speed_m_min(speed_rpm, cutter.diameter_mm))
    _, begin, high = tooling.chip_band_mm("drill")
    share_start, share_most = axial_shares(tooling)
    gentle = not request.proven and request.feed_mm_min is None
    chip_limit = begin * share_start if gentle else high * share_most
    chip, budgets = feed_per_rev_mm / cutter.flutes, tooling.budgets(request)
    row = tooling.chip_row("drill")
    push = machine.thrust_n.z * tuning.THRUST_SHARE
    z_bend = thrust / machine.stiffness_n_um.z / 1000.0
    feed = feed_per_rev_mm * speed_rpm

    def row_of(
        key: str, title: str, demand: float, limit: float, unit: str, kept: float, reason: str, source: str
    ) -> LimitShare:
        return LimitShare(key, title, demand, limit, unit, demand / limit, kept, reason, source)

    rows = [
        row_of(
            "cutting-speed",
            "cutting speed",
            speed,
            band.high,
            "m/min",
            1.0,
            "cutting-speed band",
            band.source,
        ),
        row_of(
            "spindle-top-speed",
            "spindle speed, top",
            speed_rpm,
            tooling.highest_rpm,
            "rev/min",
            1.0,
            "highest speed spindle and cutter allow",
            machine.spindle.source,
        ),
        row_of(
            "chip-load",
            "greatest chip",
            chip,
            max(chip_limit, tooling.smallest_chip_mm / tuning.RUBBING_BUDGET),
            "mm",
            1.0,
            "chip-load band" if share_most == 1.0 else "share of the chip-load band for a straight plunge",
            row.per_diameter.source,
        ),
        LimitShare(
            "rubbing",
            "smallest chip",
            chip,
            tooling.smallest_chip_mm,
            "mm",
            tooling.smallest_chip_mm / chip,
            tuning.RUBBING_BUDGET,
            "a thinner chip rubs",
            material.min_chip_mm.source,
        ),
        row_of(
            "axis-thrust",
            "axis push",
            thrust,
            push,
            "N",
            budgets["axis-thrust"],
            "half of the push at which Z stalls",
            machine.thrust_n.source,
        ),
        row_of(
            "spindle-power",
            "spindle power",
            torque * omega,
            power,
            "W",
            budgets["spindle-power"],
            "shaft power at this speed",
            machine.spindle.power_source,
        ),
        row_of(
            "deflection",
            "deflection along Z",
            z_bend,
            tuning.DRILL_SPRING_MM,
            "mm",
            budgets["deflection"],
            "the frame lifts under the thrust and drops at breakthrough",
            "estimate",
        ),
        row_of(
            "top-feed",
            "top feed",
            feed,
            machine.max_feed_mm_min.z,
            "mm/min",
            1.0,
            "highest feed of Z",
            machine.max_feed_mm_min.source,
        ),
        row_of(
            "chip-room",
            "room for chips",
            peck_mm,
            _first_peck_mm(tooling),
            "mm",
            1.0,
            "depth before the first retract",
            "common practice, no source",
        ),
    ]
    return tuple(sorted(rows, key=lambda row: -row.used))


def _first_peck_mm(tooling: Tooling) -> float:
    """Depth before the first retract [mm]: 1 D in metal up to 3 mm, 1.5 D above, 2.5 D otherwise."""
    diameter = tooling.cutter.diameter_mm
    metal = tooling.material.family in ("aluminium", "copper alloy", "steel")
    if tooling.cutter.kind not in ("twist drill", "spot drill"):
        return 0.5 * diameter
    if not metal:
        return 2.5 * diameter
    return diameter if diameter <= 3.0 else 1.5 * diameter


def drill_advice(tooling: Tooling, request: CutRequest, units: System = "mm") -> Advice:
    """Speed, feed and pecks for a drilled hole.

    tooling: What drills what.
    request: The hole: ``axial_depth_mm`` is its depth, if given.
    units: ``mm`` or ``in`` for rounding and sentences.
    Returns: The answer; depth is the peck depth.

    Note: Deep holes get less speed and feed, see :func:`millcalc.mechanics.drilling.deep_hole_factors`.
    """
    cutter = tooling.cutter
    band = tooling.speed_band_m_min
    assert band is not None
    hole = request.axial_depth_mm
    deep = min(hole or cutter.diameter_mm, _DEEPEST_DIAMETERS * cutter.diameter_mm)
    slower, thinner = (float(f) for f in deep_hole_factors(deep, cutter.diameter_mm))
    start = band.start if band.start is not None else (band.low + band.high) / 2
    wanted = float(spindle_speed_rpm((band.high if request.proven else start) * slower, cutter.diameter_mm))
    speed = request.speed_rpm or speed_to_set_rpm(
        min(max(wanted, tooling.lowest_rpm), tooling.highest_rpm), "down"
    )
    speed = max(speed, tooling.lowest_rpm) if request.speed_rpm is None else speed
    if tooling.uses_dial and tooling.machine.spindle.dial and request.speed_rpm is None:
        marks = sorted(m.rpm for m in tooling.machine.spindle.dial)
        speed = max([m for m in marks if m <= speed * 1.02], default=marks[0])
    low, begin, high = tooling.chip_band_mm("drill")
    share_start, share_most = axial_shares(tooling)
    floor = tooling.smallest_chip_mm / tuning.RUBBING_BUDGET
    top = high * share_most if request.proven else max(begin, low) * share_start
    chips = np.linspace(max(top * thinner, floor), floor, 30)
    first = _first_peck_mm(tooling)
    peck = depth_to_set_mm(min(first, hole) if hole else first, units)
    chosen = 0.0
    limits: tuple[LimitShare, ...] = ()
    if request.feed_mm_min is not None:
        chosen = request.feed_mm_min / speed
        limits = drill_limits(tooling, request, speed, chosen, peck)
    else:
        for chip in chips:
            feed = feed_to_set_mm_min(float(chip) * cutter.flutes * speed, units)
            if feed < floor * cutter.flutes * speed:
                feed = float(np.ceil(floor * cutter.flutes * speed))
            chosen = feed / speed
            limits = drill_limits(tooling, request, speed, chosen, peck)
            if limits[0].used <= 1.0 + 1e-9:
                break
    fits = limits[0].used <= 1.0 + 1e-9
    feed = chosen * speed
    kc = tooling.material.kc11_n_mm2
    thrusts = [thrust_n(tooling, chosen, k) for k in (kc.lowest, kc.value, kc.highest)]
    torques = [torque_nm(tooling, chosen, k) for k in (kc.lowest, kc.value, kc.highest)]
    notes = []
    if not cutter.centre_cutting:
        notes.append("this cutter does not cut to its centre: it cannot go straight down")
        fits = False
    if cutter.kind not in ("twist drill", "spot drill"):
        notes.append(
            "going straight down with an end mill packs chips under it: a ramp, or a helix in a slightly larger "
            "bore, is kinder"
        )
    if hole is not None and hole > _DEEPEST_DIAMETERS * cutter.diameter_mm:
        notes.append(
            "the hole is deeper than 8 diameters, where no table value is known: peck every diameter"
        )
    if tooling.machine.typical:
        notes.append("push and stiffness are typical for this class of machine, not measured on yours")
    if not fits:
        over = ", ".join(x.title for x in limits if x.used > 1.0)
        if over:
            notes.insert(
                0,
                ("the numbers given do not hold: " if request.feed_mm_min else "no feed holds every limit: ")
                + over,
            )
    governing = limits[0]
    return Advice(
        tooling,
        request,
        Settings(
            speed,
            dial_mark(tooling, speed),
            round(feed, 6),
            chosen / cutter.flutes,
            peck,
            cutter.diameter_mm,
            round(feed, 6),
            cutter.centre_cutting,
            90.0,
            round(feed, 6),
        ),
        limits,
        fits,
        (
            Range("force along the spindle", thrusts[0], thrusts[1], thrusts[2], "N"),
            Range("torque", torques[0], torques[1], torques[2], "N m"),
        ),
        float(np.pi / 4 * cutter.diameter_mm**2 * feed / 1000.0),
        {
            "cutter": tooling.cutter_um_n,
            "collet and spindle": tooling.spindle_um_n,
            "frame": tooling.frame_um_n,
        },
        (
            f"speed {show_speed(speed)}: {float(cutting_speed_m_min(speed, cutter.diameter_mm)):.0f} m/min at the edge "
            f"(band {band.low:g}-{band.high:g} m/min)" + (", slower for a deep hole" if slower < 1 else ""),
            f"feed down {show_feed(feed, units)}: {show_chip(chosen, units)} a turn",
            f"peck {show_depth(peck, units)}: retract fully to clear the chips; nearest limit is {governing.title}",
        ),
        tuple(notes),
        sources=(
            ("specific cutting force kc1.1", kc.source, kc.confidence),
            ("cutting-speed band", band.source, band.confidence),
            ("axis push", tooling.machine.thrust_n.source, tooling.machine.thrust_n.confidence),
        ),
        given=tuple(
            name
            for name, value in (("rpm", request.speed_rpm), ("feed", request.feed_mm_min), ("ap", hole))
            if value is not None
        ),
    )
