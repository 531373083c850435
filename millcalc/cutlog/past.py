"""The past cuts most like an advised one, from the log that counts in a folder."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from millcalc.cutlog.similar import Neighbour, PlannedCut, similar_cuts
from millcalc.cutlog.store import Log
from millcalc.cutlog.where import log_path
from millcalc.errors import LogError

if TYPE_CHECKING:
    from millcalc.advise.result import Advice


def past_cuts(advice: Advice, folder: Path, most: int = 3) -> list[Neighbour]:
    """The past cuts most like an advised one.

    advice: The answer.
    folder: Working folder, whose own log goes first.
    most: How many [-]; close failures come besides.
    Returns: The nearest first; empty without a log that can be read.
    """
    path = log_path(None, folder)
    if not path.is_file():
        return []
    tooling, settings = advice.tooling, advice.settings
    chip = next((limit.demand for limit in advice.limits if limit.key == "chip-load"), None)
    planned = PlannedCut(
        machine=tooling.machine.name,
        material=tooling.material.name,
        operation=advice.request.cut,
        diameter_mm=tooling.cutter.diameter_mm,
        flutes=tooling.cutter.flutes,
        kc11_n_mm2=tooling.material.kc11_n_mm2.value,
        stickout_mm=tooling.stickout_mm,
        axial_depth_mm=settings.axial_depth_mm,
        radial_width_mm=settings.radial_width_mm,
        chip_mm=chip,
    )
    try:
        with Log(path, create=False, readonly=True) as log:
            return list(similar_cuts(log, planned, most))
    except LogError:
        return []
