"""Feed of twist drills, against what a drill of their size takes a turn."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from millcalc.findings import Finding, NotChecked, Severity
from millcalc.limits.hole import drill_feeds_mm
from millcalc.limits.plunge import pushed_mm_min
from millcalc.preflight import tuning
from millcalc.preflight.context import Context
from millcalc.preflight.distinct import distinct_values
from millcalc.preflight.limits import limited, tooling
from millcalc.preflight.registry import rule
from millcalc.tables.drilling import drilling_of
from millcalc.tables.models import Material


@rule("FEED-11", Severity.STOP, "feed of a drill", needs=("material", "cutters", "motions"),
      what="feed a turn of drills")  # fmt: skip
def _drill_feed(ctx: Context, material: Material) -> Iterator[Finding | NotChecked]:
    """A twist drill is fed faster than it clears, or so slowly that it rubs.

    Flags: straight ways down of a twist drill whose feed a turn is above the band for its diameter (a stop at twice
      that), or under half of what its lower end and the push of Z allow.
    Why: too fast it packs and snaps; too slow its edges polish the bottom of the hole: heat, melted plastic, burnt
      wood, a hard skin in metal, a dull drill.
    Wrong: a 3 mm drill at 6500 rev/min and ``F40`` in aluminium: 0.006 mm a turn.
    Right: ``F400``: 0.06 mm a turn.
    Limits of the rule: deep holes take less than the band, down to the half that is left here; the point counts as
      sharp.
    Source: the drilling table of the material.
    """
    facts = ctx.facts
    for tool, rows, fitted, bound in limited(ctx, facts.cutting & facts.straight_down):
        if fitted.cutter.kind != "twist drill":
            continue
        known = rows[(facts.rpm[rows] > 0) & (facts.feed_mm_min[rows] > 0)]
        if len(known) < len(rows):
            yield NotChecked(
                "FEED-11", f"feed of T{tool}", "speed or feed is unknown or zero", ("spindle.rpm",)
            )
        low, begin, high = drill_feeds_mm(material, fitted.cutter, bound.min_chip_mm)
        turn = facts.feed_mm_min[known] / facts.rpm[known]
        pushed = _pushed_mm(ctx, tool, begin, facts.rpm[known])
        least = tuning.DRILL_RUBS_SHARE * np.minimum(low, pushed)
        top = np.full(len(known), high)
        for bad, limits_mm, words, aims_mm in (
            (turn > high * 1.05, top, "takes at most", top),
            (turn < least, least, "rubs below", np.minimum(begin, pushed)),
        ):
            if not bad.any():
                continue
            beyond = np.flatnonzero(bad)
            at = int(beyond[np.argmax(np.abs(np.log(turn / limits_mm))[bad])])
            worst, value, limit, go = (
                int(known[at]),
                float(turn[at]),
                float(limits_mm[at]),
                float(aims_mm[at]),
            )
            yield ctx.say.finding(
                "FEED-11",
                Severity.STOP if value > 2 * high else Severity.WARNING,
                f"T{tool} drills at F {ctx.say.feed(facts.feed_mm_min[worst])}, "
                f"{ctx.say.chip(value)} a turn; a drill of {ctx.say.mm(fitted.cutter.diameter_mm)} {words} "
                f"{ctx.say.chip(limit)} here",
                rows=known[bad],
                worst=worst,
                word="F",
                compared=(value, limit, "mm"),
                source=drilling_of(material).feed_per_diameter.source,
                action=f"F {ctx.edit.feed_to_set(go * facts.rpm[worst])} at this speed, {ctx.edit.chip(go)} a turn",
            )


def _pushed_mm(ctx: Context, tool: int, most_mm: float, rpm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Feed a turn that Z still pushes at each speed, no more than some [mm]."""
    found = tooling(ctx, tool)
    if isinstance(found, str):
        return np.full(len(rpm), most_mm)
    speeds, back = distinct_values(rpm)
    held = [pushed_mm_min(found, float(n), most_mm * float(n), proven=False) / float(n) for n in speeds]
    return np.asarray(held)[back]
