"""Time and heat: how long, where it stands still, and what keeps the cut cool."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millcalc.findings import Finding, Severity
from millcalc.job.setup import Setup
from millcalc.preflight import tuning
from millcalc.preflight.context import Context
from millcalc.preflight.feed_model import FeedModel
from millcalc.preflight.registry import rule
from millcalc.preflight.wording import length_share
from millcalc.stock.result import Removal
from millcalc.tables.models import Material


@rule("TIME-01", Severity.NOTE, "long run", needs=("machine", "motions"), what="run time")
def _long(ctx: Context, feeds: FeedModel) -> Iterator[Finding]:
    """The run takes long enough for someone to walk away.

    Flags: more than 20 minutes, even without stops at corners.
    Why: small faults grow into fires while nobody looks; motors and drivers warm up for half an hour.
    Wrong: leaving the machine because it sounds fine.
    Right: staying, or splitting the run.
    Limits of the rule: overrides and pauses are not in the number.
    Source: common practice, no source.
    """
    quick, strict = feeds.total_quick_s, feeds.total_strict_s
    if quick > tuning.LONG_RUN_S:
        least, most = ctx.say.clock(quick), ctx.say.clock(strict)
        yield Finding(
            "TIME-01",
            Severity.NOTE,
            f"runs {least}" if least == most else f"runs {least} to {most}",
            "stay with it; plan a pause at a retract, feel motor and drivers there",
            measured=quick,
            limit=tuning.LONG_RUN_S,
            unit="s",
        )


@rule("TIME-02", Severity.WARNING, "dwell in the material", needs=("motions",), what="dwells in the material")
def _dwell(ctx: Context) -> Iterator[Finding]:
    """The cutter stands still in the material while it turns.

    Flags: dwells of more than 0.3 s below the stock's top (below the height of the highest cut where that is
      unknown).
    Why: it rubs in one place: burnt wood, molten plastic, work-hardened metal.
    Wrong: ``G1 Z-2 / G4 P2 / G1 X50``.
    Right: dwell above the stock.
    Limits of the rule: whether material touches the cutter there is not known without the stock.
    Source: common practice, no source.
    """
    facts, motions = ctx.facts, ctx.program.motions
    top = facts.top_mm
    if top is None:
        side = facts.cutting & facts.sideways
        if not side.any():
            return
        top = float(np.max(facts.z_low[side])) + 1e-3
    z = motions.end_mm[:, 2]
    rows = np.flatnonzero(facts.standing & (motions.dwell_s > 0.3) & (z < top - 1e-4))
    stock = ctx.setup.stock if ctx.setup else None
    if stock is not None and len(rows):
        r = np.nan_to_num(facts.diameter_mm[rows] / 2)
        x, y = motions.end_mm[rows, 0], motions.end_mm[rows, 1]
        over = (x > stock.x_min - r) & (x < stock.x_max + r) & (y > stock.y_min - r) & (y < stock.y_max + r)
        rows = rows[over]
    if len(rows):
        worst = int(rows[np.argmax(motions.dwell_s[rows])])
        yield ctx.say.finding(
            "TIME-02",
            Severity.WARNING,
            f"stands {motions.dwell_s[worst]:g} s at Z {ctx.say.mm(z[worst])} in the material",
            rows=rows,
            worst=worst,
            word="P",
            compared=(float(motions.dwell_s[worst]), 0.3, "s"),
            action="lift before the dwell",
        )


@rule("TIME-03", Severity.WARNING, "metal cut without cooling", needs=("material", "cooling", "motions"),
      what="cooling of the cut")  # fmt: skip
def _dry(ctx: Context, setup: Setup, material: Material) -> Iterator[Finding]:
    """Aluminium or copper is cut dry, with nothing to clear the chips.

    Flags: ``cooling: none`` in materials that weld to the cutter; air alone as a note.
    Why: without air or a drop of lubricant chips weld to the edge, and the slot melts its way.
    Wrong: a deep slot in aluminium, dry.
    Right: air on the cutter and a brush with a little lubricant.
    Limits of the rule: what the job says about cooling; not whether it is on.
    Source: the material table of the job; common practice, no source.
    """
    material, cooling = material, setup.job.cooling
    if material.heat.behaviour != "welds" or cooling not in ("none",) or ctx.facts.first_cut is None:
        return
    yield Finding(
        "TIME-03",
        Severity.WARNING,
        f"{material.title} is cut without air or lubricant",
        f"{material.lubrication.text}",
        source=material.lubrication.source,
    )


@rule("TIME-04", Severity.WARNING, "wet cooling on a wooden bed", needs=("cooling", "motions"),
      what="wet cooling and the bed")  # fmt: skip
def _wet(ctx: Context, setup: Setup) -> Iterator[Finding]:
    """Flood or mist on a wooden bed or in wood.

    Flags: ``cooling: flood`` (or ``mist``, as a note) with a sacrificial board, wood below, or wood as the
      material; also M7 or M8 in the program there.
    Why: the board swells, Z moves between days, and screws lose their hold.
    Wrong: flood cooling over an MDF board.
    Right: drops by brush, air.
    Limits of the rule: what the job says.
    Source: common practice, no source.
    """
    bed, cooling, material = setup.job.bed, setup.job.cooling, setup.material
    wooden = bool(bed.spoilboard_mm) or bed.below == "wood"
    wooden = wooden or (material is not None and material.family in ("wood", "wood panel"))
    if wooden and cooling in ("flood", "mist"):
        yield Finding(
            "TIME-04",
            Severity.WARNING if cooling == "flood" else Severity.NOTE,
            f"{cooling} cooling over wood",
            "use a brush or air, seal the board, and zero Z again the next day",
        )


@rule("TIME-05", Severity.NOTE, "coolant words against the job", needs=("cooling", "motions"),
      what="coolant words")  # fmt: skip
def _coolant_words(ctx: Context, setup: Setup) -> Iterator[Finding]:
    """The program's coolant words and the job do not agree.

    Flags: M7 or M8 in a program whose job cools by nothing or by brush; mist or flood in the job that the
      program never switches on.
    Why: either nothing cools where something should, or a relay switches something unexpected.
    Wrong: ``cooling: mist`` in the job, no M7 in the program.
    Right: both the same, or the pump switched by hand.
    Limits of the rule: pumps switched by hand need no word.
    Source: common practice, no source.
    """
    cooling = setup.job.cooling
    on = [event for event in ctx.say.events("coolant") if event.value and event.value > 0]
    if cooling in ("none", "brush") and on:
        yield ctx.say.at_event(
            "TIME-05",
            Severity.NOTE,
            f"the program switches a coolant on; the job says {cooling}",
            on[0],
            word="M",
            action="take the word out, or correct the job",
            count=len(on),
        )
    elif cooling in ("mist", "flood") and not on and ctx.facts.first_cut is not None:
        yield ctx.say.finding(
            "TIME-05",
            Severity.NOTE,
            f"the job says {cooling}, and the program never switches it on",
            rows=[ctx.facts.first_cut],
            action=f"write {'M7' if cooling == 'mist' else 'M8'} before the first cut, or switch it on by hand",
        )


@rule(
    "TIME-06",
    Severity.NOTE,
    "alloy unknown or gummy",
    needs=("material", "motions"),
    what="the alloy's grade",
)
def _gummy(ctx: Context, setup: Setup, material: Material) -> Iterator[Finding]:
    """The grade of the metal is not known.

    Flags: metals whose grade is marked unknown in the job or in the material table.
    Why: soft alloys weld at settings that are fine for hard ones; a light unknown metal may even be magnesium.
    Wrong: an unmarked offcut, at full settings.
    Right: weigh it, try a short slot in a corner first.
    Limits of the rule: the numbers used are those of the material table.
    Source: common practice, no source.
    """
    known = setup.job.grade_known
    known = material.grade_known if known is None else known
    if not known and material.is_metal:
        yield Finding(
            "TIME-06",
            Severity.NOTE,
            f"{material.title}: the grade is not known",
            "weigh it (aluminium 2.6 to 2.85 g/cm3; 1.7 is magnesium, do not cut), and try a 25 mm slot first",
        )


@rule("TIME-07", Severity.WARNING, "crawls where the material burns or melts",
      needs=("machine", "material", "motions"), what="slow places in wood and plastic")  # fmt: skip
def _burns(ctx: Context, material: Material, feeds: FeedModel) -> Iterator[Finding]:
    """Cuts that run at a fraction of their feed in a material that burns or melts.

    Flags: cuts whose reachable feed is under a quarter of the one asked for, in wood and plastic.
    Why: in every such place the cutter rubs: burnt corners, plastic that welds shut behind the cutter.
    Wrong: many 0.2 mm segments at F3000 on a slow machine.
    Right: arcs instead of short segments, a lower speed.
    Limits of the rule: the case without stops at corners; real corners are slower.
    Source: v squared = 2 a s; the threshold is an estimate.
    """
    if material.heat.behaviour not in ("burns", "melts"):
        return
    facts, mean = ctx.facts, feeds.mean_quick_mm_min
    with np.errstate(invalid="ignore"):
        mask = facts.cutting & facts.milling & (mean < tuning.BURN_SHARE * facts.feed_mm_min)
    rows = np.flatnonzero(mask)
    if float(np.nansum(feeds.time_quick_s[rows])) > 1.0:
        ratio = mean[rows] / facts.feed_mm_min[rows]
        worst = int(rows[np.argmin(ratio)])
        yield ctx.say.finding(
            "TIME-07",
            Severity.WARNING,
            f"reaches only {ctx.say.feed(mean[worst])} of {ctx.say.feed(facts.feed_mm_min[worst])} here; "
            f"{material.title} {material.heat.behaviour}",
            rows=rows,
            worst=worst,
            word="F",
            compared=(float(ratio.min()), tuning.BURN_SHARE, "of the feed"),
            action="arcs instead of short segments, or a lower speed for this program",
        )


@rule(
    "TIME-08",
    Severity.NOTE,
    "passes that cut nothing",
    needs=("removal", "motions"),
    what="passes without a cut",
)
def _nothing_cut(ctx: Context, removal: Removal) -> Iterator[Finding]:
    """Much of the way at depth removes nothing.

    Flags: more than 30 % of the feed length below the stock's top without any removal.
    Why: it takes time, and a cutter that runs along a finished wall rubs it.
    Wrong: every level cut twice.
    Right: one way a level, and one clean-up pass at the end.
    Limits of the rule: spring passes are meant so; as fine as the cells of the simulated cut.
    Source: the simulated cut.
    """
    facts = ctx.facts
    if facts.top_mm is None:
        return
    deep = facts.feed & (facts.z_low < facts.top_mm - 1e-3)
    idle = deep & ~(removal.volume_mm3 > 1e-6)
    rows, share = np.flatnonzero(idle), length_share(ctx, idle, deep)
    if share > tuning.AIR_SHARE:
        yield ctx.say.finding(
            "TIME-08",
            Severity.NOTE,
            f"{100 * share:.0f} % of the length at depth removes nothing",
            rows=rows,
            worst=int(rows[np.nanargmax(facts.motions.length_mm[rows])]),
            compared=(share, tuning.AIR_SHARE, "of the length"),
            action="leave out repeated passes, or check the zero",
        )
