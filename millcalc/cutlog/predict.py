"""What the mechanics say of a cut whose numbers were typed by hand, so that its outcome teaches."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Final

from millcalc.cutlog.fill import from_settings
from millcalc.errors import InputError, TableError

if TYPE_CHECKING:
    from millcalc.limits.tooling import Tooling
    from millcalc.tables.models import Cutter

_OPTIONS: Final = {
    "machine": "--machine",
    "material": "--material",
    "cutter": "--cutter",
    "speed_rpm": "--rpm",
    "feed_mm_min": "--feed",
    "axial_depth_mm": "--ap",
}


def tooling_of(known: Mapping[str, Any], cutter: Cutter) -> Tooling:
    """Machine and material of an entry, with its cutter as it was clamped.

    known: The entry's fields.
    Raises KeyError, InputError, TableError: If one is not given, not in the tables, or does not go with the others.
    """
    from millcalc.limits.build import make_tooling
    from millcalc.tables import load_machine, load_material

    return make_tooling(
        load_machine(str(known["machine"])),
        load_material(str(known["material"])),
        cutter,
        stickout_mm=known.get("stickout_mm"),
        drop_mm=known.get("drop_mm"),
    )


def operation_of(known: Mapping[str, Any], diameter_mm: float) -> str:
    """Kind of cut of an entry: as stated, else a side cut where it was narrower than the cutter, else a slot.

    known: Fields of an entry.
    diameter_mm: Cutter diameter [mm].
    """
    stated, width = known.get("operation"), known.get("radial_width_mm")
    if stated is not None:
        return str(stated)
    return "side" if width is not None and width < 0.98 * diameter_mm else "slot"


def predicted(known: Mapping[str, Any]) -> tuple[dict[str, Any], str]:
    """Shares of the limits, force, power, bending and chip of a cut that was made, by the bare physics.

    known: Fields of an entry, numbers in mm, mm/min, rev/min.
    Returns: Fields to add, and why there are none: what is missing, or what cannot be; empty where all is well.
    """
    from millcalc.advise.advice import advise
    from millcalc.limits.request import CutRequest
    from millcalc.tables import load_cutter

    missing = [option for field, option in _OPTIONS.items() if known.get(field) is None]
    if missing:
        return {}, "it lacks " + ", ".join(missing)
    try:
        cutter = load_cutter(str(known["cutter"]))
        kind = operation_of(known, cutter.diameter_mm)
        if kind not in ("slot", "side", "face", "plunge", "drill"):
            return {}, f"a {kind} cut is not computed from its numbers"
        tooling = tooling_of(known, cutter)
        width = known.get("radial_width_mm") if kind in ("side", "face") else None
        if kind in ("side", "face") and width is None:
            return {}, "it lacks --ae"
        request = CutRequest(
            kind,  # type: ignore[arg-type]
            axial_depth_mm=known["axial_depth_mm"],
            radial_width_mm=width,
            feed_mm_min=known["feed_mm_min"],
            speed_rpm=known["speed_rpm"],
            proven=True,
        )
        answer = advise(tooling, request, buys=False)
    except (InputError, TableError) as error:
        return {}, str(error)
    data = {
        "limits": [{"key": limit.key, "share": limit.share} for limit in answer.limits],
        "ranges": [{"title": item.title, "nominal": item.nominal} for item in answer.ranges],
        "request": {"cut": kind},
        "stickout_mm": tooling.stickout_mm,
        "settings": {"radial_width_mm": answer.settings.radial_width_mm},
    }
    return from_settings(data), ""
