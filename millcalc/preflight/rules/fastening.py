"""Where the screws stand, what they are made of, and whether they hold where they should."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millcalc.findings import Finding, Severity
from millcalc.job.setup import Box, Keepout, Setup
from millcalc.preflight.context import Context
from millcalc.preflight.hold_kinds import FLAT
from millcalc.preflight.keepouts import cutter_body, screw_gap
from millcalc.preflight.registry import rule
from millcalc.tables.models import Material


@rule("SCREW-05", Severity.NOTE, "screw positions guessed", needs=("screws", "motions"),
      what="how the screws were placed")  # fmt: skip
def _guessed(ctx: Context, setup: Setup, screws: tuple[Keepout, ...]) -> Iterator[Finding]:
    """Screws whose position was guessed pass only with the wide margin.

    Flags: screws marked ``guessed`` (or not marked) that the cutter passes within 10 mm.
    Why: a position guessed by eye is off by a few millimetres, and the distance is worth no more than that.
    Wrong: no word on how the screws were placed.
    Right: ``placed: measured``, or holes drilled by the machine itself.
    Limits of the rule: none known.
    Source: common practice, no source.
    """
    body = cutter_body(ctx)
    for screw, entry in zip(screws, setup.job.screws or (), strict=True):
        if entry.placed != "guessed" or np.isnan(screw.z_top_mm):
            continue
        gap = screw_gap(ctx, screw, body)
        least = gap.least
        if least is not None and screw.margin_mm <= gap.gap_mm[least] < 10.0:
            yield ctx.say.finding(
                "SCREW-05",
                Severity.NOTE,
                f"the cutter passes {ctx.say.mm(gap.gap_mm[least], 0.1)} from {screw.name}, "
                "whose position was guessed",
                rows=[least],
                compared=(float(gap.gap_mm[least]), 10.0, "mm"),
                action="measure it from program zero, or let the machine mark the holes",
            )


@rule(
    "SCREW-06",
    Severity.WARNING,
    "screw off the stock",
    needs=("screws", "stock"),
    what="where the screws stand",
)
def _off_stock(ctx: Context, stock: Box, screws: tuple[Keepout, ...]) -> Iterator[Finding]:
    """A screw that is said to hold the work stands beside it.

    Flags: screws marked as holding whose head does not reach over the stock.
    Why: either the position is mistyped, so the distances above are wrong, or the screw holds nothing.
    Wrong: X and Y swapped: a screw at (10, 190) on a plate of 200 by 100.
    Right: (190, 10).
    Limits of the rule: strap clamps with their screw beside the stock should be described as clamps.
    Source: plane geometry.
    """
    for screw in screws:
        dx = max(stock.x_min - screw.x_mm, screw.x_mm - stock.x_max, 0.0)
        dy = max(stock.y_min - screw.y_mm, screw.y_mm - stock.y_max, 0.0)
        off = float(np.hypot(dx, dy))
        if screw.holds and off > screw.head_radius_mm:
            swapped = stock.x_min <= screw.y_mm <= stock.x_max and stock.y_min <= screw.x_mm <= stock.y_max
            yield Finding(
                "SCREW-06",
                Severity.WARNING,
                f"{screw.name} stands {ctx.say.mm(off)} beside the stock, at "
                f"{ctx.say.point((screw.x_mm, screw.y_mm, screw.z_top_mm))}",
                "X and Y look swapped; check the job"
                if swapped
                else "check its position in the job, or write holds: false",
                measured=off,
                limit=screw.head_radius_mm,
                unit="mm",
                place_mm=(screw.x_mm, screw.y_mm, screw.z_top_mm),
            )


@rule("SCREW-07", Severity.WARNING, "screw holes elsewhere than the screws", needs=("screws", "cutters", "motions"),
      what="drilled holes against the screws")  # fmt: skip
def _holes(ctx: Context, screws: tuple[Keepout, ...]) -> Iterator[Finding]:
    """The program drills a hole near a screw, but not at it.

    Flags: straight holes within 15 mm of a screw but more than 1 mm beside it, where another screw is hit
      exactly: the pattern is that of screw holes.
    Why: the screws then stand elsewhere than the job says, and every distance to them is wrong.
    Wrong: holes at (10, 10) and (190, 10), screws listed at (10, 10) and (185, 10).
    Right: the same positions in both.
    Limits of the rule: only straight plunges count as holes.
    Source: common practice, no source.
    """
    facts = ctx.facts
    rows = np.flatnonzero(facts.straight_down & facts.feed)
    if not len(rows) or not screws:
        return
    x, y = facts.motions.end_mm[rows, 0], facts.motions.end_mm[rows, 1]
    found = []
    for screw in screws:
        distance = np.hypot(x - screw.x_mm, y - screw.y_mm)
        at = int(np.argmin(np.nan_to_num(distance, nan=np.inf)))
        found.append((screw, float(distance[at]), int(rows[at])))
    if not any(distance <= 0.2 for _, distance, _ in found):
        return
    for screw, distance, row in found:
        if 1.0 < distance < 15.0:
            yield ctx.say.finding(
                "SCREW-07",
                Severity.WARNING,
                f"a hole is drilled {ctx.say.mm(distance)} beside {screw.name}; other screws stand in theirs",
                rows=[row],
                compared=(distance, 1.0, "mm"),
                action="correct the screw's position in the job, or the hole",
            )


@rule("SCREW-08", Severity.NOTE, "steel near the cut in wood", needs=("screws", "material", "cutters", "motions"),
      what="sparks from screws")  # fmt: skip
def _sparks(ctx: Context, material: Material, screws: tuple[Keepout, ...]) -> Iterator[Finding]:
    """Steel screws close to cuts in wood.

    Flags: screws within 10 mm of a cut in wood or wood panels.
    Why: a touched screw throws sparks into dust that the vacuum carries on; it smoulders for hours.
    Wrong: steel screws 4 mm beside the outline.
    Right: brass, aluminium or nylon screws near cuts.
    Limits of the rule: the material of the screws is not asked for.
    Source: common practice, no source.
    """
    if material.family not in ("wood", "wood panel"):
        return
    body = cutter_body(ctx)
    near: list[tuple[float, int, Keepout]] = []
    for screw in screws:
        if np.isnan(screw.z_top_mm):
            continue
        gap = screw_gap(ctx, screw, body)
        if gap.least is not None and gap.gap_mm[gap.least] < 10.0:
            near.append((float(gap.gap_mm[gap.least]), gap.least, screw))
    if near:
        distance, row, screw = min(near, key=lambda entry: entry[0])
        yield ctx.say.finding(
            "SCREW-08",
            Severity.NOTE,
            f"{len(near)} screws within 10 mm of the cut in wood, nearest {screw.name} at "
            f"{ctx.say.mm(max(0.0, distance), 0.1)}",
            rows=[row],
            compared=(distance, 10.0, "mm"),
            action="use brass, aluminium or nylon there; look into the vacuum afterwards, and again later",
        )


@rule("SCREW-09", Severity.WARNING, "thin plate far from its screws",
      needs=("hold_down", "material", "thickness", "motions"), what="span between hold-downs")  # fmt: skip
def _span(ctx: Context, setup: Setup, material: Material, thickness_mm: float) -> Iterator[Finding]:
    """Cuts in a thin plate far from anything that holds it.

    Flags: cuts in metal or plastic under 4 mm thick, farther than 25 times the thickness from the nearest
      screw or clamp.
    Why: an up-cut pulls the plate up between the screws: it buzzes, the depth varies, tabs disappear.
    Wrong: a 2 mm sheet with screws in the corners of a 300 mm square.
    Right: a screw or a weight near the cut, double-sided tape, or a down-cut.
    Limits of the rule: not where tape or vacuum holds; a rule of thumb from F L^3 / (48 E I) with 20 N of lift
      and 0.1 mm.
    Source: beam on two supports, closed form; the threshold is an estimate.
    """
    thick = thickness_mm
    if any(hold.kind in FLAT for hold in setup.job.hold or ()):
        return
    if thick >= 4.0 or material.family in ("foam", "steel"):
        return
    facts = ctx.facts
    rows = np.flatnonzero(facts.cutting & facts.milling)
    holds = [(s.x_mm, s.y_mm, s.x_mm, s.y_mm) for s in setup.screws or () if s.holds]
    holds += [(b.x_min, b.y_min, b.x_max, b.y_max) for c, b in setup.clamps or () if c.holds]
    if not len(rows) or not holds:
        return
    x, y = facts.motions.end_mm[rows, 0], facts.motions.end_mm[rows, 1]
    nearest = np.full(len(rows), np.inf)
    for x0, y0, x1, y1 in holds:
        dx = np.maximum(np.maximum(x0 - x, x - x1), 0)
        dy = np.maximum(np.maximum(y0 - y, y - y1), 0)
        nearest = np.fmin(nearest, np.hypot(dx, dy))
    limit = 25.0 * thick
    if nearest.max() > limit:
        at = int(np.argmax(nearest))
        yield ctx.say.finding(
            "SCREW-09",
            Severity.WARNING,
            f"cuts {ctx.say.mm(nearest[at], 1.0)} from the nearest screw or clamp in a plate "
            f"{ctx.say.mm(thick)} thick",
            rows=rows[nearest > limit],
            worst=int(rows[at]),
            compared=(float(nearest[at]), limit, "mm"),
            action=f"a screw or weight near {ctx.say.point(tuple(facts.motions.end_mm[rows[at]]))}",
        )


@rule("SCREW-10", Severity.WARNING, "screw longer than the board", needs=("screws", "spoilboard"),
      what="length of the screws")  # fmt: skip
def _too_long(ctx: Context, setup: Setup, screws: tuple[Keepout, ...], board_mm: float) -> Iterator[Finding]:
    """A screw reaches through the board.

    Flags: screws whose depth in the bed is more than the sacrificial board, where metal is below it.
    Why: the tip stops on metal and the head stays proud of the work: it neither holds nor has its height.
    Wrong: 20 mm of thread in a 12 mm board on a metal frame.
    Right: 10 mm of thread, and more screws.
    Limits of the rule: through the board into wood is fine and not flagged.
    Source: common practice, no source.
    """
    bed = setup.job.bed
    if bed.below != "metal":
        return
    for screw, entry in zip(screws, setup.job.screws or (), strict=True):
        if entry.depth_in_bed_mm is not None and entry.depth_in_bed_mm > board_mm:
            yield Finding(
                "SCREW-10",
                Severity.WARNING,
                f"{screw.name} goes {ctx.say.mm(entry.depth_in_bed_mm)} into a board of "
                f"{ctx.say.mm(board_mm)} on metal",
                "use a shorter screw, or a thicker board",
                measured=entry.depth_in_bed_mm,
                limit=board_mm,
                unit="mm",
                place_mm=(screw.x_mm, screw.y_mm, screw.z_top_mm),
            )
