"""The past cuts most like an advised one, for beside the advice."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from millcalc.cutlog.where import log_path
from millcalc.errors import LogError
from millcalc.report.log_text import similar_line

if TYPE_CHECKING:
    from millcalc.advise.result import Advice
    from millcalc.units_show import System

_SHOWN = 3


def similar_lines(advice: Advice, units: System, folder: Path) -> tuple[str, ...]:
    """The past cuts most like an advised one, one sentence each.

    advice: The answer.
    units: ``mm`` or ``in``.
    folder: Working folder, whose own log goes first.
    Returns: At most three and close failures; empty without a log or without a cut like it.
    """
    path = log_path(None, folder)
    if not path.is_file():
        return ()
    from millcalc.cutlog.similar import PlannedCut, similar_cuts
    from millcalc.cutlog.store import Log

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
            return tuple(similar_line(found, units) for found in similar_cuts(log, planned, _SHOWN))
    except LogError:
        return ()
