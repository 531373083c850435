"""A proof strip for a person: the card to take along."""

from __future__ import annotations

import math

from millcalc.advise.proof import Strip
from millcalc.units_show import System, show_chip_load, show_feed, show_length, show_speed


def card_text(strip: Strip, units: System = "mm") -> str:
    """A card to print and tick beside the machine, at most 80 columns wide.

    strip: The strip.
    units: ``mm`` or ``in``.
    Returns: Plain text.
    """
    tooling = strip.tooling
    mark = strip.dial_mark
    spindle = show_speed(strip.speed_rpm) + (f", dial at {mark}" if mark else "")
    size = " x ".join(show_length(math.ceil(side), units) for side in strip.size_mm)
    lines = [
        f"PROOF STRIP: the {strip.ladder} rises from step to step",
        f"{tooling.cutter.title} in {tooling.material.title}",
        f"on {tooling.machine.title}",
        f"stickout {show_length(tooling.stickout_mm, units)}, spindle {spindle}",
        f"Scrap of at least {size}, screwed down, Z0 on its top.",
        "Beside each slot stand as many marks as its number; the longest is the last.",
        "Glasses, ears, hand on the stop. Stop at the first step that sounds wrong:",
        "the later ones are harder.",
        "",
        "step  depth       feed            chip load        sound  chips  wall   warm",
        "                                                   ok bad ok bad ok bad ok bad",
    ]
    for step in strip.steps:
        lines.append(
            f"{step.number:>3}   {show_length(step.depth_mm, units):<10}  "
            f"{show_feed(step.feed_mm_min, units):<14}  {show_chip_load(step.chip_mm, units):<15}  "
            "[][]   [][]   [][]   [][]"
        )
    lines += [
        "",
        "date ________  cutter new / used ____ min  cooling ________",
        "best step ____  first that failed ____  of what ________________",
        "Then: millcalc proof --result BEST --failed FIRST",
        "No step good? millcalc adjust tells what to change.",
    ]
    return "\n".join(lines) + "\n"
