"""What was changed in a copy, in sentences that every face shows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from millcalc.units_show import MM_PER_INCH, System, show_length

if TYPE_CHECKING:
    from millcalc.rewrite.corrected import Change
    from millcalc.rewrite.lift import Lifted
    from millcalc.rewrite.restart import Reentry


def change_words(change: Change) -> tuple[str, str]:
    """One changed word: what stood and stands there, and its unit.

    change: The change.
    Returns: Like ``F40 → F380``, and ``mm/min``.
    """
    unit = ("in/min" if change.inch else "mm/min") if change.letter == "F" else "rev/min"
    if change.old is not None:
        return f"{change.letter}{change.old:g} → {change.letter}{change.new:g}", unit
    if change.in_force == change.new:
        return f"{change.letter}{change.new:g} put in, as it was", unit
    if change.in_force == change.in_force:
        return f"{change.letter}{change.in_force:g} in force → {change.letter}{change.new:g} put in", unit
    return f"no {change.letter} → {change.letter}{change.new:g} put in", unit


def lift_lines(lifted: Lifted, units: System) -> list[str]:
    """What was done to raise a program, and where it goes now.

    Returns: Sentences.
    """

    def mm(value: float) -> str:
        return show_length(value, units)

    heights = lifted.heights
    lowest = f"lowest point Z {mm(heights.lowest_mm)}"
    if heights.obstacle_mm is not None:
        gap = heights.lowest_mm - heights.obstacle_mm
        lowest += f", {mm(gap)} above {heights.obstacle} (Z {mm(heights.obstacle_mm)})"
    highest = f"highest point Z {mm(heights.highest_mm)}"
    if heights.ceiling_mm is not None:
        highest += f", {mm(heights.ceiling_mm - heights.highest_mm)} below the end of the Z axis"
    else:
        highest += ": the axis must have room up to there"
    return [
        f"{len(lifted.edits)} words changed in {len({e.line for e in lifted.edits})} lines; the rest is the same, "
        "byte for byte",
        f"read again and compared motion by motion: {lifted.motions} motions, the same X and Y, "
        f"every move at feed {mm(lifted.height_mm)} higher",
        lowest,
        highest,
        *lifted.notes,
    ]


def way_in(made: Reentry, units: System = "mm") -> str:
    """How a program that goes on comes back into the work.

    made: The program.
    units: ``mm`` or ``in``.
    Returns: A sentence.
    """
    x, y = (f"{at:.3f}" if units == "mm" else f"{at / MM_PER_INCH:.4f} in" for at in made.place_mm)
    if made.way == "ramp":
        return (
            f"Goes down at X {x}, Y {y}, over a part of the path that is open already, and down a ramp of "
            f"{made.ramp_deg:.1f} degrees over {show_length(made.ramp_mm, units)} to where line {made.begins.line} "
            "begins."
        )
    return (
        f"Begins at travel height above X {x}, Y {y} and goes in as the program does; what was cut there "
        "already is cut again, in the air."
    )


def reentry_lines(made: Reentry, line: int, units: System = "mm") -> list[str]:
    """What a program that goes on does, and what was looked at.

    made: The program.
    line: Line that was being carried out at the stop.
    units: ``mm`` or ``in``.
    Returns: Sentences.
    """
    looked = (
        f"Checked in the stock as it is when everything before line {line} is cut: no stop and no warning in "
        "what was checked."
        if made.simulated
        else "Only the text was checked: without a job that gives stock and cutters, nobody has looked whether the "
        "way down is free."
    )
    return [
        way_in(made, units),
        f"{made.added} lines in front, then the old program from line {made.begins.line} on, byte for byte; its "
        "motions were compared one by one.",
        looked,
    ]


BEFORE_THE_CUT = (
    "Run millcalc check on the copy: it also lists what no check sees.",
    "Overrides at 100 %: the feeds in the copy are meant as they stand.",
    "First cut on scrap, with a hand on the stop.",
)
BEFORE_THE_LIFT = (
    "Zero set as for the real run; the cutter may stay out of the collet.",
    "Hand on the stop for the whole run; watch screws, clamps, hose and the ends of the axes.",
    "Heights after G28, G30 and G53 are the machine's own and were left as they are.",
    "Take the other file for the cut: compare its name and fingerprint.",
)
BEFORE_GOING_ON = (
    "Why did it stop? Do not go on before that is found and mended.",
    "Home the machine and set zero again: after a stop it may stand elsewhere than it believes. Check at a "
    "hole or an edge that is already cut.",
    "Look at the cutter: chipped, bent or full of chips? A new one needs its Z touched off again.",
    "Has the work moved? Screws and clamps tight, nothing loose in the cut.",
    "Chips out of the slot, above all where the cutter goes down.",
    "Run the first minute with a hand on the stop and the feed override low.",
)
