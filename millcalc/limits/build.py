"""Machine, material and cutter put together, refusing what cannot be."""

from __future__ import annotations

from typing import Literal

from millcalc.errors import InputError
from millcalc.limits.entries import DRILLS
from millcalc.limits.tooling import Margins, Tooling
from millcalc.limits.tuning import POINTED_STICKOUT, SHORTEST_REACH_MM, STICKOUT_PAST_FLUTES_MM
from millcalc.tables.models import Cutter, Machine, Material


def default_stickout_mm(cutter: Cutter) -> float:
    """Stickout taken when none is given: flutes out of the collet, no more than needed.

    cutter: The cutter.
    Returns: Stickout [mm].
    """
    grip = min(2.0 * cutter.shank_mm, 0.4 * cutter.overall_mm)
    longest = cutter.overall_mm - grip
    least = POINTED_STICKOUT * cutter.shank_mm if cutter.kind in ("vee", "engraving") else 0.0
    return min(max(cutter.flute_length_mm + STICKOUT_PAST_FLUTES_MM, least), longest)


def grips_flutes(cutter: Cutter, stickout_mm: float) -> bool:
    """Whether a stickout puts flutes into the collet.

    cutter: The cutter.
    stickout_mm: From collet face to tip [mm].
    """
    return stickout_mm < cutter.flute_length_mm - 0.01


def make_tooling(
    machine: Machine,
    material: Material,
    cutter: Cutter,
    *,
    stickout_mm: float | None = None,
    drop_mm: float | None = None,
    roughing_mm: float | None = None,
    finishing_mm: float | None = None,
    margins: Margins | None = None,
    speed_set_by: Literal["program", "dial", "fixed"] | None = None,
) -> Tooling:
    """Put machine, material and cutter together and refuse what cannot be.

    machine: The machine.
    material: The work material.
    cutter: The cutter.
    stickout_mm: From collet face to tip; None takes flute length plus a little [mm].
    drop_mm: Drop; None takes the one the stiffness was stated at [mm].
    roughing_mm, finishing_mm: Deflection the person allows [mm].
    margins: What the log has taught.
    speed_set_by: ``program``, ``dial`` or ``fixed``; None takes the machine's.
    Returns: Ready for the limits.
    Raises InputError: If stickout or drop are impossible, the shank does not fit, or the cutter cannot run
      on this spindle.
    """
    stickout = default_stickout_mm(cutter) if stickout_mm is None else float(stickout_mm)
    drop = machine.drop_mm if drop_mm is None else float(drop_mm)
    _refuse_lengths(cutter, stickout, drop)
    if cutter.max_rpm.value < machine.spindle.min_rpm:
        raise InputError(
            f"{cutter.title}, allowed up to {cutter.max_rpm.value:.0f} rev/min",
            f"a cutter that may run at the spindle's lowest speed, {machine.spindle.min_rpm:.0f} rev/min",
            "do not fit this cutter in this spindle"
            + ("; use a drill press, or mill the hole on a helix" if cutter.kind in DRILLS else ""),
            field="cutter",
        )
    tooling = Tooling(
        machine,
        material,
        cutter,
        stickout,
        drop,
        roughing_mm,
        finishing_mm,
        margins or Margins(),
        speed_set_by,
    )
    if tooling.speed_band_m_min is None:
        raise InputError(
            f"{cutter.title} (HSS) in {material.title}",
            "a carbide cutter for this material",
            "choose a carbide cutter",
            field="cutter",
        )
    return tooling


def _refuse_lengths(cutter: Cutter, stickout_mm: float, drop_mm: float) -> None:
    least = f"{SHORTEST_REACH_MM:g} mm or more and less than"
    if not SHORTEST_REACH_MM <= stickout_mm < cutter.overall_mm:
        raise InputError(
            f"{stickout_mm:g} mm",
            f"{least} the overall length of {cutter.title}, {cutter.overall_mm:g} mm",
            "measure from the collet face to the tip",
            field="stickout",
        )
    if not SHORTEST_REACH_MM <= drop_mm < 2000:
        raise InputError(f"{drop_mm:g} mm", f"{least} 2000 mm", field="drop")
