"""The answer of ``millcalc settings`` as plain data for ``--json``."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from millcalc.advise.result import Advice
from millcalc.check.cautions import caution_keys

SCHEMA = "millcalc-settings/1"


def advice_data(advice: Advice, bare: dict[str, float]) -> dict[str, Any]:
    """An advice as JSON-ready data; lengths in mm, feeds in mm/min, speeds in rev/min.

    advice: The answer.
    bare: Shares of the whole computed limits by key, as the log learns from them [-].
    Returns: Only strings, numbers, booleans, lists and dicts.
    """
    tooling, request = advice.tooling, advice.request
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
