"""What the log of cuts adds to an advice: learned margins and the past cuts most like it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from millcalc.cli.say import say

if TYPE_CHECKING:
    from millcalc.advise.result import Advice
    from millcalc.limits.tooling import Tooling
    from millcalc.units_show import System

_SHOWN = 3


def with_learned(tooling: Tooling) -> Tooling:
    """The same with the margins that the log has taught about this machine; unchanged without a log.

    tooling: What cuts what.
    Returns: With margins and a sentence about them.
    """
    from pathlib import Path

    from millcalc.cutlog.where import log_path

    path = log_path(None, Path.cwd())
    if not path.is_file():
        return tooling
    from millcalc.cutlog.margins import learned_margins
    from millcalc.errors import LogError
    from millcalc.limits.tooling import Margins

    try:
        found = learned_margins(tooling.machine.name, material=tooling.material.name, log=path)
    except LogError as error:
        say(f"the log was left out: {error}", err=True)
        return tooling
    if not found.changed:
        return tooling
    kinds = ("deflection", "power", "thrust", "chatter", "chip_high")
    told = "learned from the log (--no-learn leaves it out): " + "; ".join(one.text for one in found.changed)
    factors = {kind: found.advised(kind) for kind in kinds}
    # the smallest chip is a limit from below: a larger share of it means a thinner chip still cuts
    return tooling.with_changes(
        margins=Margins(**factors, chip_low=1.0 / found.advised("chip_low"), text=told)
    )


def similar_lines(advice: Advice, units: System) -> tuple[str, ...]:
    """The past cuts most like an advised one, one sentence each.

    advice: The answer.
    units: ``mm`` or ``in``.
    Returns: At most three and close failures; empty without a log or without a cut like it.
    """
    from pathlib import Path

    from millcalc.cutlog.where import log_path

    path = log_path(None, Path.cwd())
    if not path.is_file():
        return ()
    from millcalc.cutlog.similar import PlannedCut, similar_cuts
    from millcalc.cutlog.store import Log
    from millcalc.errors import LogError
    from millcalc.report.log_text import similar_line

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
