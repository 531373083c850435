"""Doubts that the person should know before trusting the numbers, one sentence each."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from millcalc.advise.result import LimitShare
from millcalc.advise.solve import Point, shares
from millcalc.limits.request import FULL_WIDTH, CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.mechanics.kinematics import spindle_speed_rpm
from millcalc.units_show import System, show_cutting_speed, show_length, show_speed


def doubts(
    tooling: Tooling,
    request: CutRequest,
    point: Point,
    limits: tuple[LimitShare, ...],
    fits: bool,
    units: System,
) -> tuple[str, ...]:
    """Doubts about a setting, gravest first.

    tooling, request: What is cut with what, and how.
    point: The setting.
    limits: Every limit there, largest use first.
    fits: Whether all hold.
    units: ``mm`` or ``in``.
    Returns: Sentences.
    """
    machine, material, cutter = tooling.machine, tooling.material, tooling.cutter
    notes = [] if fits else [_not_held(tooling, request, point, limits, units)]
    if material.suitability == "not recommended" or material.suitability == "careful":
        notes.append(material.suitability_text)
    if not material.grade_known:
        notes.append("the grade is unknown: cautious values; make a test cut first")
    if machine.typical:
        factor = machine.stiffness_spread
        notes.append(
            f"stiffness is typical for this class of machine, not measured on yours: it may be off by a factor "
            f"of {factor:.1f} either way"
        )
    band = tooling.speed_band_m_min
    assert band is not None
    speed = next(limit for limit in limits if limit.key == "cutting-speed")
    if speed.demand < band.low:
        notes.append(
            f"cutting speed {show_cutting_speed(speed.demand, units)} lies below the band "
            f"({show_cutting_speed(band.low, units)}): the spindle or the "
            "cutter's size gives no more; the cut works, only slower"
        )
    if cutter.flutes > material.max_flutes_slot and request.cut in FULL_WIDTH:
        notes.append(
            f"{cutter.flutes} flutes leave little room for chips in a slot in {material.title}: "
            f"{material.max_flutes_slot} or fewer pack less"
        )
    runout = tooling.runout_mm
    if cutter.flutes > 1 and runout >= 0.5 * point.feed_per_tooth_mm:
        notes.append(
            f"run-out {show_length(runout, units)} is {100 * runout / point.feed_per_tooth_mm:.0f} % of the chip "
            f"load: one flute of {cutter.flutes} does most of the work"
        )
    notes += _of_the_cutter(tooling, point, units)
    if tooling.margins.text:
        notes.append(tooling.margins.text)
    return tuple(notes)


def _not_held(
    tooling: Tooling, request: CutRequest, point: Point, limits: tuple[LimitShare, ...], units: System
) -> str:
    """Which limits do not hold, and what would help: the cut once proven, or a smaller cutter on a fast spindle."""
    over = [limit for limit in limits if limit.binds and limit.used > 1.0 + 1e-9]
    names = ", ".join(limit.title for limit in over[:4])
    given = any(
        value is not None
        for value in (
            request.axial_depth_mm,
            request.radial_width_mm,
            request.feed_mm_min,
            request.speed_rpm,
        )
    )
    whole = shares(tooling, replace(request, proven=True), point)[0].used <= 1.0 + 1e-9
    kept = "; all of each limit would hold them, a first cut keeps a reserve (--proven)" if whole else ""
    if given:
        return f"the numbers given do not hold: {names}{kept}"
    band, lowest = tooling.speed_band_m_min, tooling.lowest_rpm
    smaller = ""
    if band is not None and any(limit.key == "cutting-speed" for limit in over):
        widest = float(np.floor(20.0 * spindle_speed_rpm(band.high, 1.0) / lowest) / 20.0)
        smaller = (
            f". The spindle turns no slower than {show_speed(lowest)}: a cutter of {show_length(widest, units)} or "
            f"less stays below {show_cutting_speed(band.high, units)}"
        )
    return f"no setting holds every limit; closest shown, over: {names}{smaller}"


def _of_the_cutter(tooling: Tooling, point: Point, units: System) -> list[str]:
    """Doubts about how the cutter is fitted and what its end is like."""
    machine, cutter = tooling.machine, tooling.cutter
    notes = []
    notes += [note for note in cutter.notes if note.startswith("typical values of ")]
    needed = point.depth_mm + 2.0
    if tooling.stickout_mm > 5 * cutter.diameter_mm:
        notes.append(
            f"stickout is {tooling.stickout_mm / cutter.diameter_mm:.1f} diameters: bending grows with its cube; "
            f"this pass needs {show_length(needed, units)} plus what is already cut"
        )
    if cutter.kind in ("ball", "bull-nose", "vee", "engraving", "tapered ball"):
        notes.append(
            "forces are computed at the effective diameter at this depth, over the full depth: the high side; "
            "at the very tip of a ball or point the cutter does not cut but press"
        )
    if cutter.shank_mm > machine.spindle.largest_shank_mm + 0.01:
        notes.append(
            f"shank {show_length(cutter.shank_mm, units)} is larger than the collet takes "
            f"({show_length(machine.spindle.largest_shank_mm, units)})"
        )
    return notes
