"""Ways into the material: straight down, on a ramp, on a helix."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from millcalc.findings import Finding, NotChecked, Severity
from millcalc.limits.entries import DRILLS
from millcalc.preflight import tuning
from millcalc.preflight.context import Context
from millcalc.preflight.entry_feed import most_down_mm_min, slow_down_mm_min
from millcalc.preflight.facts import STEEP_DEG
from millcalc.preflight.limits import limited
from millcalc.preflight.registry import rule
from millcalc.preflight.tabs import find_tabs
from millcalc.tables.models import Material


@rule("PLUNGE-01", Severity.STOP, "plunge too fast", needs=("material", "cutters", "motions"),
      what="plunge feed")  # fmt: skip
def _too_fast(ctx: Context) -> Iterator[Finding | NotChecked]:
    """The cutter goes down faster than its end can cut.

    Flags: plunges steeper than 45 degrees whose vertical feed exceeds the material's share of the side feed at the
      top of the chip band, or that at which Z still pushes; a stop at twice that. Drills are left to PLUNGE-08.
    Why: the end cuts worst in the middle; too fast it packs, welds, or pulls the cutter out of the collet.
    Wrong: ``G1 Z-1 F900`` with a 3 mm single flute in aluminium.
    Right: ``G1 Z-1 F120``, or a ramp.
    Limits of the rule: the speed must be known; what is already open below the cutter is only known when simulated.
    Source: the material table of the job; the push of a plunge from Kienzle with a blunt middle, as in settings.
    """
    facts = ctx.facts
    for tool, rows, fitted, bound in limited(
        ctx, facts.cutting & facts.going_down & (facts.drop_deg > STEEP_DEG)
    ):
        if fitted.cutter.kind in DRILLS:
            continue
        known = rows[np.isfinite(facts.chip_mm[rows])]
        if not len(known):
            yield NotChecked(
                "PLUNGE-01", f"plunge feed of T{tool}", "speed or feed is unknown", ("spindle.rpm",)
            )
            continue
        down = facts.feed_mm_min[known] * np.sin(np.radians(facts.drop_deg[known]))
        top = most_down_mm_min(ctx, tool, bound, fitted.cutter.flutes, facts.rpm[known])
        bad = down > top * 1.05
        if not bad.any():
            continue
        at = int(np.argmax(down / top))
        worst = int(known[at])
        slow = slow_down_mm_min(ctx, tool, float(facts.rpm[worst]))
        yield ctx.say.finding(
            "PLUNGE-01",
            Severity.STOP if down[at] > 2 * top[at] else Severity.WARNING,
            f"T{tool} plunges at F {ctx.say.feed(facts.feed_mm_min[worst])}; "
            f"straight down {ctx.say.feed(top[at])} is the most here",
            rows=known[bad],
            worst=worst,
            word="F",
            compared=(down[at], top[at], "mm/min"),
            action=f"F {ctx.edit.feed_to_set(min(top[at], slow or top[at]))}, or go in on a ramp of "
            f"{ctx.edit.deg(bound.ramp_angle_deg)} or less",
        )


@rule("PLUNGE-02", Severity.STOP, "plunge with a cutter that does not cut on its end",
      needs=("cutters", "motions"), what="whether the cutter can go down")  # fmt: skip
def _not_centre_cutting(ctx: Context) -> Iterator[Finding]:
    """A cutter whose end does not cut to the centre goes down into the material.

    Flags: straight plunges (stop) and ramps (warning) into material with a cutter that is not centre-cutting.
    Why: the middle does not cut: it presses, heats and breaks the cutter or lifts the work.
    Wrong: a surfacing cutter sent down into the plate.
    Right: enter from the side, beyond the edge of the stock.
    Limits of the rule: what lies below is only known when the cut is simulated; otherwise the stock counts as uncut.
    Source: common practice, no source.
    """
    facts = ctx.facts
    for tool, rows, fitted in ctx.by_cutter(facts.cutting & facts.going_down & (facts.drop_deg > 0.2)):
        if fitted.cutter.centre_cutting:
            continue
        steep = rows[facts.drop_deg[rows] > STEEP_DEG]
        flat = rows[facts.drop_deg[rows] <= STEEP_DEG]
        for some, severity, text in (
            (steep, Severity.STOP, "goes straight down into the material"),
            (flat, Severity.WARNING, "goes down on a ramp into the material"),
        ):
            if len(some):
                yield ctx.say.finding(
                    "PLUNGE-02",
                    severity,
                    f"T{tool} ({fitted.cutter.title}) {text}, but does not cut on its end",
                    rows=some,
                    word="Z",
                    action="enter from outside the stock at depth, or fit a centre-cutting cutter",
                )


@rule("PLUNGE-03", Severity.WARNING, "deep straight plunge in one stroke",
      needs=("material", "cutters", "stock_top", "motions"), what="depth of straight plunges")  # fmt: skip
def _deep_stroke(ctx: Context, material: Material, top_mm: float) -> Iterator[Finding]:
    """A straight plunge deeper than chips get out of.

    Flags: straight plunges with an end mill that bite deeper than half a diameter (more in soft materials)
      in one stroke. Foam and wood are left out up to one diameter.
    Why: chips pack under the end and weld to it; a hole drilled with an end mill so is where they break.
    Wrong: ``G1 Z-6 F100`` with a 3 mm cutter in aluminium.
    Right: steps of half a diameter with a retract, a helix, or a drill.
    Limits of the rule: without a simulated cut the stock counts as uncut below the cutter's last depth at that place.
    Source: A tool maker's milling catalogue, 2021-22, p. 210: 0.5 to 1.0 diameters a stroke.
    """
    facts = ctx.facts
    soft = material.family in ("wood", "wood panel", "foam")
    for tool, rows, fitted, bound in limited(ctx, facts.cutting & facts.straight_down):
        if fitted.cutter.kind in DRILLS:
            continue
        most = max(bound.stroke_mm, fitted.cutter.diameter_mm if soft else 0.0)
        bite = np.fmin(facts.motions.start_mm[rows, 2], top_mm) - facts.motions.end_mm[rows, 2]
        if ctx.removal is not None:
            bite = np.fmin(bite, ctx.removal.axial_depth_mm[rows])
        deepest = float(bite.max())
        fact = (
            f"T{tool} plunges {ctx.say.mm(deepest)} straight down in one stroke; "
            f"{ctx.say.mm(most)} is the most before the chips pack"
        )
        action = f"{int(np.ceil(deepest / most))} strokes with a retract between them, or a helix"
        yield from _in_one_stroke(ctx, "PLUNGE-03", rows, bite, most, fact, action)


def _in_one_stroke(
    ctx: Context,
    code: str,
    rows: NDArray[np.intp],
    bite_mm: NDArray[np.float64],
    most_mm: float,
    fact: str,
    action: str,
) -> Iterator[Finding]:
    bad = bite_mm > most_mm * 1.02
    if bad.any():
        at = int(np.argmax(bite_mm))
        compared = (float(bite_mm[at]), most_mm, "mm")
        yield ctx.say.finding(
            code,
            Severity.WARNING,
            fact,
            rows=rows[bad],
            worst=int(rows[at]),
            word="Z",
            compared=compared,
            action=action,
        )


@rule("PLUNGE-06", Severity.WARNING, "plunge at the side cut's feed", needs=("motions",),
      what="plunge feeds inherited from side cuts")  # fmt: skip
def _inherited(ctx: Context) -> Iterator[Finding]:
    """A plunge runs at the feed left over from a side cut.

    Flags: straight plunges without their own F word, at the feed of the side cuts before them: a warning where
      other plunges of the program have a slower one (this one lost its word), else a note (one feed for all was
      meant). Where cutter and material are known, PLUNGE-01 judges the feed, and a lost word is a note. The feed to
      write is that of settings, of the program's other plunges, or else three tenths of the side feed.
    Why: the feed word stays in force: the next plunge dives at outline speed.
    Wrong: ``G1 X50 F900 / G0 Z5 / G0 X0 / G1 Z-2``.
    Right: ``G1 Z-2 F120`` and ``F900`` again on the next side cut.
    Limits of the rule: in foam or soft wood such a plunge may be fine.
    Source: common practice, no source.
    """
    facts = ctx.facts
    feed = facts.motions.feed_mm_min
    down = np.flatnonzero(facts.cutting & facts.straight_down & np.isfinite(feed))
    side = facts.cutting & facts.sideways & np.isfinite(feed)
    hits = []
    for row in down.tolist():
        fitted = facts.fitted(int(facts.tool[row]))
        drill = fitted is not None and fitted.cutter.kind in DRILLS
        before = side[:row]
        if not before.any():
            continue
        last = int(np.flatnonzero(before)[-1])
        if drill and facts.tool[last] == facts.tool[row]:
            continue
        if feed[last] == feed[row]:
            word = ctx.say.last_event("feed", row)
            own = ctx.say.word_span(int(facts.motions.line[row]), "F").start > 0
            if not own and (word is None or word.motion <= last):
                hits.append(row)
    if hits:
        slower = bool((feed[down] < 0.8 * float(np.min(feed[hits]))).any())
        judged = ctx.setup is not None and ctx.setup.material is not None and bool(ctx.setup.cutters)
        if judged and not slower:
            return
        row = hits[0]
        slow = slow_down_mm_min(ctx, int(facts.tool[row]), float(facts.rpm[row])) if judged else None
        if slow is None and slower:
            slow = float(np.median(feed[down][feed[down] < 0.8 * float(np.min(feed[hits]))]))
        yield ctx.say.finding(
            "PLUNGE-06",
            Severity.WARNING if slower and not judged else Severity.NOTE,
            f"a straight plunge at the side cut's feed, F {ctx.say.feed(feed[hits[0]])}",
            rows=hits,
            word="Z",
            action=f"write F {ctx.edit.feed_to_set(slow or feed[row] * tuning.PLUNGE_SHARE)} in this line, "
            f"and F {ctx.edit.feed(feed[row])} again in the next side cut",
        )


@rule("PLUNGE-07", Severity.NOTE, "straight plunge behind each tab", needs=("stock_bottom", "motions"),
      what="plunges behind tabs")  # fmt: skip
def _behind_tabs(ctx: Context) -> Iterator[Finding]:
    """The cutter drops straight down behind every tab.

    Flags: tabs whose far side is a straight plunge at more than half of the side feed.
    Why: each is a full-width plunge in the last pass, when the part is held by the tabs alone.
    Wrong: ``G1 Z-4 / G1 X30 / G1 Z-6`` at F900 throughout.
    Right: ``G1 Z-4 / G1 X30 / G1 X34 Z-6``, a slope.
    Limits of the rule: tabs are found as short lifts within the lowest passes.
    Source: common practice, no source.
    """
    facts = ctx.facts
    feed = facts.feed_mm_min
    rows = [
        tab.down
        for tab in find_tabs(ctx)
        if facts.straight_down[tab.down] and feed[tab.down] > 0.5 * feed[tab.side]
    ]
    if rows:
        yield ctx.say.finding(
            "PLUNGE-07",
            Severity.NOTE,
            f"straight plunge behind a tab at F {ctx.say.feed(feed[rows[0]])}",
            rows=np.asarray(rows),
            word="Z",
            action="slope down over a few millimetres, or give the plunge its own slow feed",
        )


@rule("PLUNGE-08", Severity.WARNING, "drill deeper than chips get out of", needs=("cutters", "stock_top", "motions"),
      what="depth of drilled strokes")  # fmt: skip
def _drill_stroke(ctx: Context, top_mm: float) -> Iterator[Finding]:
    """A twist drill goes too deep in one stroke.

    Flags: straight strokes of a twist drill deeper than three diameters in one go.
    Why: beyond that the flutes no longer carry the chips out; the drill packs and breaks.
    Wrong: a 2 mm drill 12 mm deep in one stroke.
    Right: two to three diameters first, then a retract each diameter.
    Limits of the rule: wood and foam allow more.
    Source: common practice, no source (first stroke 2 to 3 diameters).
    """
    facts = ctx.facts
    for tool, rows, fitted in ctx.by_cutter(facts.cutting & facts.straight_down):
        if fitted.cutter.kind != "twist drill":
            continue
        most = 3 * fitted.cutter.diameter_mm
        bite = np.fmin(facts.motions.start_mm[rows, 2], top_mm) - facts.motions.end_mm[rows, 2]
        deepest, diameter = float(bite.max()), fitted.cutter.diameter_mm
        fact = f"T{tool} drills {ctx.say.mm(deepest)} in one stroke, {deepest / diameter:.1f} diameters"
        action = f"retract after {ctx.edit.mm(most)} and then every {ctx.edit.mm(diameter)}"
        yield from _in_one_stroke(ctx, "PLUNGE-08", rows, bite, most, fact, action)
