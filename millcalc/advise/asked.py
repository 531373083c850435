"""What is asked, looked at before anything is computed: numbers that cannot be are refused."""

from __future__ import annotations

import numpy as np

from millcalc.errors import InputError
from millcalc.limits.build import grips_flutes
from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import Tooling

_ABSURD_FEED = 20.0  # times the machine's top feed; more is a slip of the pen


def check_stickout(tooling: Tooling) -> None:
    """Refuse a stickout at which the collet would grip the flutes.

    tooling: What cuts what.
    Raises InputError: If the stickout is shorter than the flutes.
    """
    cutter = tooling.cutter
    if (
        grips_flutes(cutter, tooling.stickout_mm) and cutter.kind != "twist drill"
    ):  # the hole steadies a drill
        raise InputError(
            f"{tooling.stickout_mm:g} mm with flutes of {cutter.flute_length_mm:g} mm",
            f"at least the length of the flutes, {cutter.flute_length_mm:g} mm: a collet that grips flutes "
            "neither holds nor centres the cutter",
            "measure from the collet face to the tip; give your own cutter's flute length if it is shorter",
            field="stickout",
        )


def check_request(tooling: Tooling, request: CutRequest) -> None:
    """Refuse a request that cannot be.

    tooling: What cuts what.
    request: What is asked.
    Raises InputError: If a given number is impossible with this cutter or spindle.
    """
    cutter = tooling.cutter
    for name, value in (
        ("ap", request.axial_depth_mm),
        ("ae", request.radial_width_mm),
        ("feed", request.feed_mm_min),
        ("rpm", request.speed_rpm),
        ("segment", request.segment_mm),
        ("bore", request.bore_mm),
    ):
        if value is not None and not (np.isfinite(value) and value > 0):
            raise InputError(f"{value:g}", "a finite number greater than 0", field=name)
    if "drill" in cutter.kind and request.cut != "drill":
        raise InputError(
            f"{cutter.title} for a {request.cut} cut",
            "--cut drill: a drill only goes straight down, sideways it snaps",
            "ask for --cut drill, or choose an end mill",
            field="cut",
        )
    top_feed = max(tooling.machine.max_feed_mm_min.x, tooling.machine.max_feed_mm_min.y)
    if request.feed_mm_min is not None and request.feed_mm_min > _ABSURD_FEED * top_feed:
        raise InputError(
            f"{request.feed_mm_min:g} mm/min",
            f"a feed this machine could be asked for; its top feed is {top_feed:.0f} mm/min",
            "give the feed in mm/min, or with its unit",
            field="feed",
        )
    _check_cut(tooling, request)


def _check_cut(tooling: Tooling, request: CutRequest) -> None:
    """Refuse a width, depth, speed, stickout or bore that this cutter and spindle cannot have."""
    cutter, spindle = tooling.cutter, tooling.machine.spindle
    width, depth, speed = request.radial_width_mm, request.axial_depth_mm, request.speed_rpm
    if width is not None and width > cutter.diameter_mm * (1 + 1e-9):
        raise InputError(
            f"{width:g} mm",
            f"at most the cutter's diameter, {cutter.diameter_mm:g} mm",
            "give a smaller width, or a wider cutter",
            field="ae",
        )
    if depth is not None and depth >= tooling.stickout_mm:
        raise InputError(
            f"{depth:g} mm with {tooling.stickout_mm:g} mm stickout",
            f"less than the stickout, {tooling.stickout_mm:g} mm",
            "the collet nut would enter the stock: cut in more passes, or set a longer stickout",
            field="ap",
        )
    if speed is not None and not spindle.min_rpm * 0.999 <= speed <= spindle.max_rpm * 1.001:
        raise InputError(
            f"{speed:g} rev/min",
            f"{spindle.min_rpm:.0f} to {spindle.max_rpm:.0f} rev/min, what this spindle runs at",
            "give a speed in this range, or leave --rpm out",
            field="rpm",
        )
    check_stickout(tooling)
    if request.bore_mm is not None and request.bore_mm <= cutter.diameter_mm:
        raise InputError(
            f"{request.bore_mm:g} mm",
            f"more than the cutter's diameter, {cutter.diameter_mm:g} mm",
            "a helix needs a bore wider than the cutter; 1.2 to 1.8 diameters is usual",
            field="bore",
        )
