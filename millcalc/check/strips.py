"""Values along the program, as strips: feed, chip, engagement, depth, force and power, with their limits."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from millcalc.check.timeline import Bands, Spans, Timeline
from millcalc.preflight.hold import screw_pulls
from millcalc.preflight.limits import SLOT_SHARE
from millcalc.preflight.uses import cut_uses

if TYPE_CHECKING:
    from millcalc.preflight.context import Context

Floats = NDArray[np.float64]
# strips that show what a finding, or its family, speaks of
SPEAKS_OF: dict[str, tuple[str, ...]] = {
    "FORCE-06": ("hold",),
    "FORCE-01": ("power",),
    "FORCE-02": ("force",),
    "FORCE-03": ("deflection",),
    "FORCE": ("depth", "deflection", "force"),
    "DEPTH-06": ("engagement",),
    "DEPTH": ("depth", "deflection"),
    "FEED": ("chip", "feed"),
    "SPIN-02": ("speed",),
    "SPIN-08": ("speed",),
    "PLUNGE": ("feed",),
    "TIME": ("feed",),
}
SPANS = 900  # spans along a strip: about the pixels of a wide screen


@dataclass(frozen=True)
class LimitLine:
    """A limit along a strip.

    title: What it is.
    values: In the strip's unit; NaN where there is none.
    smallest: Values should stay above it, not below.
    reference: Only to compare with: passing it is nothing wrong.
    """

    title: str
    values: Floats
    smallest: bool = False
    reference: bool = False


@dataclass(frozen=True)
class Strip:
    """One value along the program.

    key, title, unit: Short name, name for people, unit of every number in it.
    bands: Least and greatest in each span.
    limits: Limits that apply.
    basis: How the value was computed and what it leaves out, one sentence.
    over: Spans with a motion for which a limit does not hold.
    used: Greatest share of a greatest limit that is used [-]; None without such a limit.
    """

    key: str
    title: str
    unit: str
    bands: Bands
    limits: tuple[LimitLine, ...]
    basis: str
    over: NDArray[np.bool_]
    used: float | None = None

    @property
    def empty(self) -> bool:
        """Whether no span has a value."""
        return not np.isfinite(self.bands.high).any()

    @property
    def top(self) -> float:
        """Upper end of a scale from zero that shows every value and every limit that must not be passed."""
        peak = float(np.nanmax(self.bands.high)) if not self.empty else 0.0
        near = [
            float(np.nanmax(limit.values))
            for limit in self.limits
            if np.isfinite(limit.values).any()
            and (np.nanmax(limit.values) <= 3 * peak or not (limit.reference or limit.smallest))
        ]
        return 1.08 * max([peak, *near]) or 1.0


def make_strips(ctx: Context, timeline: Timeline, count: int = SPANS) -> tuple[Strip, ...]:
    """Values of a program along time.

    ctx: Program, set-up and simulated cut.
    timeline: The program along time.
    count: Spans along each strip [-].
    Returns: Only those that could be computed; feed first. Feeds in mm/min, chips and depths in mm, angles
      in degrees, forces in N, powers in W.
    """
    spans = Spans(timeline, count)
    strips = [_feed(ctx, spans), _chip(ctx, spans), _engagement(ctx, spans), _depth(ctx, spans)]
    strips += [*_loads(ctx, spans), _pull(ctx, spans), _speed(ctx, spans)]
    return tuple(strip for strip in strips if strip is not None and not strip.empty)


def in_order(strips: tuple[Strip, ...], codes: Iterable[str]) -> tuple[Strip, ...]:
    """Strips in the order of the findings that speak of them; the others after these.

    strips: The strips.
    codes: Codes of the findings, worst first.
    Returns: The same strips.
    """
    first: dict[str, int] = {}
    for place, code in enumerate(codes):
        for key in SPEAKS_OF.get(code, SPEAKS_OF.get(code.split("-")[0], ())):
            first.setdefault(key, place)
    return tuple(sorted(strips, key=lambda strip: first.get(strip.key, len(first) + 10_000)))


def _strip(
    spans: Spans, head: tuple[str, str, str], values: Floats, basis: str, limits: list[_Limit]
) -> Strip:
    """A strip of one value a motion, with limits of one value a motion."""
    bad = np.zeros(len(values))
    lines, used = [], [0.0]
    for limit in limits:
        bands = spans.bands(limit.values)
        at = bands.high if limit.smallest else bands.low
        lines.append(LimitLine(limit.title, at, limit.smallest, limit.reference))
        if not limit.reference:
            with np.errstate(invalid="ignore"):
                over = values < limit.values if limit.smallest else values > limit.values
                bad += over & (np.abs(values - limit.values) > 1e-6 * np.abs(limit.values))
        if not (limit.reference or limit.smallest):
            with np.errstate(invalid="ignore", divide="ignore"):
                shares = values / limit.values
            used.append(float(np.max(shares[np.isfinite(shares)], initial=0.0)))
    over_spans = np.nan_to_num(spans.bands(bad).high) > 0
    share = max(used) if len(used) > 1 else None
    return Strip(*head, spans.bands(values), tuple(lines), basis, over_spans, share)


@dataclass(frozen=True)
class _Limit:
    """A limit, one value a motion."""

    title: str
    values: Floats
    smallest: bool = False
    reference: bool = False


def _reached(ctx: Context) -> Floats:
    """Feed of each motion that moves at feed: the reached one where the machine is known [mm/min]."""
    facts = ctx.facts
    feed = facts.feed_mm_min if ctx.feeds is None else ctx.feeds.mean_quick_mm_min
    return np.where(facts.feed, feed, np.nan)


def _feed(ctx: Context, spans: Spans) -> Strip:
    facts = ctx.facts
    limits = []
    basis = "as programmed; what the machine reaches is unknown without a machine"
    if ctx.feeds is not None:
        basis = "mean over each motion, with acceleration, without stops at corners; rapids left out"
        limits = [
            _Limit("programmed", np.where(facts.feed, facts.feed_mm_min, np.nan), reference=True),
            _Limit("the axes' top", np.where(facts.feed, ctx.feeds.top_feed_mm_min, np.nan)),
        ]
    return _strip(spans, ("feed", "feed", "mm/min"), _reached(ctx), basis, limits)


def _chip(ctx: Context, spans: Spans) -> Strip | None:
    from millcalc.mechanics.chip import max_chip_mm
    from millcalc.preflight.limits import limits

    facts = ctx.facts
    with np.errstate(divide="ignore", invalid="ignore"):
        tooth = _reached(ctx) / (facts.rpm * facts.flutes)
    diameter, width = facts.diameter_mm, facts.width_mm
    good = facts.cutting & (facts.plan_mm > 1e-6) & np.isfinite(tooth) & (tooth > 0) & np.isfinite(diameter)
    good &= np.isfinite(width) & (width > 0)
    if not good.any():
        return None
    chip = np.full(facts.n, np.nan)
    across = np.clip(width[good], 0.01 * diameter[good], diameter[good])
    chip[good] = max_chip_mm(tooth[good], across, diameter[good])
    low, high = np.full(facts.n, np.nan), np.full(facts.n, np.nan)
    slot = np.where(good, width >= SLOT_SHARE * diameter, False)
    for tool, rows in facts.split(good):
        for is_slot in (True, False):
            found = limits(ctx, tool, slot=is_slot)
            if found is not None:
                mine = rows[slot[rows] == is_slot]
                low[mine], high[mine] = found.min_chip_mm, found.chip_high_mm
    basis = f"greatest chip thickness at the {'programmed' if ctx.feeds is None else 'reached'} feed"
    if ctx.removal is None:
        basis += ", every cut taken as a slot"
    return _strip(
        spans,
        ("chip", "chip", "mm"),
        chip,
        basis + "; straight plunges left out",
        [_Limit("thinnest that cuts", low, smallest=True), _Limit("thickest of the band", high)],
    )


def _engagement(ctx: Context, spans: Spans) -> Strip | None:
    if ctx.removal is None:
        return None
    facts = ctx.facts
    sideways = facts.cutting & (facts.plan_mm > 1e-6)
    angle = np.degrees(np.minimum(ctx.removal.engagement_rad.astype(np.float64), math.pi))
    return _strip(
        spans,
        ("engagement", "engagement", "deg"),
        np.where(sideways, angle, np.nan),
        "greatest angle of the cutter in the material, from the simulated cut; straight plunges left out",
        [_Limit("a full slot", np.full(facts.n, 180.0), reference=True)],
    )


def _depth(ctx: Context, spans: Spans) -> Strip | None:
    facts = ctx.facts
    if not np.isfinite(facts.depth_mm).any():
        return None
    allowed = np.full(facts.n, np.nan)
    for cut in cut_uses(ctx)[0]:
        worst, _ = cut.worst()
        allowed[cut.rows] = cut.depth_mm / np.maximum(worst, 1e-9)
    sideways = facts.cutting & (facts.plan_mm > 1e-6)
    return _strip(
        spans,
        ("depth", "depth of cut", "mm"),
        np.where(sideways, facts.depth_mm, np.nan),
        "axial depth; allowed is, by proportion, where the first of the depth limits would be used up",
        [_Limit("allowed here", allowed)],
    )


def _loads(ctx: Context, spans: Spans) -> list[Strip]:
    """Force along the table and spindle power, from the same judgement as the findings."""
    from millcalc.limits.forces import axis_thrust, deflection, spindle_power
    from millcalc.limits.request import CutRequest
    from millcalc.limits.state import State

    done, _ = cut_uses(ctx)
    if not done:
        return []
    n = ctx.facts.n
    force, push, power, available, bend, allowed = (np.full(n, np.nan) for _ in range(6))
    for cut in done:
        one = np.ones(1)
        state = State(cut.tooling, CutRequest("slot", proven=True), cut.rpm, one * 0.01, one, one)
        push[cut.rows] = float(np.max(axis_thrust(state).limit))
        available[cut.rows] = np.broadcast_to(spindle_power(state).limit, cut.rpm.shape)
        force[cut.rows] = cut.uses["axis-thrust"] * push[cut.rows]
        power[cut.rows] = cut.uses["spindle-power"] * available[cut.rows]
        allowed[cut.rows] = np.broadcast_to(deflection(state).limit, cut.rpm.shape)
        bend[cut.rows] = cut.uses["deflection"] * allowed[cut.rows]
    basis = "upper published coefficients at the programmed feed; plunges and drilling left out"
    return [
        _strip(
            spans,
            ("force", "force along the table", "N"),
            force,
            f"mean over a turn, {basis}",
            [_Limit("half of the axis's push", push)],
        ),
        _strip(
            spans,
            ("power", "cutting power", "W"),
            power,
            basis,
            [_Limit("spindle's shaft power", available)],
        ),
        _strip(
            spans,
            ("deflection", "deflection at the tip", "mm"),
            bend,
            f"cutter, spindle and machine together, {basis}",
            [_Limit("allowed", allowed)],
        ),
    ]


def _pull(ctx: Context, spans: Spans) -> Strip | None:
    found = screw_pulls(ctx)
    if found is None:
        return None
    pulls, bears = found
    return _strip(
        spans,
        ("hold", "pull at the most loaded screw", "N"),
        pulls,
        "from side force and lift of each cut at its end, friction between work and bed; "
        "a reserve of five is in the limit",
        [_Limit("a screw bears", np.where(np.isfinite(pulls), bears, np.nan))],
    )


def _speed(ctx: Context, spans: Spans) -> Strip | None:
    facts, machine = ctx.facts, ctx.setup.machine if ctx.setup else None
    limits = []
    if machine is not None:
        limits = [
            _Limit("the spindle's top", np.where(facts.feed, machine.spindle.max_rpm, np.nan)),
            _Limit("its lowest", np.where(facts.feed, machine.spindle.min_rpm, np.nan), smallest=True),
        ]
    basis = "as the program sets it" if facts.hand_rpm is None else "as it is set by hand"
    values = np.where(facts.feed, facts.rpm, np.nan)
    return _strip(spans, ("speed", "spindle speed", "rev/min"), values, basis, limits)
