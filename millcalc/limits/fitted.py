"""Tooling for a cutter fitted in a job."""

from __future__ import annotations

from millcalc.errors import InputError
from millcalc.job.setup import Setup
from millcalc.limits.build import make_tooling
from millcalc.limits.tooling import Margins, Tooling
from millcalc.tables.models import Cutter, Machine, Material


def tooling_for(
    setup: Setup,
    number: int | None = None,
    *,
    machine: Machine | None = None,
    material: Material | None = None,
    cutter: Cutter | None = None,
    stickout_mm: float | None = None,
    drop_mm: float | None = None,
    margins: Margins | None = None,
) -> Tooling:
    """Machine, material and a fitted cutter of a job put together; what is given goes first.

    setup: The job with its names looked up.
    number: Tool number; None takes the only or the lowest one [-].
    machine, material, cutter: Replace the job's.
    stickout_mm, drop_mm: Replace the job's [mm].
    margins: What the log has taught.
    Returns: Ready for the limits.
    Raises InputError: If machine, material or cutter are unknown, or the tool number is not in the job.
    """
    name = str(setup.path) if setup.path else None
    if cutter is None:
        if number is not None and number not in setup.cutters:
            known = ", ".join(f"T{n}" for n in sorted(setup.cutters)) or "none"
            raise InputError(f"T{number}", f"a tool number of the job: {known}", file=name, field="cutters")
        if not setup.cutters:
            raise InputError("no cutter", "cutters by tool number", file=name, field="cutters")
        fitted = setup.cutters[number if number is not None else min(setup.cutters)]
        cutter = fitted.cutter
        stickout_mm = stickout_mm if stickout_mm is not None else fitted.stickout_mm
    found_machine, found_material = machine or setup.machine, material or setup.material
    if found_machine is None:
        raise InputError("no machine", "the name of a machine table", file=name, field="machine")
    if found_material is None:
        raise InputError("no material", "the name of a material table", file=name, field="material")
    tolerance = setup.job.tolerance
    return make_tooling(
        found_machine,
        found_material,
        cutter,
        stickout_mm=stickout_mm,
        drop_mm=drop_mm if drop_mm is not None else setup.job.bed.drop_mm,
        roughing_mm=tolerance.roughing_mm,
        finishing_mm=tolerance.finishing_mm,
        margins=margins,
        speed_set_by=setup.job.spindle.set_by,
    )
