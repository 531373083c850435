"""A short program for scrap: slots of rising depth, or of rising chip load, every one inside the hard limits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from millcalc import tuning
from millcalc.advise.advice import advise, dial_mark
from millcalc.advise.entries import ramp_angle_deg
from millcalc.advise.judge import limits_for
from millcalc.advise.solve import speeds_to_try_rpm
from millcalc.advise.tooling import CutRequest, Tooling
from millcalc.errors import InputError
from millcalc.job.models import Bed, Job, JobCutter, SpindleSetting, Stock, Zero
from millcalc.job.setup import Setup
from millcalc.units_show import (
    System,
    depth_to_set_mm,
    feed_to_set_mm_min,
    show_chip_load,
    show_depth,
    show_feed,
    show_length,
    show_speed,
)

Ladder = Literal["depth", "chip"]


@dataclass(frozen=True, slots=True)
class Slot:
    """One slot: its number, length [mm], depth [mm], feed [mm/min], chip load [mm] and left end [mm]."""

    number: int
    length_mm: float
    depth_mm: float
    feed_mm_min: float
    chip_mm: float
    x_mm: float
    y_mm: float


@dataclass(frozen=True)
class Strip:
    """A test strip.

    Attributes
    ----------
    ladder : str
        ``depth`` or ``chip``: what rises.
    tooling : Tooling
        What cuts what.
    tool : int
        Tool number [-].
    speed_rpm : float
        Spindle speed [rev/min].
    slots : tuple of Slot
        The first is the shortest.
    size_mm : tuple of float
        Room it needs along X and Y, borders included [mm].
    program : str
        The program.
    """

    ladder: Ladder
    tooling: Tooling
    tool: int
    speed_rpm: float
    slots: tuple[Slot, ...]
    size_mm: tuple[float, float]
    program: str


def make_strip(
    tooling: Tooling,
    ladder: Ladder = "depth",
    setup: Setup | None = None,
    tool: int = 1,
    units: System = "mm",
) -> Strip:
    """Write a test strip.

    Parameters
    ----------
    tooling : Tooling
        What cuts what.
    ladder : str
        ``depth``: five depths at one chip load; ``chip``: five chip loads at one depth.
    setup : Setup or None
        Job whose stock, zero, screws and controller are respected; None takes scrap with X0 Y0 at its front left
        corner and Z0 on top.
    tool : int
        Tool number [-].
    units : str
        Units to round in; the program itself is in millimetres.

    Returns
    -------
    Strip
        Program and slots.

    Raises
    ------
    InputError
        If the cutter cannot cut a slot here, or the stock is too small or too thin.

    Notes
    -----
    Depths go up to ``tuning.STRIP_DEEPEST`` of the depth at which every limit holds in full, so a strip finds out
    how much of the first cut's reserve can be given back; it does not go beyond the limits.
    """
    if "drill" in tooling.cutter.kind:
        raise InputError(
            tooling.cutter.title, "a milling cutter", "a drill has no slots to cut", field="cutter"
        )
    advised = advise(tooling, CutRequest("slot"), units=units, buys=False)
    if not advised.fits:
        raise InputError(
            f"no slot that holds every limit ({advised.limits[0].title})", "a cut that fits", advised.notes[0]
        )
    speed = advised.settings.speed_rpm
    if ladder == "chip":
        speed = _slow_enough(tooling, speed)
    rates = _rates(tooling, ladder, speed, advised.settings.feed_mm_min, units)
    deepest = min(limits_for(tooling, speed, feed).depth_max_mm for feed in rates)
    if ladder == "depth":
        depths = _depths(tuning.STRIP_DEEPEST * deepest, units)
        rates = rates[:1] * len(depths)
    else:
        half = tuning.STRIP_CHIP_DEPTH * deepest
        depths = [depth_to_set_mm(half, units) or half] * len(rates)
    left, front, top, travel = _place(setup)
    width = tooling.cutter.diameter_mm
    slots = tuple(
        Slot(
            number,
            _ramp_mm(tooling, depth) + tuning.STRIP_LENGTH_MM + tuning.STRIP_LONGER_MM * (number - 1),
            depth,
            feed,
            feed / (speed * tooling.cutter.flutes),
            left + width / 2,
            front + width / 2 + (number - 1) * (width + tuning.STRIP_WALL_MM),
        )
        for number, (depth, feed) in enumerate(zip(depths, rates, strict=True), start=1)
    )
    size = (
        slots[-1].length_mm + width + 2 * tuning.STRIP_BORDER_MM,
        slots[-1].y_mm - front + width / 2 + 2 * tuning.STRIP_BORDER_MM,
    )
    _check_room(setup, size, max(depths))
    text = _program(tooling, ladder, slots, speed, tool, top, travel, setup)
    return Strip(ladder, tooling, tool, speed, slots, size, text)


def _depths(deepest_mm: float, units: System) -> list[float]:
    """Even steps down to a depth, rounded downwards as a person sets them."""
    most, least = tuning.STRIP_SLOTS
    count = int(np.clip(deepest_mm // tuning.STRIP_STEP_MM, least, most))
    step = depth_to_set_mm(deepest_mm / count, units) or deepest_mm / count
    return [round(step * number, 6) for number in range(1, count + 1)]


def _fastest_mm_min(tooling: Tooling) -> float:
    """Feed that the axes have and reach within half of the shortest slot [mm/min]."""
    axes = tooling.machine.max_feed_mm_min
    reach = 60.0 * float(np.sqrt(tooling.machine.acceleration_mm_s2.x * tuning.STRIP_LENGTH_MM / 2))
    return min(axes.x, axes.y, reach)


def _least_chip_mm(tooling: Tooling) -> float:
    return max(tooling.chip_band_mm("slot")[0], tooling.smallest_chip_mm / tuning.RUBBING_BUDGET)


def _slow_enough(tooling: Tooling, speed_rpm: float) -> float:
    """A speed at which the machine can drive through the band of chip loads, the highest of those tried."""
    most = _fastest_mm_min(tooling) / (1.5 * _least_chip_mm(tooling) * tooling.cutter.flutes)
    tried = [n for n in speeds_to_try_rpm(tooling, CutRequest("slot")) if n <= speed_rpm]
    return float(max([n for n in tried if n <= most], default=min(tried, default=speed_rpm)))


def _rates(tooling: Tooling, ladder: Ladder, speed: float, advised: float, units: System) -> list[float]:
    """Feed of each slot."""
    if ladder == "depth":
        return [advised]
    flutes, high = tooling.cutter.flutes, tooling.chip_band_mm("slot")[2]
    low = _least_chip_mm(tooling) * speed * flutes * 1.02
    top = min(high * speed * flutes, _fastest_mm_min(tooling))
    rates = {feed_to_set_mm_min(float(rate), units) for rate in np.geomspace(min(low, top), top, 5)}
    if len(rates) < tuning.STRIP_SLOTS[1]:
        raise InputError(
            f"chip loads that all need about {top:.0f} mm/min",
            "a chip-load band this machine can drive through",
            "use --ladder depth, or another cutter",
            field="--ladder",
        )
    return sorted(rates)


def _place(setup: Setup | None) -> tuple[float, float, float, float]:
    """Left and front end of the strip, stock top and travel height in part coordinates."""
    border = tuning.STRIP_BORDER_MM
    if setup is None or setup.stock is None:
        top = 0.0 if setup is None or setup.stock_top_mm is None else setup.stock_top_mm
        return border, border, top, top + tuning.STRIP_TRAVEL_MM
    top = setup.stock.z_max
    heads = [screw.z_top_mm for screw in setup.screws or ()] + [box.z_max for _, box in setup.clamps or ()]
    return (
        setup.stock.x_min + border,
        setup.stock.y_min + border,
        top,
        max([top, *heads]) + tuning.STRIP_TRAVEL_MM,
    )


def _check_room(setup: Setup | None, size: tuple[float, float], deepest: float) -> None:
    if setup is None or setup.stock is None:
        return
    box = setup.stock
    if box.x_max - box.x_min < size[0] or box.y_max - box.y_min < size[1]:
        raise InputError(
            f"stock of {box.x_max - box.x_min:g} x {box.y_max - box.y_min:g} mm",
            f"at least {size[0]:.0f} x {size[1]:.0f} mm",
            "use a larger piece of scrap, or a smaller cutter",
            field="stock",
        )
    if box.z_max - box.z_min < deepest + 0.5:
        raise InputError(
            f"stock {box.z_max - box.z_min:g} mm thick",
            f"more than {deepest + 0.5:g} mm",
            "use thicker scrap",
            field="stock.thickness_mm",
        )


def _program(
    tooling: Tooling,
    ladder: Ladder,
    slots: tuple[Slot, ...],
    speed: float,
    tool: int,
    top: float,
    travel: float,
    setup: Setup | None,
) -> str:
    """The program in plain RS-274 words, one motion a line."""
    dwell = max(tooling.machine.spindle.spin_up_s, 1.0)
    in_ms = setup is not None and setup.job.controller.dwell_unit == "ms"
    offset = (setup.job.zero.work_offset if setup is not None else None) or "G54"
    mark = dial_mark(tooling, speed)
    lines = [
        f"(test strip: {ladder} rises from slot to slot, the first slot is the shortest)",
        f"(T{tool}: {_plain(tooling.cutter.title)} in {_plain(tooling.material.title)})",
        "(on scrap only, glasses on, hand on the stop)",
        f"G21 G90 G17 G94 {offset}",
        f"T{tool} M6",
        f"G0 Z{_word(travel)}",
        *([f"(set the dial to {mark})"] if mark else []),
        f"S{speed:.0f} M3",
        f"G4 P{dwell * 1000:.0f}" if in_ms else f"G4 P{dwell:g}",
    ]
    angle = ramp_angle_deg(tooling)
    for slot in slots:
        lines += _slot_lines(tooling, slot, top, travel, angle)
    lines += ["(done)", f"G0 Z{_word(travel)}", "M5", "M30"]
    return "\n".join(lines) + "\n"


def _ramp_mm(tooling: Tooling, depth_mm: float) -> float:
    """Way out of a ramp that goes out and back down to a depth [mm]."""
    return depth_mm / (2.0 * float(np.tan(np.radians(ramp_angle_deg(tooling)))))


def _slot_lines(tooling: Tooling, slot: Slot, top: float, travel: float, angle: float) -> list[str]:
    """Ramp out and back down to the depth, then along the whole slot at full depth."""
    ramp_feed = feed_to_set_mm_min(slot.feed_mm_min * tuning.RAMP_FEED_SHARE) or slot.feed_mm_min / 2
    z_top = tooling.machine.max_feed_mm_min.z
    ramp_feed = min(ramp_feed, z_top / float(np.sin(np.radians(angle))))
    out = slot.x_mm + _ramp_mm(tooling, slot.depth_mm)
    y = _word(slot.y_mm)
    return [
        f"(slot {slot.number}: depth {slot.depth_mm:.3f} mm, feed {slot.feed_mm_min:.0f}, chip {slot.chip_mm:.4f} mm)",
        f"G0 X{_word(slot.x_mm)} Y{y}",
        f"G0 Z{_word(top + 1.0)}",
        f"G1 Z{_word(top)} F{min(ramp_feed, z_top):.0f}",
        f"G1 X{_word(out)} Y{y} Z{_word(top - slot.depth_mm / 2)} F{ramp_feed:.0f}",
        f"G1 X{_word(slot.x_mm)} Y{y} Z{_word(top - slot.depth_mm)}",
        f"G1 X{_word(slot.x_mm + slot.length_mm)} Y{y} F{slot.feed_mm_min:.0f}",
        f"G0 Z{_word(travel)}",
    ]


def _word(value: float) -> str:
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _plain(text: str) -> str:
    """Text that may stand in a comment: ASCII without brackets."""
    return text.encode("ascii", "replace").decode("ascii").replace("(", "").replace(")", "")


def strip_job(strip: Strip, thickness_mm: float) -> Job:
    """A job for a strip on scrap, for ``millcalc check``.

    Parameters
    ----------
    strip : Strip
        The strip.
    thickness_mm : float
        Thickness of the scrap [mm].

    Returns
    -------
    Job
        What is known; screws, position and controller stay unknown.

    Raises
    ------
    InputError
        If the scrap is thinner than the deepest slot.
    """
    deepest = max(slot.depth_mm for slot in strip.slots)
    if not thickness_mm > deepest + 0.5:
        raise InputError(
            f"{thickness_mm:g} mm",
            f"more than {deepest + 0.5:g} mm",
            "use thicker scrap",
            field="--thickness",
        )
    tooling = strip.tooling
    return Job(
        title="test strip on scrap",
        machine=tooling.machine.name,
        material=tooling.material.name,
        stock=Stock(
            size_x_mm=round(strip.size_mm[0] + 0.5),
            size_y_mm=round(strip.size_mm[1] + 0.5),
            thickness_mm=thickness_mm,
        ),
        zero=Zero(xy="front-left", z="stock top", work_offset="G54"),
        bed=Bed(drop_mm=tooling.drop_mm),
        cutters={strip.tool: JobCutter(cutter=tooling.cutter.name, stickout_mm=tooling.stickout_mm)},
        spindle=SpindleSetting(set_by="dial" if tooling.uses_dial else "program"),
    )


def card_text(strip: Strip, units: System = "mm") -> str:
    """A card to print and tick beside the machine.

    Parameters
    ----------
    strip : Strip
        The strip.
    units : str
        ``mm`` or ``in``.

    Returns
    -------
    str
        Plain text.
    """
    tooling = strip.tooling
    mark = dial_mark(tooling, strip.speed_rpm)
    lines = [
        f"TEST STRIP ({strip.ladder} rises; slot 1 is the shortest)",
        f"{tooling.cutter.title} in {tooling.material.title}, {tooling.machine.title}",
        f"stickout {show_length(tooling.stickout_mm, units)}, spindle {show_speed(strip.speed_rpm)}"
        + (f", dial at {mark}" if mark else ""),
        f"scrap at least {show_length(strip.size_mm[0], units)} x {show_length(strip.size_mm[1], units)}, screwed "
        "down, Z0 on its top. Glasses, ears, hand on the stop.",
        "Stop at the first slot that sounds wrong: the later ones are harder.",
        "",
        "slot  depth      feed           chip load          sound     chips     wall      edge burr  bit warm",
        "                                                   even/tone curl/dust clean/marks yes/no   yes/no",
    ]
    for slot in strip.slots:
        lines.append(
            f"{slot.number:>3}   {show_depth(slot.depth_mm, units):<9}  {show_feed(slot.feed_mm_min, units):<13}  "
            f"{show_chip_load(slot.chip_mm, units):<17}  [ ] [ ]   [ ] [ ]   [ ] [ ]   [ ] [ ]    [ ] [ ]"
        )
    lines += [
        "",
        "date ____________  cutter new / used ______ min   cooling ____________  best slot ____",
        "The best slot is the last good one: use its settings less a fifth, and log it: millcalc log add.",
        "No slot good? millcalc adjust tells what to change.",
    ]
    return "\n".join(lines) + "\n"
