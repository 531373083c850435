"""The program of a proof strip: counted marks beside each step, and the steps, in plain RS-274 words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from millcalc.advise import tuning
from millcalc.advise.solve import dial_mark
from millcalc.limits.entries import ramp_angle_deg
from millcalc.limits.tooling import Tooling
from millcalc.limits.tuning import RAMP_FEED_SHARE
from millcalc.units_show import feed_to_set_mm_min

Ladder = Literal["depth", "chip"]


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a ladder: a slot with as many marks beside it as its number says.

    number: Its number, the gentlest is 1 [-].
    length_mm: Length of the slot between the cutter's centres at its ends [mm].
    depth_mm, feed_mm_min, chip_mm: Depth [mm], feed [mm/min] and chip load [mm].
    x_mm, y_mm: Centre of the cutter at the slot's left end [mm].
    marks_x_mm: X of its marks, one for each count [mm].
    """

    number: int
    length_mm: float
    depth_mm: float
    feed_mm_min: float
    chip_mm: float
    x_mm: float
    y_mm: float
    marks_x_mm: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Setting:
    """What all steps share.

    ladder: ``depth`` or ``chip``: what rises.
    tool: Tool number [-].
    speed_rpm: Spindle speed [rev/min].
    top_mm, travel_mm: Z of the stock's top and of travel [mm].
    mark_depth_mm: Depth of the marks [mm].
    work_offset: Word of the work offset.
    dwell_in_ms: Whether the controller's dwell counts milliseconds.
    """

    ladder: Ladder
    tool: int
    speed_rpm: float
    top_mm: float
    travel_mm: float
    mark_depth_mm: float
    work_offset: str = "G54"
    dwell_in_ms: bool = False


def ramp_way_mm(tooling: Tooling, depth_mm: float) -> float:
    """Way out of a ramp that goes out and back down to a depth.

    tooling: What cuts what.
    depth_mm: Depth to reach [mm].
    Returns: Way along the slot [mm].
    """
    return depth_mm / (2.0 * float(np.tan(np.radians(ramp_angle_deg(tooling)))))


def mark_depth_mm(tooling: Tooling, shallowest_mm: float) -> float:
    """Depth of the counted marks: shallow, within the limits of every step, and reached by a ramp.

    tooling: What cuts what.
    shallowest_mm: Depth of the shallowest step [mm].
    Returns: Depth [mm].
    """
    by_ramp = 2.0 * tuning.STRIP_MARK_LENGTH_MM * float(np.tan(np.radians(ramp_angle_deg(tooling))))
    return float(min(tuning.STRIP_MARK_DEPTH_MM, shallowest_mm, by_ramp))


def program_text(tooling: Tooling, setting: Setting, steps: tuple[Step, ...]) -> str:
    """The whole program, one motion a line.

    tooling: What cuts what.
    setting: What all steps share.
    steps: The steps, gentlest first.
    Returns: Text with a line feed after each line.
    """
    dwell = max(tooling.machine.spindle.spin_up_s, 1.0)
    mark = dial_mark(tooling, setting.speed_rpm)
    travel = word(setting.travel_mm)
    lines = [
        f"(proof strip: {setting.ladder} rises from step to step)",
        "(beside each slot as many marks as its number; the longest slot is the last)",
        f"(T{setting.tool}: {_plain(tooling.cutter.title)} in {_plain(tooling.material.title)})",
        "(on scrap only, glasses on, hand on the stop)",
        f"G21 G90 G17 G94 {setting.work_offset}",
        f"T{setting.tool} M6",
        f"G0 Z{travel}",
        *([f"(set the dial to {mark})"] if mark else []),
        f"S{setting.speed_rpm:.0f} M3",
        f"G4 P{dwell * 1000:.0f}" if setting.dwell_in_ms else f"G4 P{dwell:g}",
    ]
    for step in steps:
        lines.append(
            f"(step {step.number}: depth {step.depth_mm:.3f} mm, feed {step.feed_mm_min:.0f}, "
            f"chip {step.chip_mm:.4f} mm)"
        )
        for x_mm in step.marks_x_mm:
            lines += _mark_lines(tooling, setting, step, x_mm)
        lines += _slot_lines(tooling, setting, step)
    lines += ["(done)", f"G0 Z{travel}", "M5", "M30"]
    return "\n".join(lines) + "\n"


def _ramp_feed(tooling: Tooling, setting: Setting, step: Step) -> float:
    """A share of the slot's feed, but no thinner a chip than one that cuts."""
    share = feed_to_set_mm_min(step.feed_mm_min * RAMP_FEED_SHARE) or step.feed_mm_min / 2
    feed = max(share, min(step.feed_mm_min, _cutting_feed(tooling, setting)))
    sine = float(np.sin(np.radians(ramp_angle_deg(tooling))))
    return min(feed, tooling.machine.max_feed_mm_min.z / sine)


def _cutting_feed(tooling: Tooling, setting: Setting) -> float:
    """Feed at which the chip is thick enough to cut."""
    chip = tooling.thin_chip_mm
    return float(np.ceil(chip * setting.speed_rpm * tooling.cutter.flutes))


def _down_lines(tooling: Tooling, setting: Setting, step: Step, x_mm: float, y_mm: float) -> list[str]:
    """Over a place and down onto the stock's top, in the air and slower than anything that cuts."""
    feed = min(0.5 * _ramp_feed(tooling, setting, step), tooling.machine.max_feed_mm_min.z)
    return [
        f"G0 X{word(x_mm)} Y{word(y_mm)}",
        f"G0 Z{word(setting.top_mm + 1.0)}",
        f"G1 Z{word(setting.top_mm)} F{feed:.0f}",
    ]


def _mark_feed(tooling: Tooling, setting: Setting, step: Step) -> float:
    """Feed of a mark: the ramp's, or half of what the axis reaches on so short a way."""
    reached = 60.0 * float(np.sqrt(tooling.machine.acceleration_mm_s2.y * tuning.STRIP_MARK_LENGTH_MM))
    slow = max(feed_to_set_mm_min(tuning.STRIP_MARK_FEED_SHARE * reached), _cutting_feed(tooling, setting))
    return min(_ramp_feed(tooling, setting, step), slow)


def _mark_lines(tooling: Tooling, setting: Setting, step: Step, x_mm: float) -> list[str]:
    """A short tick across the row: ramp out and back, then once along its floor."""
    half = tuning.STRIP_MARK_LENGTH_MM / 2
    near, far = word(step.y_mm - half), word(step.y_mm + half)
    top, depth = setting.top_mm, setting.mark_depth_mm
    return [
        *_down_lines(tooling, setting, step, x_mm, step.y_mm - half),
        f"G1 Y{far} Z{word(top - depth / 2)} F{_mark_feed(tooling, setting, step):.0f}",
        f"G1 Y{near} Z{word(top - depth)}",
        f"G1 Y{far}",
        f"G0 Z{word(setting.travel_mm)}",
    ]


def _slot_lines(tooling: Tooling, setting: Setting, step: Step) -> list[str]:
    """Ramp out and back down to the depth, then along the whole slot at full depth."""
    out = step.x_mm + ramp_way_mm(tooling, step.depth_mm)
    y, top, feed = word(step.y_mm), setting.top_mm, _ramp_feed(tooling, setting, step)
    return [
        *_down_lines(tooling, setting, step, step.x_mm, step.y_mm),
        f"G1 X{word(out)} Y{y} Z{word(top - step.depth_mm / 2)} F{feed:.0f}",
        f"G1 X{word(step.x_mm)} Y{y} Z{word(top - step.depth_mm)}",
        f"G1 X{word(step.x_mm + step.length_mm)} Y{y} F{step.feed_mm_min:.0f}",
        f"G0 Z{word(setting.travel_mm)}",
    ]


def word(value_mm: float) -> str:
    """A coordinate as written in the program: three decimals at most.

    value_mm: Coordinate [mm].
    Returns: The number.

    >>> word(-0.0001), word(12.5)
    ('0', '12.5')
    """
    text = f"{value_mm:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _plain(text: str) -> str:
    """Text that may stand in a comment: ASCII without brackets."""
    return text.encode("ascii", "replace").decode("ascii").replace("(", "").replace(")", "")
