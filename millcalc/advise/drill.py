"""Holes straight down: speed, feed and pecks of a drill, or of an end mill that is plunged."""

from __future__ import annotations

import numpy as np

from millcalc.advise.result import Advice, LimitShare, Range, Settings
from millcalc.advise.solve import dial_mark, find, limit_shares
from millcalc.limits.draws import one
from millcalc.limits.entries import DRILLS, SCRAPING_CHIP
from millcalc.limits.hole import HoleState
from millcalc.limits.plunge import plunge_feed_mm_min
from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.mechanics.drilling import deep_hole_factors
from millcalc.mechanics.kinematics import cutting_speed_m_min, spindle_speed_rpm
from millcalc.tables.drilling import drilling_of
from millcalc.units_beside import show_edge_speed
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

_DEEPEST_DIAMETERS = 8.0
_HOLDS = 1.0 + 1e-9


def drill_advice(tooling: Tooling, request: CutRequest, units: System = "mm") -> Advice:
    """Speed, feed and pecks for a hole.

    tooling: What drills what.
    request: The hole: ``axial_depth_mm`` is its depth, if given; cut ``drill`` or ``plunge``.
    units: ``mm`` or ``in`` for rounding and sentences.
    Returns: The answer; depth is the peck depth.

    Note: Deep holes get less speed and feed, see :func:`millcalc.mechanics.drilling.deep_hole_factors`. An end mill
      gets the plunge of the slot that follows, whichever word asks for it.
    """
    cutter = tooling.cutter
    if cutter.kind not in DRILLS and request.cut == "drill":
        request = CutRequest(**{**request.__dict__, "cut": "plunge"})
    deep = min(request.axial_depth_mm or cutter.diameter_mm, _DEEPEST_DIAMETERS * cutter.diameter_mm)
    slower, thinner = (float(f) for f in deep_hole_factors(deep, cutter.diameter_mm))
    speed = _speed_rpm(tooling, request, slower, units)
    state, limits = _feed(tooling, request, speed, thinner, units)
    feed = one(state.feed_mm_min)
    fits = limits[0].used <= _HOLDS and cutter.centre_cutting and not scrapes(state)
    push = [one(state.push_n(i)) for i in range(3)]
    torque = [one(state.torque_nm(i)) for i in range(3)]
    return Advice(
        tooling,
        request,
        Settings(
            speed,
            dial_mark(tooling, speed),
            round(feed, 6),
            one(state.feed_per_tooth_mm),
            one(state.depth_mm),
            cutter.diameter_mm,
            round(feed, 6),
            cutter.centre_cutting,
            90.0,
            round(feed, 6),
        ),
        limits,
        fits,
        (
            Range("force along the spindle", push[0], push[1], push[2], "N"),
            Range("torque", torque[0], torque[1], torque[2], "N m"),
        ),
        float(np.pi / 4 * cutter.diameter_mm**2 * feed / 1000.0),
        {},
        _reasons(state, limits, slower, units),
        _notes(state, limits, fits, units),
        sources=_sources(state),
        given=tuple(
            name
            for name, value in (
                ("rpm", request.speed_rpm),
                ("feed", request.feed_mm_min),
                ("ap", request.axial_depth_mm),
            )
            if value is not None
        ),
    )


def _speed_rpm(tooling: Tooling, request: CutRequest, slower: float, units: System) -> float:
    """Spindle speed: that of the band, no slower than the spindle turns; an end mill's is that of its slot."""
    if request.speed_rpm is not None:
        return request.speed_rpm
    if tooling.cutter.kind not in DRILLS:
        slot = CutRequest("slot", segment_mm=request.segment_mm, proven=request.proven)
        return find(tooling, slot, units)[0].speed_rpm
    band = HoleState(tooling, request, 1.0, 0.0, 0.0, 0.0).speed_band_m_min
    wanted = float(
        spindle_speed_rpm((band.high if request.proven else band.begin) * slower, tooling.cutter.diameter_mm)
    )
    if tooling.dial_rpm:
        slow = [rpm for rpm in tooling.dial_rpm if rpm <= wanted * 1.02]
        return max(slow, default=tooling.dial_rpm[0])
    return max(speed_to_set_rpm(min(wanted, tooling.highest_rpm), "down"), tooling.lowest_rpm)


def _feed(
    tooling: Tooling, request: CutRequest, speed_rpm: float, thinner: float, units: System
) -> tuple[HoleState, tuple[LimitShare, ...]]:
    """The fastest feed at which every limit holds, or the slowest that still cuts; and its limits."""
    flutes, hole = tooling.cutter.flutes, request.axial_depth_mm

    def at(feed_mm_min: float) -> HoleState:
        chip = feed_mm_min / (flutes * speed_rpm)
        empty = HoleState(tooling, request, speed_rpm, chip, 0.0, tooling.cutter.diameter_mm)
        first = float(empty.chip_room[0])
        peck = depth_to_set_mm(min(first, hole) if hole else first, units)
        return HoleState(
            tooling,
            request,
            np.array([speed_rpm]),
            np.array([chip]),
            np.array([peck]),
            np.array([tooling.cutter.diameter_mm]),
        )

    if request.feed_mm_min is not None:
        state = at(request.feed_mm_min)
        return state, limit_shares(state)
    if request.cut == "plunge":
        feed = plunge_feed_mm_min(tooling, speed_rpm, proven=request.proven)
        state = at(feed_to_set_mm_min(feed, units) or feed)
        return state, limit_shares(state)
    low, begin, high = at(1.0).chip_band_mm
    floor = min(tooling.thin_chip_mm, low)
    top = (high if request.proven else begin) * thinner
    per_mm = flutes * speed_rpm
    wanted = np.geomspace(max(top, floor), floor, 60) * per_mm  # a step a time, about
    feeds = [feed_to_set_mm_min(float(feed), units) or float(feed) for feed in wanted]
    for feed in (*dict.fromkeys(feeds), feed_to_set_mm_min(floor * per_mm, units, "up")):
        state = at(feed)
        limits = limit_shares(state)
        if limits[0].used <= _HOLDS:
            break
    return state, limits


def scrapes(state: HoleState) -> bool:
    """Whether a plunge at the feed that Z can push only scrapes: the end rubs a hole instead of cutting one."""
    least = SCRAPING_CHIP * state.tooling.smallest_chip_mm
    return state.request.cut == "plunge" and one(state.feed_per_tooth_mm) < least


def _reasons(
    state: HoleState, limits: tuple[LimitShare, ...], slower: float, units: System
) -> tuple[str, ...]:
    band, speed = state.speed_band_m_min, one(state.speed_rpm)
    edge = float(cutting_speed_m_min(speed, state.tooling.cutter.diameter_mm))
    turn = one(state.feed_per_tooth_mm) * state.tooling.cutter.flutes
    return (
        f"speed {show_speed(speed)}: {show_edge_speed(edge, band.low, band.high, units)}"
        + (", slower for a deep hole" if slower < 1 else ""),
        f"feed down {show_feed(one(state.feed_mm_min), units)}: {show_chip(turn, units)} a turn",
        f"peck {show_depth(one(state.depth_mm), units)}: retract fully to clear the chips; nearest limit is "
        f"{limits[0].title}",
    )


def _notes(state: HoleState, limits: tuple[LimitShare, ...], fits: bool, units: System) -> tuple[str, ...]:
    tooling, request, cutter = state.tooling, state.request, state.tooling.cutter
    notes = []
    over_keys = {x.key for x in limits if x.used > _HOLDS}
    over = ", ".join(x.title for x in limits if x.key in over_keys)
    drills = cutter.kind in DRILLS
    milled = (
        f"mill the hole: millcalc settings --cut helix --bore {show_depth(cutter.diameter_mm, units)} with an end mill "
        f"of {show_depth(_end_mill_mm(cutter.diameter_mm), units)} or so"
    )
    if drills and "cutting-speed" in over_keys and request.speed_rpm is None:
        wanted = float(spindle_speed_rpm(state.speed_band_m_min.high, cutter.diameter_mm))
        carbide = "" if len(over_keys) > 1 else _carbide(state)
        notes.append(
            f"no: this spindle cannot turn slower than {show_speed(tooling.lowest_rpm)}, and the drill wants "
            f"{show_speed(wanted)} at most. Use {carbide}a drill press, or {milled}"
        )
    elif drills and over_keys and request.feed_mm_min is None:
        notes.append(
            f"no: at any feed that still cuts, this machine is over its limits ({over}). Drill a smaller hole first, "
            f"or {milled}"
        )
    elif drills and request.feed_mm_min is None and one(state.feed_per_tooth_mm) < state.chip_band_mm[0]:
        turn, usual = (cutter.flutes * chip for chip in (one(state.feed_per_tooth_mm), state.chip_band_mm[0]))
        notes.append(
            f"{show_chip(turn, units)} a turn is all that this machine drives, less than the usual "
            f"{show_chip(usual, units)} and more: the lips cut little and heat. Drill a smaller hole first, or {milled}"
        )
    if scrapes(state):
        notes.append(
            "no: Z cannot push this cutter straight down with a chip worth the name: go in on a ramp or a helix"
        )
    if not cutter.centre_cutting:
        notes.append("this cutter does not cut to its centre: it cannot go straight down")
    if cutter.kind not in DRILLS:
        notes.append(
            "going straight down with an end mill packs chips under it: a ramp, or a helix in a slightly larger "
            "bore, is kinder"
        )
    if (request.axial_depth_mm or 0.0) > _DEEPEST_DIAMETERS * cutter.diameter_mm:
        notes.append(
            "the hole is deeper than 8 diameters, where no table value is known: peck every diameter"
        )
    if tooling.machine.typical:
        notes.append("push and stiffness are typical for this class of machine, not measured on yours")
    if not fits and over and not (notes and notes[0].startswith("no: ")):
        given = "the numbers given do not hold: " if request.feed_mm_min else "no feed holds every limit: "
        notes.insert(0, given + over)
    return tuple(notes)


def _end_mill_mm(bore_mm: float) -> float:
    """End mill to name for milling a bore: near 0.65 of it, from 2 mm on in half millimetres, as they are sold [mm].

    Common practice, no source.
    """
    near = 0.65 * bore_mm
    return near if bore_mm < 2.0 else round(2.0 * near) / 2.0


def _carbide(state: HoleState) -> str:
    """The carbide drill that this spindle turns slowly enough for, where one of HSS is too fast; else nothing."""
    tooling = state.tooling
    band = drilling_of(tooling.material).speed_m_min("carbide")
    highest = float(spindle_speed_rpm(band.high, tooling.cutter.diameter_mm))
    if tooling.cutter.material != "hss" or highest < tooling.lowest_rpm:
        return ""
    return f"a carbide drill of that size ({show_speed(highest)} at most), "


def _sources(state: HoleState) -> tuple[tuple[str, str, str], ...]:
    band, kc = state.speed_band_m_min, state.tooling.material.kc11_n_mm2
    thrust = state.tooling.machine.thrust_n
    return (
        ("specific cutting force kc1.1", kc.source, kc.confidence),
        ("cutting-speed band", band.source, band.confidence),
        ("axis push", thrust.source, thrust.confidence),
    )
