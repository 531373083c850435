"""The detective: would the program fit the stock much better with another zero, unit or turn?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from millcalc.findings import Finding, Severity
from millcalc.gcode.arcs import directions
from millcalc.job.models import CORNERS
from millcalc.job.setup import Box, Setup
from millcalc.preflight import tuning
from millcalc.preflight.context import Context, once
from millcalc.preflight.facts import STILL_MM
from millcalc.preflight.geometry import places_mm, reach_mm, some
from millcalc.preflight.limits import limits
from millcalc.preflight.registry import rule

INCH = 25.4
DOUBLES_BACK = -0.98  # cosine; a path that turns by more than 168 degrees doubles back

SAMPLES = (np.arange(8) + 0.5) / 8  # places along a motion
MOST_SAMPLED = 100_000  # motions


@dataclass(frozen=True, slots=True)
class Extent:
    """Extents of the feed motions at depth: the centre's path [mm], and the largest cutter radius [mm]."""

    x_min: float
    x_max: float
    y_min: float
    y_max: float
    z_min: float
    z_high: float
    radius: float

    def past_mm(self, box: tuple[float, float, float, float]) -> float:
        """How far the path's centre leaves a rectangle, less the radius that an outline may [mm]."""
        x0, x1, y0, y1 = box
        out = max(x0 - self.x_min, self.x_max - x1, y0 - self.y_min, self.y_max - y1)
        return out - self.radius


@once
def extent(ctx: Context) -> Extent | None:
    """Extents of what the program cuts, whatever the job says about zero.

    ctx: Program and set-up.
    Returns: None when nothing moves at feed below the travel height.
    """
    facts = ctx.facts
    level = facts.travel_level_mm
    mask = facts.feed & np.isfinite(facts.z_low)
    if level is not None:
        mask &= facts.z_low < level - 1e-3
    side = mask & (facts.plan_mm > STILL_MM)
    rows = np.flatnonzero(side if side.any() else mask)
    if not len(rows):
        return None
    lowest, highest = reach_mm(facts.motions, rows)
    if np.isnan(lowest).any() or np.isnan(highest).any():
        return None
    radius = float(np.nanmax(facts.diameter_mm)) / 2 if np.isfinite(facts.diameter_mm).any() else 0.0
    z = facts.z_low[rows]
    return Extent(
        float(lowest[0]), float(highest[0]), float(lowest[1]), float(highest[1]),
        float(z.min()), float(z.max()), radius,
    )  # fmt: skip


def _plan(setup: Setup, corner: str, size: tuple[float, float]) -> tuple[float, float, float, float]:
    """Stock rectangle with zero at a corner (or the centre), the job's offset kept."""
    zero = setup.job.zero
    share_x = 0.5 if corner == "centre" else 1.0 if corner.endswith("right") else 0.0
    share_y = 0.5 if corner == "centre" else 1.0 if corner.startswith("back") else 0.0
    x0 = -zero.offset_x_mm - share_x * size[0]
    y0 = -zero.offset_y_mm - share_y * size[1]
    return x0, x0 + size[0], y0, y0 + size[1]


@rule("ZERO-01", Severity.STOP, "Z zero on another surface", needs=("stock_top", "thickness", "motions"),
      what="Z zero of program and job")  # fmt: skip
def _z_zero(ctx: Context, setup: Setup, size_mm: tuple[float, float]) -> Iterator[Finding]:
    """The heights of the program fit the other Z zero.

    Flags: a program whose cuts all lie above the declared stock top, or all below the declared underside,
      while the other convention (stock top against bed top) fits.
    Why: the first plunge goes a whole thickness too deep, or the cutter runs in the air.
    Wrong: cuts from Z5.5 down to Z0 with zero on the stock's top.
    Right: zero on the bed in the job, or a program written from the stock's top.
    Limits of the rule: only these two conventions are tried.
    Source: plane geometry.
    """
    thick, zero, facts = setup.job.stock.thickness_mm, setup.job.zero, ctx.facts
    found = extent(ctx)
    if found is None or thick is None or facts.top_mm is None or zero.z is None:
        return
    top, bottom = facts.top_mm, facts.top_mm - thick
    shift = thick if zero.z == "stock top" else -thick  # where the stock would lie with the other convention
    other_top, other_bottom = top + shift, bottom + shift
    allowance = setup.job.bed.allowance_mm + 0.5
    now = found.z_min >= top - 1e-3 or found.z_min < bottom - allowance
    fits = other_bottom - allowance <= found.z_min < other_top and found.z_high <= other_top + 0.5
    if now and fits:
        other = "bed top" if zero.z == "stock top" else "stock top"
        rows = np.flatnonzero(facts.feed & (np.abs(facts.z_low - found.z_min) < 1e-6))
        yield ctx.say.finding(
            "ZERO-01",
            Severity.STOP,
            f"cuts between Z {ctx.say.mm(found.z_high)} and {ctx.say.mm(found.z_min)}: that fits zero on the "
            f"{other}, not on the {zero.z} as the job says",
            rows=rows,
            word="Z",
            compared=(found.z_min, bottom - allowance if found.z_min < bottom else top, "mm"),
            action=f"write zero.z: {other} in the job and touch off there, or write the program anew; "
            f"the difference is {ctx.say.mm(thick)}",
        )


@rule("ZERO-02", Severity.STOP, "X Y zero on another corner", needs=("stock", "motions"),
      what="X Y zero of program and job")  # fmt: skip
def _xy_zero(ctx: Context, setup: Setup, stock: Box, size_mm: tuple[float, float]) -> Iterator[Finding]:
    """The program fits the stock with zero on another corner or the centre.

    Flags: a path that leaves the stock by more than 2 mm (beyond the cutter's radius) with a quarter of its length
      or more, and fits with zero on another corner or the centre.
    Why: half of the part is cut in the air and the other half into clamps.
    Wrong: a drawing about its centre, with zero on the front left corner.
    Right: the corner this rule names.
    Limits of the rule: the offset of the job is kept; a part larger than its stock fits nowhere.
    Source: plane geometry.
    """
    found = extent(ctx)
    if found is None:
        return
    size, here = size_mm, setup.job.zero.xy or "front-left"
    now = found.past_mm(_plan(setup, here, size))
    if now <= 2.0 or _outside_share(ctx, _plan(setup, here, size)) < tuning.ZERO_OUTSIDE_SHARE:
        return
    others = {corner: found.past_mm(_plan(setup, corner, size)) for corner in CORNERS if corner != here}
    best = min(others, key=lambda corner: others[corner])
    if others[best] <= 0.5:
        yield _whole(
            ctx,
            "ZERO-02",
            f"the path leaves the stock by {ctx.say.mm(now, 0.1)} with zero at {here}; with zero at {best} "
            "it fits",
            f"write zero.xy: {best} and touch off there, or correct the program",
            now,
        )


def _outside_share(ctx: Context, box: tuple[float, float, float, float]) -> float:
    """Share of the path at depth outside a rectangle: little of it is a way in, much of it a wrong zero."""
    facts, level = ctx.facts, ctx.facts.travel_level_mm
    low = facts.z_low < (np.inf if level is None else level - 1e-3)
    rows = np.flatnonzero(facts.feed & low & (facts.plan_mm > STILL_MM))[:MOST_SAMPLED]
    x, y = np.moveaxis(places_mm(facts.motions, rows, SAMPLES)[:, :, :2], 2, 0)
    outside = (x < box[0]) | (x > box[1]) | (y < box[2]) | (y > box[3])
    length = np.nan_to_num(facts.plan_mm[rows])
    return float((outside.mean(axis=1) * length).sum() / max(length.sum(), 1e-9))


def _whole(ctx: Context, code: str, fact: str, action: str, measured: float) -> Finding:
    facts = ctx.facts
    rows = np.flatnonzero(facts.feed)
    return ctx.say.finding(
        code, Severity.STOP, fact, rows=rows[:1], action=action, compared=(measured, 0.0, "mm")
    )


@rule("ZERO-03", Severity.STOP, "wrong unit", needs=("stock_size", "motions"), what="unit of the program")
def _unit(ctx: Context, size_mm: tuple[float, float]) -> Iterator[Finding]:
    """The program fits the stock 25.4 times larger or smaller.

    Flags: a path more than three times the stock that fits after division by 25.4; or one that times 25.4 fits the
      stock and fills at least a third of it in one direction.
    Why: a lost or wrong unit word makes every move 25.4 times as long or as short.
    Wrong: an inch drawing (3.9 wide) on a 100 mm plate, read as millimetres.
    Right: the unit word the drawing was made in.
    Limits of the rule: a small engraving on a large plate may look alike; then this is only a warning. Where the
      depth times 25.4 goes far through the stock, a small path is a small feature.
    Source: 1 in = 25.4 mm exactly.
    """
    found = extent(ctx)
    if found is None:
        return
    size = size_mm
    wide = (found.x_max - found.x_min, found.y_max - found.y_min)
    too_large = any(w > 3 * s for w, s in zip(wide, size, strict=True)) and all(
        w / INCH <= s * 1.02 for w, s in zip(wide, size, strict=True)
    )
    too_small = (
        all(w * INCH <= s * 1.05 for w, s in zip(wide, size, strict=True))
        and any(w * INCH > s / 3 for w, s in zip(wide, size, strict=True))
        and _depth_fits(ctx, INCH)
    )
    if not (too_large or too_small):
        return
    rows = np.flatnonzero(ctx.facts.feed)
    word = "inches" if too_small else "millimetres"
    yield ctx.say.finding(
        "ZERO-03",
        Severity.STOP if too_large else Severity.WARNING,
        f"the path is {ctx.say.mm(wide[0], 0.1)} by {ctx.say.mm(wide[1], 0.1)} on a stock of "
        f"{ctx.say.mm(size[0], 0.1)} by {ctx.say.mm(size[1], 0.1)}: read as {word} it would fit",
        rows=rows[:1],
        compared=(max(wide), max(size), "mm"),
        action="check the unit word: G21 for millimetres, G20 for inches",
        at=next((ctx.say.word_span(event.line, "G") for event in ctx.say.events("units")), None),
    )


def _depth_fits(ctx: Context, factor: float) -> bool:
    """Whether the program's depth, times a factor, still stays within twice the stock's thickness."""
    facts = ctx.facts
    if facts.top_mm is None or facts.bottom_mm is None or not facts.cutting.any():
        return True
    depth = facts.top_mm - float(np.nanmin(facts.z_low[facts.cutting]))
    return depth * factor <= 2 * (facts.top_mm - facts.bottom_mm)


@rule(
    "ZERO-04",
    Severity.STOP,
    "turned by 90 degrees",
    needs=("stock", "motions"),
    what="how the stock is turned",
)
def _turned(ctx: Context, setup: Setup, size_mm: tuple[float, float]) -> Iterator[Finding]:
    """The program fits the stock turned by a quarter turn.

    Flags: a path that leaves the stock by more than 2 mm with a quarter of its length or more, and fits when length
      and width change places.
    Why: the end of the part is cut in the air, and the clamps beside the plate are in the way.
    Wrong: a part 180 by 80 on a plate laid 100 wide and 200 deep.
    Right: the plate turned, or the sizes in the job exchanged.
    Limits of the rule: zero stays on the same corner.
    Source: plane geometry.
    """
    found = extent(ctx)
    if found is None:
        return
    size, here = size_mm, setup.job.zero.xy or "front-left"
    now = found.past_mm(_plan(setup, here, size))
    turned = found.past_mm(_plan(setup, here, (size[1], size[0])))
    much = _outside_share(ctx, _plan(setup, here, size)) >= tuning.ZERO_OUTSIDE_SHARE
    if now > 2.0 and turned <= 0.5 and much:
        yield _whole(
            ctx,
            "ZERO-04",
            f"the path leaves the stock by {ctx.say.mm(now, 0.1)}; on a stock of {ctx.say.mm(size[1], 0.1)} by "
            f"{ctx.say.mm(size[0], 0.1)} it fits",
            "turn the plate, or exchange size_x and size_y in the job",
            now,
        )


@rule("ZERO-05", Severity.WARNING, "feeds in the other unit", needs=("material", "cutters", "motions"),
      what="unit of the feeds")  # fmt: skip
def _feed_unit(ctx: Context) -> Iterator[Finding]:
    """All feeds are off by about 25.4.

    Flags: a median chip between a twentieth and a thirty-second of the band's middle, or that many times it.
    Why: feeds in inches a minute read as millimetres make dust; the reverse breaks the cutter.
    Wrong: F24 (in/min) in a metric program.
    Right: F600.
    Limits of the rule: only the size of the ratio is looked at.
    Source: 1 in = 25.4 mm exactly.
    """
    facts = ctx.facts
    for tool, rows in facts.split(facts.cutting & facts.sideways & np.isfinite(facts.chip_mm)):
        bound = limits(ctx, tool)
        if bound is None:
            continue
        middle = (bound.chip_low_mm * bound.chip_high_mm) ** 0.5
        ratio = float(np.median(facts.chip_mm[rows])) / middle
        if 1 / 32 < ratio < 1 / 20 or 20 < ratio < 32:
            feed = float(np.median(facts.feed_mm_min[rows]))
            other = feed * INCH if ratio < 1 else feed / INCH
            yield ctx.say.finding(
                "ZERO-05",
                Severity.WARNING,
                f"T{tool}: chips are {ratio:.2g} times the middle of the band; a feed in the other unit, "
                f"{ctx.say.feed(other)}, would fit",
                rows=rows,
                word="F",
                compared=(ratio, 1.0, "of the band"),
                action="check in which unit the feeds were written",
            )


@rule(
    "ZERO-06",
    Severity.WARNING,
    "arc turned the wrong way",
    needs=("motions",),
    what="arcs the wrong way round",
)
def _arc_turned(ctx: Context) -> Iterator[Finding]:
    """An arc that doubles back at both ends, where the other direction would join smoothly.

    Flags: arcs of more than half a turn that start and end against the direction of their neighbours, so that
      G2 for G3 (or the reverse) gives a rounded corner.
    Why: instead of a small fillet the cutter runs a loop through the part.
    Wrong: ``G1 X60 Y30 / G2 X70 Y40 J10 / G1 Y60``.
    Right: ``G1 X60 Y30 / G3 X70 Y40 J10 / G1 Y60``.
    Limits of the rule: only arcs between two feed motions that would be tangent the other way round.
    Source: plane geometry.
    """
    motions = ctx.program.motions
    inner = np.flatnonzero(motions.is_arc[1:-1]) + 1
    inner = inner[motions.is_feed[inner - 1] & motions.is_feed[inner + 1]]
    sweep = np.abs(motions.sweep_rad[inner])
    inner = inner[(sweep > np.pi * 1.01) & (sweep < 2 * np.pi * 0.99)]
    first, last = directions(some(motions, inner))
    back_in = np.einsum("ij,ij->i", first, directions(some(motions, inner - 1))[1])
    back_out = np.einsum("ij,ij->i", last, directions(some(motions, inner + 1))[0])
    rows = inner[(back_in < DOUBLES_BACK) & (back_out < DOUBLES_BACK)]
    if not len(rows):
        return
    row = int(rows[0])
    turn = float(np.degrees(abs(motions.sweep_rad[row])))
    now, other = ("G2", "G3") if motions.sweep_rad[row] < 0 else ("G3", "G2")
    yield ctx.say.finding(
        "ZERO-06",
        Severity.WARNING,
        f"the arc turns {turn:.0f} degrees and doubles back at both ends; {other} would round the corner by "
        f"{360 - turn:.0f} degrees",
        rows=rows,
        word="G",
        action=f"write {other} instead of {now} where a rounded corner is meant",
        compared=(turn, 180.0, "deg"),
    )
