"""The answer of ``millcalc settings`` as plain data for ``--json``."""

from __future__ import annotations

from dataclasses import asdict, replace
from typing import Any

from millcalc.advise.result import Advice
from millcalc.advise.solve import Point, shares
from millcalc.check.cautions import caution_keys
from millcalc.limits.tooling import Margins

SCHEMA = "millcalc-settings/1"


def advice_data(advice: Advice) -> dict[str, Any]:
    """An advice as JSON-ready data; lengths in mm, feeds in mm/min, speeds in rev/min.

    advice: The answer.
    Returns: Only strings, numbers, booleans, lists and dicts.
    """
    tooling, request, settings = advice.tooling, advice.request, advice.settings
    bare: dict[str, float] = {}
    if request.cut not in ("drill", "plunge"):
        # the log learns from shares of the whole computed limits: neither learned margins nor the lower ends
        # that a first cut keeps to may count twice
        point = Point(
            settings.speed_rpm,
            settings.feed_per_tooth_mm,
            settings.axial_depth_mm,
            settings.radial_width_mm,
            0.0,
        )
        plain, whole = tooling.with_changes(margins=Margins()), replace(request, proven=True)
        bare = {limit.key: limit.share for limit in shares(plain, whole, point)}
    return {
        "schema": SCHEMA,
        "machine": tooling.machine.name,
        "material": tooling.material.name,
        "cutter": tooling.cutter.name,
        "stickout_mm": tooling.stickout_mm,
        "drop_mm": tooling.drop_mm,
        "request": asdict(request),
        "given": list(advice.given),
        "fits": advice.fits,
        "settings": asdict(advice.settings),
        "removal_cm3_min": advice.removal_cm3_min,
        "governing": advice.governing.key,
        "limits": [
            {**asdict(limit), "used": limit.used, "bare_share": bare.get(limit.key, limit.share)}
            for limit in advice.limits
        ],
        "chances": asdict(advice.chances) if advice.chances is not None else None,
        "ranges": [asdict(item) for item in advice.ranges],
        "compliance_um_n": dict(advice.compliance_um_n),
        "reasons": list(advice.reasons),
        "notes": list(advice.notes),
        "buys": [asdict(buy) for buy in advice.buys],
        "sources": [
            {"what": what, "source": source, "confidence": confidence}
            for what, source, confidence in advice.sources
        ],
        "cautions": list(caution_keys(tooling.material)),
    }
