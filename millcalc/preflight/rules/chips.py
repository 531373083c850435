"""Chips: does each tooth get one that it can cut, at the feed asked for and at the feed reached."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from millcalc.findings import Finding, NotChecked, Severity
from millcalc.mechanics.chip import max_chip_mm
from millcalc.preflight import tuning
from millcalc.preflight.context import Context
from millcalc.preflight.facts import STEEP_DEG
from millcalc.preflight.feed_model import FeedModel
from millcalc.preflight.feed_words import feed_edit
from millcalc.preflight.limits import Limits, chip_tops_mm, limited
from millcalc.preflight.registry import rule
from millcalc.preflight.wording import width_words
from millcalc.tables.models import Machine

BAND_SLACK = 1.05  # of the band's top; run-out and the knob make as much [-]
FIRST_SLACK = 1.002  # of a first cut's chip; a printed number may be off by as much [-]


def _chips(ctx: Context, rows: NDArray[np.intp], diameter_mm: float) -> NDArray[np.float64]:
    """Thickest chip of each motion at its feed and width [mm]."""
    facts = ctx.facts
    width = np.clip(np.nan_to_num(facts.width_mm[rows], nan=diameter_mm), 1e-6, diameter_mm)
    return np.asarray(max_chip_mm(facts.chip_mm[rows], width, diameter_mm), dtype=np.float64)


@rule("FEED-03", Severity.STOP, "chip above the band", needs=("material", "cutters", "motions"),
      what="chip thickness against the most the cutter takes")  # fmt: skip
def _chip_too_thick(ctx: Context) -> Iterator[Finding | NotChecked]:
    """Chips thicker than the band for this cutter and material, or than a first cut's.

    Flags: thickest chip above the top of the chip-load band for its width, by more than 5 %; a stop at twice the top.
      Up to the top but above what `millcalc settings` gives a first cut: a note, unless the job is marked `proven`.
    Why: each tooth is loaded beyond what the cutter is made for; small ones break.
    Wrong: ``F3000`` at 18 000 rev/min with one 3 mm flute in aluminium: 0.17 mm a tooth.
    Right: the feed this rule names, or more speed.
    Limits of the rule: without a simulated cut full width is assumed; thin slivers allow more.
    Source: the material table of the job.
    """
    yield from _band(ctx, "FEED-03", high=True)


@rule("FEED-04", Severity.WARNING, "chip below the band", needs=("material", "cutters", "motions"),
      what="chip thickness against the least that cuts")  # fmt: skip
def _chip_too_thin(ctx: Context) -> Iterator[Finding | NotChecked]:
    """Chips thinner than the cutter can cut.

    Flags: cuts whose thickest chip is below the smallest that still cuts (a warning where that is more than two
      diameters of path), or below the chip-load band (a note), at the feed the program asks for.
    Why: the edge rubs instead of cutting: heat, dust, welded aluminium, burnt wood, a dull cutter.
    Wrong: ``F100`` at 18 000 rev/min with one flute: 0.006 mm a tooth.
    Right: the feed this rule names, or a lower speed.
    Limits of the rule: the edge radius is the table's for a sharp cutter; a worn one needs more. Straight plunges are
      left out.
    Source: the material table of the job; smallest chip after Cheng et al. 2018, 0.14 to 0.43 of the edge
      radius.
    """
    yield from _band(ctx, "FEED-04", high=False)


def _band(ctx: Context, code: str, *, high: bool) -> Iterator[Finding | NotChecked]:
    facts = ctx.facts
    mask = facts.cutting & ((facts.drop_deg <= STEEP_DEG) if high else facts.milling)
    for tool, rows, fitted, bound in limited(ctx, mask):
        known = rows[np.isfinite(facts.chip_mm[rows])]
        if len(known) < len(rows):
            length = facts.motions.length_mm
            share = float(length[known].sum() / max(length[rows].sum(), 1e-9))
            because = "speed or feed is unknown or zero"
            because += f"; judged: {100 * share:.0f} % of its cutting length" if len(known) else ""
            yield NotChecked(code, f"chip thickness of T{tool}", because, ("spindle.rpm",))
        if not len(known):
            continue
        cutter = fitted.cutter
        chip = _chips(ctx, known, cutter.diameter_mm)
        if high:
            yield from _thick(ctx, tool, known, chip, bound)
        else:
            yield from _thin(ctx, tool, known, chip, bound.min_chip_mm, bound.chip_low_mm, bound.source)


def _thick(
    ctx: Context, tool: int, rows: NDArray[np.intp], chip: NDArray[np.float64], bound: Limits
) -> Iterator[Finding]:
    found = chip_tops_mm(ctx, tool, ctx.facts.width_mm[rows])
    assert found is not None  # there is a bound
    first, top = found
    aim = top if ctx.proven else first
    bad = chip > aim * (BAND_SLACK if ctx.proven else FIRST_SLACK)
    if not bad.any():
        return
    beyond = np.flatnonzero(bad)
    at = int(beyond[np.argmax((chip / top)[bad])])
    worst, value = int(rows[at]), float(chip[at])
    over = value > BAND_SLACK * top[at]
    limit = float(top[at] if over else first[at])
    thick, shown = ctx.say.chips(value, limit)
    gentle = f"a first cut stays at {ctx.say.chip(first[at]) if over else shown}"
    says = f"the band ends at {shown}" + ("" if ctx.proven else f", {gentle}") if over else gentle
    feed = float(ctx.facts.feed_mm_min[worst])
    edit = feed_edit(ctx, rows[bad], worst)
    yield ctx.say.finding(
        "FEED-03",
        Severity.STOP if value > 2 * top[at] else Severity.WARNING if over else Severity.NOTE,
        f"T{tool}: {thick} a tooth at F {ctx.say.feed(feed)} and "
        f"{ctx.say.rpm(ctx.facts.rpm[worst])}; {says}{width_words(ctx)}",
        rows=rows[bad],
        worst=worst,
        word="F",
        compared=(value, limit, "mm"),
        source=bound.source,
        action=f"F {ctx.edit.feed_to_set(feed * aim[at] / value)} keeps {ctx.edit.chip(aim[at])} a tooth{edit.words}",
        at=edit.span,
    )


def _thin(
    ctx: Context,
    tool: int,
    rows: NDArray[np.intp],
    chip: NDArray[np.float64],
    least: float,
    low: float,
    source: str,
) -> Iterator[Finding]:
    facts = ctx.facts
    length = facts.motions.length_mm[rows]
    in_cut = length
    if ctx.removal is not None:  # what of it lies in the material
        in_cut = np.minimum(
            length, ctx.removal.volume_mm3[rows] / np.maximum(ctx.removal.section_mm2[rows], 1e-9)
        )
    rubs = chip < least * 0.999
    for bad, limit, severity, text in (
        (rubs, least, Severity.WARNING, "the least that still cuts is"),
        ((chip < low * 0.95) & ~rubs, low, Severity.NOTE, "the band begins at"),
    ):
        if not bad.any():
            continue
        at = int(np.argmin(np.where(bad, chip, np.inf)))
        worst, value = int(rows[at]), float(chip[at])
        feed, rpm = float(facts.feed_mm_min[worst]), float(facts.rpm[worst])
        share = float(np.nansum(length[bad]) / max(np.nansum(length), 1e-9))
        if np.nansum(in_cut[bad]) < tuning.RUBBING_DIAMETERS * ctx.facts.diameter_mm[worst]:
            severity = Severity.NOTE  # ways in and out: not where a cutter gets hot
        much = f"{100 * share:.0f} %" if share >= 0.005 else "under 1 %"
        severity = severity if share >= 0.005 else Severity.NOTE
        machine = ctx.setup.machine if ctx.setup else None
        slow = rpm * value / limit
        other = (
            f", or {ctx.edit.rpm(slow)} at the same feed"
            if machine and slow >= machine.spindle.min_rpm
            else ""
        )
        edit = feed_edit(ctx, rows[bad], worst)
        thin, shown = ctx.say.chips(value, limit)
        yield ctx.say.finding(
            "FEED-04",
            severity,
            f"T{tool}: {thin} a tooth at F {ctx.say.feed(feed)} and {ctx.say.rpm(rpm)}; "
            f"{text} {shown} ({much} of the cutting length){width_words(ctx)}",
            rows=rows[bad],
            worst=worst,
            word="F",
            compared=(value, limit, "mm"),
            source=source,
            action=f"F {ctx.edit.feed_at_least(feed * limit / value)} gives "
            f"{ctx.edit.chips(value, limit)[1]} a tooth{edit.words}{other}; slower is not gentler",
            at=edit.span,
        )


@rule("FEED-07", Severity.WARNING, "rubbing where the feed is not reached",
      needs=("machine", "material", "cutters", "motions"), what="chip at the feed really reached")  # fmt: skip
def _rubs_in_fact(ctx: Context, feeds: FeedModel) -> Iterator[Finding]:
    """Chips too thin at the feed the machine really reaches.

    Flags: cuts whose commanded feed gives a good chip, but whose reachable feed does not; more than 5 % of
      the cutting length.
    Why: short segments and small arcs rub and heat though the program's feed looks right.
    Wrong: circles of 1 mm path radius at F900 on a machine with 100 mm/s2: they run at about 600 mm/min.
    Right: a lower speed for such features.
    Limits of the rule: average feed over each motion, no stops at corners; the true chip is thinner still at the ends.
    Source: v squared = a r; the smallest chip is the material table's.
    """
    facts = ctx.facts
    mean = feeds.mean_quick_mm_min
    for tool, rows, fitted, bound in limited(ctx, facts.cutting & facts.milling & np.isfinite(mean)):
        rows = rows[np.isfinite(facts.chip_mm[rows])]
        asked = _chips(ctx, rows, fitted.cutter.diameter_mm)
        ratio = mean[rows] / facts.feed_mm_min[rows]
        bad = (asked >= bound.min_chip_mm) & (asked * ratio < bound.min_chip_mm)
        length = facts.motions.length_mm[rows]
        share = float(length[bad].sum() / max(length.sum(), 1e-9))
        if share <= tuning.RUB_LENGTH_SHARE:
            continue
        at = int(np.argmin(np.where(bad, asked * ratio, np.inf)))
        worst, value = int(rows[at]), float(asked[at] * ratio[at])
        thin, least = ctx.say.chips(value, bound.min_chip_mm)
        yield ctx.say.finding(
            "FEED-07",
            Severity.WARNING,
            f"T{tool}: {100 * share:.0f} % of the cutting length gets chips below {least} "
            f"because the feed is not reached; thinnest {thin}",
            rows=rows[bad],
            worst=worst,
            word="F",
            compared=(value, bound.min_chip_mm, "mm"),
            source=bound.source,
            action=f"turn the spindle at {ctx.edit.rpm(facts.rpm[worst] * value / bound.min_chip_mm)} "
            "for these features; a higher F does not help",
        )


@rule("FEED-08", Severity.NOTE, "run-out larger than the chip", needs=("machine", "cutters", "motions"),
      what="run-out against the chip")  # fmt: skip
def _runout(ctx: Context, machine: Machine) -> Iterator[Finding]:
    """One flute does all the work.

    Flags: cutters with two or more flutes whose feed per tooth is not above the spindle's run-out.
    Why: the flute that stands out cuts the chips of the others too: double load on one edge, none on the
      next.
    Wrong: two flutes at 0.015 mm a tooth in a collet with 0.03 mm run-out.
    Right: a single-flute cutter, a better collet, or a thicker chip.
    Limits of the rule: run-out is the machine table's figure for the class; yours can be measured.
    Source: the machine table of the job.
    """
    facts, runout = ctx.facts, machine.spindle.runout_um
    for tool, rows, fitted in ctx.by_cutter(facts.cutting & facts.milling & np.isfinite(facts.chip_mm)):
        if fitted.cutter.flutes < 2:
            continue
        chip = float(np.median(facts.chip_mm[rows]))
        if chip <= runout.value / 1000:
            yield ctx.say.finding(
                "FEED-08",
                Severity.NOTE,
                f"T{tool}: {ctx.say.chip(chip)} a tooth, and a run-out of {ctx.say.chip(runout.value / 1000)}: "
                f"one of {fitted.cutter.flutes} flutes does nearly all the work",
                rows=rows,
                compared=(chip, runout.value / 1000, "mm"),
                source=runout.source,
                action="clean the collet and seat the cutter again, or use a single-flute cutter",
            )
