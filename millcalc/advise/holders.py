"""Which limit holds back each number: the one that is overrun first when that number alone is raised."""

from __future__ import annotations

from dataclasses import replace

from millcalc.advise.result import LimitShare
from millcalc.advise.solve import Point, shares
from millcalc.limits.request import CutRequest
from millcalc.limits.table import keys_holding
from millcalc.limits.tooling import Tooling

_FULL = (
    0.93  # use from which on a limit of the number's own kind is what holds it; rounding takes the rest [-]
)
_RAISED = 1.25  # feed or speed raised to see which limit is overrun first [-]


def holders(
    tooling: Tooling, request: CutRequest, point: Point, limits: tuple[LimitShare, ...]
) -> dict[str, str]:
    """Which limit holds back depth, feed and speed.

    tooling, request: What is cut with what, and how.
    point: The setting.
    limits: Every limit there, largest use first.
    Returns: Limit key by ``depth``, ``feed``, ``speed``; a feed or speed that was given is held by no limit, and
      one that no limit would stop is left out.
    """
    held = {"depth": next(limit.key for limit in limits if limit.key in keys_holding("depth"))}
    raised = {
        "feed": replace(point, feed_per_tooth_mm=_RAISED * point.feed_per_tooth_mm),
        "speed": replace(point, speed_rpm=_RAISED * point.speed_rpm),
    }
    given = {"feed": request.feed_mm_min is not None, "speed": request.speed_rpm is not None}
    for what, more in raised.items():
        if given[what]:
            continue
        own = next(limit for limit in limits if limit.key in keys_holding(what))  # type: ignore[arg-type]
        if own.used >= _FULL:
            held[what] = own.key
            continue
        first = next(limit for limit in shares(tooling, request, more) if limit.binds)
        if first.used > 1.0:
            held[what] = first.key
    return held
