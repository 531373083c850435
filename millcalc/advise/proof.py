"""A short program for scrap: slots of rising depth, or of rising chip load, every one inside the hard limits."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from millcalc.advise import tuning
from millcalc.advise.advice import advise
from millcalc.advise.grid import speeds_to_try_rpm
from millcalc.advise.proof_program import Ladder, Setting, Step, mark_depth_mm, program_text, ramp_way_mm
from millcalc.advise.result import Advice
from millcalc.advise.solve import dial_mark
from millcalc.errors import InputError
from millcalc.job.models import Bed, Job, JobCutter, SpindleSetting, Stock, Zero
from millcalc.job.setup import Setup
from millcalc.limits.judge import deepest_mm
from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import Margins, Tooling
from millcalc.units_show import System, depth_to_set_mm, feed_to_set_mm_min


@dataclass(frozen=True)
class Strip:
    """A proof strip.

    ladder: ``depth`` or ``chip``: what rises.
    tooling: What cuts what.
    tool: Tool number [-].
    speed_rpm: Spindle speed [rev/min].
    steps: The first is the gentlest and the shortest.
    size_mm: Room it needs along X and Y, borders included [mm].
    first_cut: What is advised before anything is proven.
    program: The program.
    """

    ladder: Ladder
    tooling: Tooling
    tool: int
    speed_rpm: float
    steps: tuple[Step, ...]
    size_mm: tuple[float, float]
    first_cut: Advice
    program: str

    @property
    def dial_mark(self) -> str | None:
        """Step of the spindle's dial for the speed; None without a dial."""
        return dial_mark(self.tooling, self.speed_rpm)


def make_strip(
    tooling: Tooling,
    ladder: Ladder = "depth",
    setup: Setup | None = None,
    tool: int = 1,
    units: System = "mm",
    *,
    speed_rpm: float | None = None,
    feed_mm_min: float | None = None,
    held_mm: float = np.inf,
) -> Strip:
    """Write a proof strip.

    tooling: What cuts what.
    ladder: ``depth``: rising depths at one chip load; ``chip``: rising chip loads at one depth.
    setup: Job whose stock, zero, screws and controller are respected; None takes scrap with X0 Y0 at its
      front left corner and Z0 on top.
    tool: Tool number [-].
    units: Units to round in; the program itself is in millimetres.
    speed_rpm: Spindle speed to prove; None takes the advised one [rev/min].
    feed_mm_min: Feed to prove depths at; None takes the advised one [mm/min].
    held_mm: Greatest depth that what holds the scrap bears; infinity where it is not known to be too little
      [mm].
    Returns: Program and steps.
    Raises InputError: If the cutter cannot cut a slot here, or the stock is too small or too thin.

    Note: Depths go up to ``tuning.STRIP_DEEPEST`` of the depth at which every limit holds in full, or to
      the advised depth where that lies higher, so a strip finds out how much of the first cut's reserve can
      be given back; it does not go beyond the limits. What the log has taught may lower a limit here, never
      raise it.
    """
    _refuse_asked(tooling, ladder, feed_mm_min)
    tooling = replace(tooling, margins=_cautious(tooling.margins))
    advised = _advised(tooling, CutRequest("slot", speed_rpm=speed_rpm, feed_mm_min=feed_mm_min), units)
    speed = advised.settings.speed_rpm
    if ladder == "chip" and speed_rpm is None:
        speed = _slow_enough(tooling, speed)
    rates = _rates(tooling, ladder, speed, advised.settings.feed_mm_min, units)
    deepest = min(deepest_mm(tooling, speed, feed) for feed in rates)
    depths = _depths_of(ladder, deepest, advised.settings.axial_depth_mm, held_mm, len(rates), units)
    rates = rates[:1] * len(depths) if ladder == "depth" else rates
    left, front, top, travel = _place(setup)
    steps = _steps(tooling, speed, depths, rates, (left, front))
    around = tooling.cutter.diameter_mm / 2 + 2 * tuning.STRIP_BORDER_MM
    last = steps[-1]
    size = (last.x_mm + last.length_mm - left + around, last.y_mm - front + around)
    _check_room(setup, size, max(depths))
    setting = Setting(
        ladder,
        tool,
        speed,
        top,
        travel,
        mark_depth_mm(tooling, min(depths)),
        (setup.job.zero.work_offset if setup is not None else None) or "G54",
        setup is not None and setup.job.controller.dwell_unit == "ms",
    )
    text = program_text(tooling, setting, steps)
    return Strip(ladder, tooling, tool, speed, steps, size, advised, text)


def _cautious(margins: Margins) -> Margins:
    """What the log has taught, only where it makes a limit smaller."""
    kinds = ("deflection", "power", "thrust", "chatter", "chip_high")
    lowered = {kind: min(getattr(margins, kind), 1.0) for kind in kinds}
    return replace(margins, **lowered, chip_low=max(margins.chip_low, 1.0))


def _steps(
    tooling: Tooling, speed: float, depths: list[float], rates: list[float], corner: tuple[float, float]
) -> tuple[Step, ...]:
    """Place the slots one behind the other, each with its marks to the left."""
    width, flutes = tooling.cutter.diameter_mm, tooling.cutter.flutes
    pitch = width + tuning.STRIP_MARK_GAP_MM
    first = corner[0] + width / 2 + (len(depths) - 1) * pitch
    slot_x = first + width + tuning.STRIP_WALL_MM
    return tuple(
        Step(
            number,
            ramp_way_mm(tooling, depth) + tuning.STRIP_LENGTH_MM + tuning.STRIP_LONGER_MM * (number - 1),
            depth,
            feed,
            feed / (speed * flutes),
            slot_x,
            corner[1] + width / 2 + (number - 1) * (width + tuning.STRIP_WALL_MM),
            tuple(first - pitch * count for count in range(number)),
        )
        for number, (depth, feed) in enumerate(zip(depths, rates, strict=True), start=1)
    )


def _refuse_asked(tooling: Tooling, ladder: Ladder, feed_mm_min: float | None) -> None:
    """Refuse what no strip can be made for."""
    if "drill" in tooling.cutter.kind:
        raise InputError(
            tooling.cutter.title, "a milling cutter", "a drill has no slots to cut", field="cutter"
        )
    if ladder == "chip" and feed_mm_min is not None:
        raise InputError(
            "a feed", "--rpm only: the feed is what rises", "leave --feed out, or use --ladder depth"
        )


def _advised(tooling: Tooling, asked: CutRequest, units: System) -> Advice:
    """What is advised before anything is proven; refused where no slot holds every limit."""
    advised = advise(tooling, asked, units=units, buys=False)
    if not advised.fits and not advise(tooling, replace(asked, proven=True), units=units, buys=False).fits:
        raise InputError(
            f"no slot that holds every limit ({advised.limits[0].title})", "a cut that fits", advised.notes[0]
        )
    return advised


def _depths_of(
    ladder: Ladder, deepest_mm: float, advised_mm: float, held_mm: float, rates: int, units: System
) -> list[float]:
    """Depth of each step: rising to the deepest, or one depth for all [mm]."""
    advised_mm = min(deepest_mm, advised_mm)
    if ladder == "depth":
        most = min(tuning.STRIP_DEEPEST * deepest_mm, tuning.STRIP_BEYOND * advised_mm)
        return _depths(min(max(most, advised_mm), held_mm))
    half = min(tuning.STRIP_CHIP_DEPTH * advised_mm, held_mm)
    return [depth_to_set_mm(half, units) or half] * rates


def step_advice(strip: Strip, step: Step) -> Advice:
    """What the mechanics say of one step, without anything learned and with every limit in full.

    strip: The strip.
    step: One of its steps.
    Returns: Shares of every limit and the predicted force, power and bending.
    """
    request = CutRequest(
        "slot",
        axial_depth_mm=step.depth_mm,
        feed_mm_min=step.feed_mm_min,
        speed_rpm=strip.speed_rpm,
        segment_mm=step.length_mm,
        proven=True,
    )
    return advise(strip.tooling.with_changes(margins=Margins()), request, buys=False)


def _depths(deepest_mm: float) -> list[float]:
    """Steps of one height down to a depth, rounded down to fine ones."""
    most, least = tuning.STRIP_SLOTS
    count = int(np.clip(deepest_mm // tuning.STRIP_STEP_MM, least, most))
    step = deepest_mm / count
    fine = np.floor(step / tuning.STRIP_ROUND_MM + 1e-9) * tuning.STRIP_ROUND_MM
    return [round(float(fine or step) * number, 6) for number in range(1, count + 1)]


def _fastest_mm_min(tooling: Tooling) -> float:
    """Feed that the axes have and reach within half of the shortest slot [mm/min]."""
    axes = tooling.machine.max_feed_mm_min
    reach = 60.0 * float(np.sqrt(tooling.machine.acceleration_mm_s2.x * tuning.STRIP_LENGTH_MM / 2))
    return min(axes.x, axes.y, reach)


def _least_chip_mm(tooling: Tooling) -> float:
    return max(tooling.chip_band_mm("slot")[0], tooling.thin_chip_mm)


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
    ladder_of = np.geomspace(min(low, top), top, tuning.STRIP_SLOTS[0])
    rates = {feed_to_set_mm_min(float(rate), units) for rate in ladder_of}
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


def strip_job(strip: Strip, thickness_mm: float) -> Job:
    """A job for a strip on scrap, for ``millcalc check``.

    strip: The strip.
    thickness_mm: Thickness of the scrap [mm].
    Returns: What is known; screws, position and controller stay unknown.
    Raises InputError: If the scrap is thinner than the deepest slot.
    """
    deepest = max(step.depth_mm for step in strip.steps)
    if not thickness_mm > deepest + 0.5:
        raise InputError(
            f"{thickness_mm:g} mm",
            f"more than {deepest + 0.5:g} mm",
            "use thicker scrap",
            field="--thickness",
        )
    tooling = strip.tooling
    return Job(
        title="proof strip on scrap",
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
