"""Shares of the whole computed limits, which the log learns from."""

from __future__ import annotations

from dataclasses import replace

from millcalc.advise.result import Advice
from millcalc.advise.solve import Point, shares
from millcalc.limits.tooling import Margins


def bare_shares(advice: Advice) -> dict[str, float]:
    """Shares of the whole computed limits: without learned margins, without the lower ends that a first cut keeps to.

    advice: The answer.
    Returns: By key of the limit [-]; empty for drilling and plunging.
    """
    request, settings = advice.request, advice.settings
    if request.cut in ("drill", "plunge"):
        return {}
    point = Point(
        settings.speed_rpm,
        settings.feed_per_tooth_mm,
        settings.axial_depth_mm,
        settings.radial_width_mm,
        0.0,
    )
    plain, whole = advice.tooling.with_changes(margins=Margins()), replace(request, proven=True)
    return {limit.key: limit.share for limit in shares(plain, whole, point)}
