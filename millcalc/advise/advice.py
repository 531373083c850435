"""Put the answer together: settings, limits, ranges, reasons, notes, sources."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from millcalc.advise.asked import check_request
from millcalc.advise.buys import what_would_buy_more
from millcalc.advise.doubts import doubts
from millcalc.advise.drill import drill_advice
from millcalc.advise.entries import entry_for
from millcalc.advise.holders import holders
from millcalc.advise.result import THINNED, Advice, LimitShare, Range, Settings
from millcalc.advise.solve import Point, dial_mark, find, shares
from millcalc.advise.ways import next_steps, other_way
from millcalc.limits.chances import chances
from millcalc.limits.request import FULL_WIDTH, CutRequest
from millcalc.limits.state import State
from millcalc.limits.table import keys_holding
from millcalc.limits.tooling import Tooling
from millcalc.tables.models import Cutter
from millcalc.units_beside import show_edge_speed
from millcalc.units_show import (
    System,
    show_chip,
    show_depth,
    show_feed,
    show_feed_as_is,
    show_length,
    show_speed,
)


def advise(
    tooling: Tooling,
    request: CutRequest,
    *,
    units: System = "mm",
    others: tuple[Cutter, ...] = (),
    buys: bool = True,
    ways: bool = True,
) -> Advice:
    """Settings for a cut, with every limit, the reason for each number and what would buy more.

    tooling: Machine, material and cutter.
    request: The cut; given numbers are judged instead of replaced.
    units: ``mm`` or ``in``: steps to round to and units of the sentences.
    others: Other cutters the person could use, for "what would buy more".
    buys: Whether to compute what would buy more.
    ways: Whether to reason about the frame, the other way to make the cut and the next steps too.
    Returns: The answer; ``fits`` is False where no setting holds every limit.
    Raises InputError: If a given number is impossible.
    """
    check_request(tooling, request)
    if request.cut in ("drill", "plunge"):
        return drill_advice(tooling, request, units)
    point, fits = find(tooling, request, units)
    limits = shares(tooling, request, point)
    state = point.state(tooling, request)
    settings, removal = _settings(tooling, request, point, state, units)
    held = holders(tooling, request, point, limits)
    reasons = _reasons(tooling, request, point, limits, held, units)
    if request.cut in ("ramp", "helix"):
        half = (
            f"{request.cut}: {show_feed(settings.feed_mm_min, units)}, half the feed of the slot that follows"
        )
        reasons = (f"{half}; the limits are judged for that slot, which is the harder cut", *reasons)
    if buys and ways and fits and request.axial_depth_mm is None:
        reasons = (*reasons, *_ways_on(tooling, request, point, units))
    answer = Advice(
        tooling,
        request,
        settings,
        limits,
        fits,
        _ranges(tooling, state),
        removal,
        {
            "cutter": tooling.cutter_um_n,
            "collet and spindle": tooling.spindle_um_n,
            "frame": tooling.frame_um_n,
        },
        reasons,
        doubts(tooling, request, point, limits, fits, units),
        sources=_sources(tooling, request),
        holds=held,
        chances=chances(state),
        given=_given(request),
    )
    if not buys:
        return answer
    return replace(answer, buys=what_would_buy_more(tooling, request, point, removal, units, others))


def _settings(
    tooling: Tooling, request: CutRequest, point: Point, state: State, units: System
) -> tuple[Settings, float]:
    """What to type and turn, and the removal rate [cm3/min]."""
    entry = entry_for(tooling, point, request.bore_mm, units, proven=request.proven)
    feed = point.speed_rpm * tooling.cutter.flutes * point.feed_per_tooth_mm
    bores = request.cut == "helix" or bool(request.bore_mm)
    settings = Settings(
        point.speed_rpm,
        dial_mark(tooling, point.speed_rpm),
        round(feed, 6),
        point.feed_per_tooth_mm,
        point.depth_mm,
        float(np.ravel(state.engaged_width_mm)[0]) if request.cut in FULL_WIDTH else point.width_mm,
        entry.plunge_feed_mm_min,
        entry.plunge_allowed,
        entry.ramp_angle_deg,
        entry.ramp_feed_mm_min,
        entry.helix_bore_mm if bores else None,
        entry.helix_pitch_mm if bores else None,
        entry.helix_feed_mm_min if bores else None,
    )
    return _going_down(tooling, request, settings)


def _ways_on(tooling: Tooling, request: CutRequest, point: Point, units: System) -> tuple[str, ...]:
    """What the frame's stiffness changes, the other way to make the cut, and the next steps."""
    frame = _frame_matters(tooling, request, point, units)
    if request.cut not in ("slot", "side"):
        return (frame,)
    return (
        frame,
        *other_way(tooling, request, point, units),
        *next_steps(tooling, request, point, units),
    )


def _given(request: CutRequest) -> tuple[str, ...]:
    """Which numbers were given, by their options."""
    values = {
        "rpm": request.speed_rpm,
        "feed": request.feed_mm_min,
        "ap": request.axial_depth_mm,
        "ae": request.radial_width_mm,
    }
    return tuple(name for name, value in values.items() if value is not None)


def _going_down(tooling: Tooling, request: CutRequest, settings: Settings) -> tuple[Settings, float]:
    """The settings with the feed of the cut that was asked for, and its removal rate [cm3/min].

    A ramp and a helix run at their own feed; a helix goes down by its pitch each turn and clears the whole bore.
    """
    flutes, width = tooling.cutter.flutes, settings.radial_width_mm
    depth, feed = settings.axial_depth_mm, settings.feed_mm_min
    if request.cut == "ramp":
        feed = settings.ramp_feed_mm_min
        removal = feed * np.cos(np.radians(settings.ramp_angle_deg)) * width * depth / 2
    elif request.cut == "helix" and settings.helix_bore_mm and settings.helix_pitch_mm:
        feed, depth = settings.helix_feed_mm_min or feed, settings.helix_pitch_mm
        bore, diameter = settings.helix_bore_mm, tooling.cutter.diameter_mm
        core = max(bore - 2 * diameter, 0.0)
        turns_min = feed / (np.pi * (bore - diameter))
        removal = turns_min * np.pi / 4 * (bore**2 - core**2) * depth
    else:
        return settings, tooling.section_mm2(depth, width) * feed / 1000.0
    chip = feed / (flutes * settings.speed_rpm)
    changed = replace(settings, feed_mm_min=feed, feed_per_tooth_mm=chip, axial_depth_mm=depth)
    return changed, float(removal) / 1000.0


def _ranges(tooling: Tooling, state: State) -> tuple[Range, ...]:
    """Force, power, deflection and chip as ranges over the published coefficients."""

    def three(values: list[float]) -> tuple[float, float, float]:
        return min(values), values[1], max(values)

    peak = three([float(state.loads(i).peak_n.item()) for i in range(3)])
    mean = three([float(state.loads(i).mean_n.item()) for i in range(3)])
    axial = three([float(state.loads(i).axial_n.item()) for i in range(3)])
    power = three([float(np.ravel(state.power_w(i))[0]) for i in range(3)])
    bend = three([float(np.ravel(state.deflection_mm(i))[0]) for i in range(3)])
    chip_mean = float(np.ravel(state.mean_chip_mm)[0])
    chip_max = float(np.ravel(state.max_chip_mm)[0])
    return (
        Range(
            "peak force sideways", *peak, "N", "published coefficients for one alloy differ up to three-fold"
        ),
        Range("mean force sideways", *mean, "N"),
        Range("force along the spindle", *axial, "N", "an up-cut spiral lifts the plate with it"),
        Range(
            "cutting power",
            *power,
            "W",
            "mean tangential force times cutting speed",
        ),
        Range("deflection at the tip", *bend, "mm"),
        Range("chip thickness, mean to greatest", chip_mean, chip_mean, chip_max, "mm"),
    )


def _reasons(
    tooling: Tooling,
    request: CutRequest,
    point: Point,
    limits: tuple[LimitShare, ...],
    held: dict[str, str],
    units: System,
) -> tuple[str, ...]:
    """One sentence for each number."""
    by_key = {limit.key: limit for limit in limits}
    holder = by_key[held["depth"]]
    band = tooling.speed_band_m_min
    assert band is not None
    speed = by_key["cutting-speed"]
    if request.speed_rpm is not None:
        speed_text = "given by you"
    elif tooling.dial_rpm:
        speed_text = f"the dial step that gives {show_edge_speed(speed.demand, band.low, band.high, units)}"
    else:
        speed_text = show_edge_speed(speed.demand, band.low, band.high, units)
    feed_text = _chip_text(tooling, request, point, by_key, held, units)
    reasons = [
        f"speed {show_speed(point.speed_rpm)}: {speed_text}",
        f"feed {show_feed_as_is(point.speed_rpm * tooling.cutter.flutes * point.feed_per_tooth_mm, units)}: "
        + ("given by you; it makes " if request.feed_mm_min is not None else "")
        + feed_text,
        f"depth {(show_length if request.axial_depth_mm is not None else show_depth)(point.depth_mm, units)}: "
        + ("given by you; nearest limit is " if request.axial_depth_mm is not None else "held back by ")
        + f"{holder.title}, {holder.reason} ({100 * holder.share:.0f} % used)",
    ]
    if request.cut not in FULL_WIDTH:
        width_text = (
            "given by you"
            if request.radial_width_mm is not None
            else "removes most at this depth with every limit held"
            if limits[0].used <= 1.0 + 1e-9
            else "the least overrun at this depth"
        )
        reasons.append(f"width {show_depth(point.width_mm, units)}: {width_text}")
    return tuple(reasons)


def _chip_text(
    tooling: Tooling,
    request: CutRequest,
    point: Point,
    by_key: dict[str, LimitShare],
    held: dict[str, str],
    units: System,
) -> str:
    """The thickest chip beside its band: whether a narrow cut thins it, and what keeps it below the band."""
    low, _, high = tooling.chip_band_mm(request.cut)
    chip = by_key["chip-load"].demand
    thinned = chip < THINNED * point.feed_per_tooth_mm
    text = f"a chip of {show_chip(chip, units)} at its thickest"
    if thinned:
        text += f", thinned from {show_chip(point.feed_per_tooth_mm, units)} a tooth by the narrow cut"
    text += (
        f" (band {show_chip(low, units)} to {show_chip(high, units)}, "
        f"rubbing below {show_chip(tooling.smallest_chip_mm, units)})"
    )
    holder = by_key.get(held.get("feed", ""))
    if holder is None or holder.key == "chip-load":
        return text
    below = "below the band, " if chip < low * (1 - 1e-9) else ""
    return f"{text}; {below}held back by {holder.title}: {holder.reason}"


def _frame_matters(tooling: Tooling, request: CutRequest, point: Point, units: System) -> str:
    """What a frame twice or half as stiff would give: how much this machine's stiffness decides."""

    def depth_with(factor: float) -> str:
        stiff = tooling.machine.stiffness_n_um
        axes = stiff.model_copy(update={"x": stiff.x * factor, "y": stiff.y * factor, "z": stiff.z * factor})
        modes = tuple(
            mode.model_copy(update={"frequency_hz": mode.frequency_hz * factor**0.5})
            for mode in tooling.machine.modes
        )
        machine = tooling.machine.model_copy(update={"stiffness_n_um": axes, "modes": modes})
        trial = tooling.with_changes(machine=machine)
        # the same width and speed, so that only the frame differs
        asked = replace(request, speed_rpm=point.speed_rpm)
        if request.cut not in FULL_WIDTH:
            asked = replace(asked, radial_width_mm=point.width_mm)
        found, fits = find(trial, asked, units)
        governing = next(x for x in shares(trial, asked, found) if x.key in keys_holding("depth"))
        return f"{show_depth(found.depth_mm, units)} ({governing.title})" if fits else "no cut that holds"

    return (
        f"stiffness: a frame half as stiff would give a depth of {depth_with(0.5)}, "
        f"one twice as stiff {depth_with(2.0)}"
    )


def _sources(tooling: Tooling, request: CutRequest) -> tuple[tuple[str, str, str], ...]:
    """(what, source key, confidence) of the table values the answer rests on."""
    material, machine, cutter = tooling.material, tooling.machine, tooling.cutter
    band = tooling.speed_band_m_min
    assert band is not None
    row = tooling.chip_row(request.cut)
    depth = (
        material.slot_depth_per_diameter if request.cut in FULL_WIDTH else material.side_depth_per_diameter
    )
    rows: list[tuple[str, str, str]] = [
        ("specific cutting force kc1.1", material.kc11_n_mm2.source, material.kc11_n_mm2.confidence),
        ("cutting-speed band", band.source, band.confidence),
        ("chip-load band", row.per_diameter.source, row.per_diameter.confidence),
        ("smallest chip", material.min_chip_mm.source, material.min_chip_mm.confidence),
        ("room for chips", depth.source, depth.confidence),
        ("stiffness", machine.stiffness_n_um.source, machine.stiffness_n_um.confidence),
        ("spindle power", machine.spindle.power_source, machine.spindle.power_confidence),
        ("axis push", machine.thrust_n.source, machine.thrust_n.confidence),
        ("cutter geometry", cutter.source, cutter.confidence),
    ]
    rows[1:1] = [
        (f"milling coefficients ({edge.label})", edge.source, edge.confidence) for edge in material.edge_sets
    ] or [("milling coefficients", material.kc11_n_mm2.source, "derived")]
    return tuple(rows)
