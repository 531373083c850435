"""Depth of cut: against what the advice allows, and against the pattern of the program's own levels."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from millcalc.findings import Finding, NotChecked, Severity
from millcalc.job.setup import Setup
from millcalc.limits.table import TITLES
from millcalc.preflight import tuning
from millcalc.preflight.context import Context
from millcalc.preflight.distinct import distinct_values
from millcalc.preflight.registry import rule
from millcalc.preflight.tuning import STOP_FROM, STOP_FROM_WHERE_IT_BREAKS
from millcalc.preflight.uses import OVER, CutUses, cut_uses
from millcalc.preflight.wording import passes, tool_name, width_words


@rule("DEPTH-01", Severity.STOP, "deeper than advised",
      needs=("machine", "material", "cutters", "stock_top", "motions"), what="depth of each pass")  # fmt: skip
def _too_deep(ctx: Context) -> Iterator[Finding | NotChecked]:
    """A pass deeper than the advice allows for this machine, cutter and material.

    Flags: sideways cuts deeper than the depth at which every limit just holds: power, torque, axis push,
      cutter strength, deflection, flute length, room for chips, and chatter where the cutter was tapped. A stop
      from twice that depth, from one and a half times it where the cutter would break or, in metal, the chips pack.
    Why: too deep a pass bends the machine, loses steps or breaks the cutter.
    Wrong: 2 mm at once in an aluminium slot with a 3 mm cutter on a light gantry.
    Right: as many passes as this rule names.
    Limits of the rule: without a simulated cut each pass counts as a slot below the next higher level cut before.
    Source: the limits of ``millcalc settings``, each with its own source.
    """
    done, left = cut_uses(ctx)
    for tool, because in left:
        yield NotChecked("DEPTH-01", f"depth of the passes of T{tool}", because)
    for cut in done:
        use, keys = cut.worst()
        bad = use > OVER
        if not bad.any():
            continue
        at = int(np.argmax(use))
        depth, limit = float(cut.depth_mm[at]), float(cut.depth_mm[at] / use[at])
        others = [TITLES[k] for k, v in cut.uses.items() if k != keys[at] and v[at] > OVER]
        yield ctx.say.finding(
            "DEPTH-01",
            Severity.STOP if _stops(cut, at) else Severity.WARNING,
            f"T{tool_name(cut.tool)} cuts {ctx.say.mm(depth)} deep; {TITLES[keys[at]]} allows "
            f"{ctx.say.mm(limit)}"
            + (f" (also over: {', '.join(others)})" if others else "")
            + width_words(ctx),
            rows=cut.rows[bad],
            worst=int(cut.rows[at]),
            compared=(depth, limit, "mm"),
            action=passes(ctx, depth, limit),
        )


def _stops(cut: CutUses, at: int) -> bool:
    """Whether a pass is so far beyond a limit that it must not be run."""
    breaks = {"cutter-strength"} | ({"chip-room"} if cut.tooling.material.is_metal else set())
    return any(
        use[at] > (STOP_FROM_WHERE_IT_BREAKS if key in breaks else STOP_FROM) for key, use in cut.uses.items()
    )


def _levels(ctx: Context, rows: NDArray[np.intp]) -> NDArray[np.float64]:
    """Heights of the level cuts, highest first [mm]."""
    return distinct_values(_heights_mm(ctx, rows[np.abs(ctx.facts.dz[rows]) < 1e-6]))[0][::-1]


def _heights_mm(ctx: Context, rows: NDArray[np.intp]) -> NDArray[np.float64]:
    """Heights at which motions end, to a micrometre [mm]."""
    return np.asarray(np.round(ctx.facts.motions.end_mm[rows, 2], 3))


@rule("DEPTH-02", Severity.WARNING, "the whole depth in one pass", needs=("stock_top", "stock_bottom", "motions"),
      what="number of depth levels")  # fmt: skip
def _one_level(ctx: Context, top_mm: float, bottom_mm: float) -> Iterator[Finding]:
    """The cutter goes through the whole thickness in a single level.

    Flags: tools whose only cutting level reaches the underside of the stock; where machine, material and
      cutter are known, DEPTH-01 judges the depth instead.
    Why: a forgotten depth step is a classic, and full depth in metal breaks the cutter.
    Wrong: one outline at Z-6 in a 6 mm plate.
    Right: the outline at Z-0.5, -1.0, -1.5 and so on.
    Limits of the rule: thin or soft stock may well be cut in one pass.
    Source: common practice, no source.
    """
    facts = ctx.facts
    judged = {cut.tool for cut in cut_uses(ctx)[0]}
    for tool, rows in facts.split(facts.cutting & facts.sideways):
        levels = _levels(ctx, rows)
        thick = top_mm - bottom_mm
        if tool in judged or len(levels) != 1 or levels[0] > bottom_mm + 0.1 * thick:
            continue
        yield ctx.say.finding(
            "DEPTH-02",
            Severity.WARNING,
            f"T{tool_name(tool)} cuts through the whole {ctx.say.mm(thick)} in one level",
            rows=rows,
            compared=(top_mm - levels[0], thick, "mm"),
            action="check the depth step; give machine, material and cutter in the job to have it computed",
        )


@rule("DEPTH-03", Severity.WARNING, "one step much deeper than the others", needs=("stock_top", "motions"),
      what="evenness of the depth steps")  # fmt: skip
def _uneven(ctx: Context, top_mm: float) -> Iterator[Finding]:
    """One depth step stands out.

    Flags: among four or more levels of a tool, a step more than 1.6 times the median step.
    Why: a typed or dropped digit makes one pass twice as deep as the cutter was getting.
    Wrong: levels -0.5, -1.0, -1.5, -3.0, -3.5.
    Right: even steps.
    Limits of the rule: parts with features at many depths have uneven levels by nature; then this may be nothing.
    Source: common practice, no source.
    """
    facts = ctx.facts
    for tool, rows in facts.split(facts.cutting & facts.sideways):
        levels = _levels(ctx, rows)
        if not 4 <= len(levels) <= 60:
            continue
        steps = -np.diff(np.concatenate([[top_mm], levels]))
        usual = float(np.median(steps))
        at = int(np.argmax(steps))
        if usual > 0.05 and steps[at] > tuning.UNEVEN_STEP * usual:
            on = rows[_heights_mm(ctx, rows) == levels[at]]
            depth = facts.depth_mm[on]
            if ctx.removal is not None and not (depth > tuning.UNEVEN_STEP * usual * 0.9).any():
                continue
            yield ctx.say.finding(
                "DEPTH-03",
                Severity.WARNING,
                f"T{tool_name(tool)}: the step down to Z {ctx.say.mm(levels[at])} is "
                f"{ctx.say.mm(steps[at])}, the usual one {ctx.say.mm(usual)}",
                rows=on,
                word="Z",
                compared=(steps[at], tuning.UNEVEN_STEP * usual, "mm"),
                action="check for a missing level or a mistyped depth",
            )


@rule("DEPTH-04", Severity.NOTE, "last slice too thin to cut", needs=("stock_top", "motions"),
      what="thickness of the last slice")  # fmt: skip
def _thin_slice(ctx: Context, top_mm: float) -> Iterator[Finding]:
    """The last level takes next to nothing off the floor.

    Flags: a lowest level less than 0.1 mm below the level above it, while the steps above are 0.2 mm or more.
    Why: so thin a slice rubs over its whole length and polishes instead of cutting.
    Wrong: levels -0.6, -1.2, -1.8, -1.85.
    Right: three or four even steps.
    Limits of the rule: a finishing pass over the floor may be meant so.
    Source: common practice, no source.
    """
    facts = ctx.facts
    for tool, rows in facts.split(facts.cutting & facts.sideways):
        levels = _levels(ctx, rows)
        if not 3 <= len(levels) <= 60:
            continue
        steps = -np.diff(np.concatenate([[top_mm], levels]))
        if 0 < steps[-1] < tuning.THIN_SLICE_MM and np.median(steps[:-1]) > 2 * tuning.THIN_SLICE_MM:
            on = rows[_heights_mm(ctx, rows) == levels[-1]]
            even = (top_mm - levels[-1]) / (len(levels) - 1)
            yield ctx.say.finding(
                "DEPTH-04",
                Severity.NOTE,
                f"T{tool_name(tool)}: the last slice is only {ctx.say.mm(steps[-1])} thick",
                rows=on,
                compared=(steps[-1], tuning.THIN_SLICE_MM, "mm"),
                action=f"{len(levels) - 1} even steps of {ctx.edit.mm(even)} reach the same depth",
            )


@rule("DEPTH-05", Severity.WARNING, "deep narrow slot", needs=("cutters", "stock_top", "motions"),
      what="depth of slots against their width")  # fmt: skip
def _narrow_slot(ctx: Context, setup: Setup, top_mm: float) -> Iterator[Finding]:
    """A slot deeper than it is wide, cut at full width.

    Flags: full-width cuts whose floor lies more than 1 diameter (a note) or 2 diameters (a warning) below
      the stock top; in metal 1.5; always as far as the material table says that chips get out of a slot.
    Why: chips fall back and are cut again; they pack, and weld in metal.
    Wrong: a 3 mm slot 8 mm deep at the width of the cutter.
    Right: the slot widened to 1.2 to 1.5 diameters, air on the cutter, pauses to clear.
    Limits of the rule: without a simulated cut every sideways cut counts as a slot, and this is a note only.
    Source: common practice, no source.
    """
    facts = ctx.facts
    material, strong = setup.material, tuning.NARROW_SLOT_OTHER
    if material is not None:
        strong = tuning.NARROW_SLOT_METAL if material.is_metal else strong
        strong = max(strong, material.slot_depth_per_diameter.high)
    for tool, rows, fitted in ctx.by_cutter(facts.cutting & facts.milling):
        if fitted.cutter.kind in ("twist drill", "spot drill"):
            continue
        diameter = fitted.cutter.diameter_mm
        if ctx.removal is not None:
            rows = rows[ctx.removal.engagement_rad[rows] > np.radians(150)]
        deep = top_mm - facts.z_low[rows]
        wide = deep > diameter + 1e-6
        if wide.any():
            at = int(np.argmax(deep))
            ratio = float(deep[at] / diameter)
            sure = ctx.removal is not None
            yield ctx.say.finding(
                "DEPTH-05",
                Severity.WARNING if ratio > strong + 1e-6 and sure else Severity.NOTE,
                f"T{tool_name(tool)}: a slot {ctx.say.mm(deep[at])} deep at full width, "
                f"{ratio:.1f} times the cutter" + width_words(ctx),
                rows=rows[wide],
                worst=int(rows[at]),
                compared=(ratio, 1.0, "diameters"),
                action=f"widen the slot to {ctx.edit.mm(1.25 * diameter)}, blow the chips out, stop when the "
                "sound changes",
            )
