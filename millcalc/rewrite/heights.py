"""How high a program may rise, and what stands on the bed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from millcalc.gcode.motions import DWELL, FLAG_HOME, FLAG_MACHINE
from millcalc.gcode.program import Program
from millcalc.job.setup import Setup
from millcalc.preflight.geometry import motion_bounds_mm
from millcalc.rewrite import tuning


@dataclass(frozen=True)
class Heights:
    """The heights of a program and what limits them, part coordinates.

    lowest_mm, highest_mm: Lowest and highest known point of any motion that is not in machine coordinates;
      NaN without one [mm].
    obstacle_mm: Top of the highest thing on the bed that the job describes [mm].
    obstacle: What that is.
    ceiling_mm: Upper end of the Z axis [mm]; None when unknown.
    unknown: What was not looked at because the job does not say it.
    """

    lowest_mm: float
    highest_mm: float
    obstacle_mm: float | None
    obstacle: str
    ceiling_mm: float | None
    unknown: tuple[str, ...]

    @property
    def needed_mm(self) -> float:
        """By how much the program has to be raised to clear everything [mm]."""
        assert self.obstacle_mm is not None
        return self.obstacle_mm + tuning.LIFT_CLEARANCE_MM - self.lowest_mm


def heights(program: Program, setup: Setup | None) -> Heights:
    """Lowest and highest point of a program, and what it must stay between.

    program: The program.
    setup: The job.
    Returns: Unknown things are named.
    """
    table = program.motions
    own = (table.kind != DWELL) & ((table.flags & (FLAG_MACHINE | FLAG_HOME)) == 0)
    low, high = motion_bounds_mm(table)
    ends = np.concatenate([low[own, 2], high[own, 2], table.start_mm[own, 2], table.end_mm[own, 2]])
    ends = ends[np.isfinite(ends)]
    lowest, highest = (float(ends.min()), float(ends.max())) if len(ends) else (float("nan"), float("nan"))
    if setup is None:
        return Heights(lowest, highest, None, "", None, ("stock, screws and clamps", "the free height"))
    unknown: list[str] = []
    tops: list[tuple[float, str]] = []
    if setup.stock_top_mm is not None:
        tops.append((setup.stock_top_mm, "the stock top"))
    else:
        unknown.append("the stock top")
    if setup.screws is None:
        unknown.append("screws")
    if setup.clamps is None:
        unknown.append("clamps")
    if any("head_height" in name or "height" in name for name in setup.incomplete):
        unknown.append("heads and clamps whose height the job does not say")
    tops += [(screw.z_top_mm, screw.name) for screw in setup.screws or ()]
    tops += [(box.z_max, clamp.name or "a clamp") for clamp, box in setup.clamps or ()]
    known = setup.stock_top_mm is not None
    top, what = max(tops) if known else (None, "")
    place = setup.job.position.z_mm
    ceiling = None
    if place is None or setup.machine is None:
        unknown.append("the free height (position.z and the machine)")
    else:
        ceiling = setup.machine.travel_mm.z - place
    return Heights(lowest, highest, top, what, ceiling, tuple(unknown))
