"""Inside corners: where the cutter is suddenly in the material over a much wider arc."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from millcalc.findings import Finding, Severity
from millcalc.preflight.context import Context
from millcalc.preflight.limits import limits
from millcalc.preflight.registry import rule
from millcalc.preflight.uses import OVER
from millcalc.preflight.wording import tool_name
from millcalc.stock.left import EngagementJump
from millcalc.stock.result import Removal


@rule("DEPTH-06", Severity.WARNING, "engagement jumps in corners", needs=("cutters", "removal", "motions"),
      what="engagement in inside corners")  # fmt: skip
def _corners(ctx: Context, removal: Removal) -> Iterator[Finding]:
    """The cutter is suddenly in the material over a much wider arc.

    Flags: places in sideways cuts where the engagement rises to more than 1.5 times what it was just before,
      by more than 40 degrees; slots and first contacts are left out.
    Why: chip volume and force jump in every inside corner; that is where cutters chirp, dig in and break.
    Wrong: a pocket with square inside corners, finished at full feed with 10 % width: 37 to 127 degrees.
    Right: rounded inside paths, or the corner taken at the feed this rule names, a share of the tool's highest one.
    Limits of the rule: as fine as the cells of the simulated cut.
    Source: cos(phi) = 1 - 2 ae / D; the thresholds are common practice, no source.
    """
    facts = ctx.facts
    jumps = [jump for jump in (*removal.jumps, *_peaks(ctx, removal)) if _sharp(ctx, jump)]
    for tool in sorted({int(facts.tool[jump.motion]) for jump in jumps}):
        mine = [jump for jump in jumps if int(facts.tool[jump.motion]) == tool]
        usual = _usual_feed_mm_min(ctx, tool)
        mine = [jump for jump in mine if not _slowed(ctx, jump, usual)]
        if not mine:
            continue
        worst = max(mine, key=lambda jump: jump.after_rad - jump.before_rad)
        yield ctx.say.finding(
            "DEPTH-06",
            Severity.WARNING,
            f"T{tool_name(tool)}: engagement jumps from {np.degrees(worst.before_rad):.0f} to "
            f"{np.degrees(worst.after_rad):.0f} degrees",
            rows=sorted({jump.motion for jump in mine}),
            worst=worst.motion,
            compared=(float(np.degrees(worst.after_rad)), float(np.degrees(1.5 * worst.before_rad)), "deg"),
            place=worst.place_mm,
            action=_corner_remedy(ctx, worst, usual),
        )


def _usual_feed_mm_min(ctx: Context, tool: int) -> float:
    """The tool's highest feed: slower corners do not lower what is asked of the others [mm/min]."""
    facts = ctx.facts
    same = facts.cutting & facts.milling & (facts.tool == tool)
    return float(np.nanmax(facts.feed_mm_min[same], initial=0.0))


def _corner_feed_mm_min(jump: EngagementJump, usual_mm_min: float) -> float:
    """Feed that keeps the chip volume in a corner [mm/min]."""
    return usual_mm_min * float((1 - np.cos(jump.before_rad)) / (1 - np.cos(jump.after_rad)))


def _slowed(ctx: Context, jump: EngagementJump, usual_mm_min: float) -> bool:
    """Whether the program takes a corner as slowly as this rule would ask."""
    return bool(ctx.facts.feed_mm_min[jump.motion] <= OVER * _corner_feed_mm_min(jump, usual_mm_min))


def _corner_remedy(ctx: Context, jump: EngagementJump, usual_mm_min: float) -> str:
    """Round the corner; or, where the chip there stays one that cuts, a feed for it and the one to restore."""
    facts, tool = ctx.facts, int(ctx.facts.tool[jump.motion])
    rounded = "round the inside corner of the path, or clear it first"
    feed, bound = _corner_feed_mm_min(jump, usual_mm_min), limits(ctx, tool)
    turns = float(facts.rpm[jump.motion] * facts.flutes[jump.motion])
    if bound is not None and not feed >= bound.min_chip_mm * turns:  # unknown speeds too
        return rounded
    was, near = ctx.edit.feed(facts.feed_mm_min[jump.motion]), ctx.say.mm(facts.diameter_mm[jump.motion])
    return (
        f"{rounded}; or end line {jump.line} {near} before the corner, go through it at "
        f"F {ctx.edit.feed_to_set(feed)}, and write F {was} again after it"
    )


def _peaks(ctx: Context, removal: Removal) -> list[EngagementJump]:
    """Motions whose greatest engagement stands out from their mean one, which the removed volume gives.

    The mean is too low where the depth varies, so passes over the wedge that a ramp has left are not taken.
    """
    facts = ctx.facts
    with np.errstate(divide="ignore", invalid="ignore"):
        width = removal.volume_mm3 / (removal.axial_depth_mm * facts.plan_mm)
        mean = np.arccos(1 - 2 * np.clip(width / facts.diameter_mm, 0.0, 1.0))
        high = removal.engagement_rad > 1.5 * mean
    # shorter motions than half a cutter have no steady part to compare with
    long = facts.plan_mm > facts.diameter_mm / 2
    rows = np.flatnonzero(facts.cutting & facts.sideways & long & high & ~facts.motions.is_arc)
    ramps = np.flatnonzero(facts.going_down & ~facts.straight_down)
    return [
        EngagementJump(
            row,
            int(facts.motions.line[row]),
            tuple(float(v) for v in removal.peak_place_mm[row]),  # type: ignore[arg-type]
            float(mean[row]),
            float(removal.engagement_rad[row]),
        )
        for row in rows.tolist()
        if not _over_ramp(ctx, row, ramps)
    ]


def _over_ramp(ctx: Context, row: int, ramps: NDArray[np.intp]) -> bool:
    """Whether a motion passes over one of the last ramps before it."""
    at = int(np.searchsorted(ramps, row))
    before = ramps[max(0, at - 40) : at]
    if not len(before):
        return False
    low, high = ctx.facts.bounds
    room = float(ctx.facts.diameter_mm[row])
    return bool(
        (
            (low[before, 0] < high[row, 0] + room)
            & (high[before, 0] > low[row, 0] - room)
            & (low[before, 1] < high[row, 1] + room)
            & (high[before, 1] > low[row, 1] - room)
        ).any()
    )


def _sharp(ctx: Context, jump: EngagementJump) -> bool:
    """Whether a jump is one of a side cut, and large."""
    before, after = jump.before_rad, jump.after_rad
    return bool(
        ctx.facts.sideways[jump.motion]
        and before > np.radians(15)
        and after > 1.5 * before
        and after > before + np.radians(40)
        and after < np.radians(175)
    )
