"""Whether a cutter fits the spindle and suits the cut."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millcalc.findings import Finding, NotChecked, Severity
from millcalc.job.setup import Setup
from millcalc.preflight.context import Context
from millcalc.preflight.registry import rule
from millcalc.tables.models import Machine, Material


@rule("TOOL-05", Severity.STOP, "shank does not fit the collet", needs=("machine", "cutters"),
      what="shanks against the largest collet")  # fmt: skip
def _shank(ctx: Context, setup: Setup, machine: Machine) -> Iterator[Finding]:
    """A shank thicker than the spindle takes.

    Flags: cutters of the job whose shank is thicker than the spindle's largest collet.
    Why: it cannot be clamped; a near size forced in is not held, and creeps out.
    Wrong: an 8 mm shank in a spindle that ends at 1/4 in.
    Right: a cutter with a shank the spindle takes.
    Limits of the rule: whether the right collet is fitted (3.175 mm in a 3 mm collet does not hold) is for the person.
    Source: the machine table of the job.
    """
    most = machine.spindle.largest_shank_mm
    for number, fitted in setup.cutters.items():
        if fitted.cutter.shank_mm > most + 0.02:
            yield Finding(
                "TOOL-05",
                Severity.STOP,
                f"T{number} has a shank of {ctx.say.mm(fitted.cutter.shank_mm, 0.001)}; the spindle takes "
                f"{ctx.say.mm(most, 0.001)}",
                "use a cutter with a thinner shank",
                measured=fitted.cutter.shank_mm,
                limit=most,
                unit="mm",
                tool=number,
            )


@rule("TOOL-06", Severity.NOTE, "stickout longer than needed", needs=("cutters", "stock_top", "motions"),
      what="stickout against what the depth needs")  # fmt: skip
def _stickout(ctx: Context, setup: Setup, top_mm: float) -> Iterator[Finding | NotChecked]:
    """The cutter sticks out farther than the depth needs.

    Flags: stickout more than 3 mm beyond the deepest cut, the highest screw or clamp, and 2 mm; flutes stay
      out of the collet.
    Why: bending grows with the third power of the length.
    Wrong: 28 mm of stickout for a cut 6 mm deep.
    Right: as short as the flutes and the depth allow.
    Limits of the rule: screws and clamps anywhere count, near the cut or not.
    Source: cantilever, closed form; the 3 mm are common practice, no source.
    """
    facts = ctx.facts
    tops = [s.z_top_mm for s in setup.screws or ()] + [b.z_max for _, b in setup.clamps or ()]
    highest = max([t for t in tops if np.isfinite(t)], default=top_mm)
    for tool, rows, fitted in ctx.by_cutter(facts.cutting):
        if fitted.stickout_mm is None:
            yield NotChecked(
                "TOOL-06", f"stickout of T{tool}", "it is unknown", (f"cutters.{tool}.stickout_mm",)
            )
            continue
        deepest = float(np.min(facts.z_low[rows]))
        need = max(max(highest, top_mm) - deepest + 2.0, fitted.cutter.flute_length_mm + 1.0)
        need = _upward(need, ctx.units)
        if fitted.stickout_mm - need > 3.0:
            gain = (fitted.stickout_mm / need) ** 3
            yield ctx.say.finding(
                "TOOL-06",
                Severity.NOTE,
                f"T{tool} sticks out {ctx.say.mm(fitted.stickout_mm)}; {ctx.say.mm(need)} would do",
                rows=rows,
                compared=(fitted.stickout_mm, need, "mm"),
                action=f"at {ctx.say.mm(need)} the cutter itself is {gain:.1f} times as stiff",
            )


def _upward(length_mm: float, units: str) -> float:
    """A stickout rounded up to half a millimetre, or a sixteenth of an inch [mm]."""
    step = 0.5 if units == "mm" else 25.4 / 16
    return float(np.ceil(length_mm / step - 1e-9) * step)


@rule("TOOL-07", Severity.WARNING, "too many flutes for a slot", needs=("material", "cutters", "motions"),
      what="number of flutes in slots")  # fmt: skip
def _flutes(ctx: Context, material: Material) -> Iterator[Finding]:
    """More flutes than the material's chips leave room for in a slot.

    Flags: full-width cuts with more flutes than the material table's number for slots.
    Why: the chips have no room between the flutes; they pack, and weld in aluminium.
    Wrong: four flutes in an aluminium slot.
    Right: one or two.
    Limits of the rule: without a simulated cut every sideways cut counts as a slot, and this is a note.
    Source: the material table of the job; common practice, no source.
    """
    most = material.max_flutes_slot
    facts = ctx.facts
    for tool, rows, fitted in ctx.by_cutter(facts.cutting & facts.milling):
        if fitted.cutter.flutes <= most:
            continue
        if ctx.removal is not None:
            rows = rows[ctx.removal.engagement_rad[rows] > np.radians(150)]
        if len(rows):
            yield ctx.say.finding(
                "TOOL-07",
                Severity.WARNING if ctx.removal is not None else Severity.NOTE,
                f"T{tool} cuts slots with {fitted.cutter.flutes} flutes; {most} is the most in this material",
                rows=rows,
                compared=(fitted.cutter.flutes, most, "flutes"),
                action=f"use a cutter with {most} flute{'s' if most > 1 else ''} or fewer",
            )


@rule("TOOL-08", Severity.NOTE, "spiral against the cut", needs=("material", "cutters", "stock_top", "motions"),
      what="direction of the spiral")  # fmt: skip
def _spiral(ctx: Context, setup: Setup, top_mm: float) -> Iterator[Finding]:
    """A down-cut in a deep slot, or an up-cut in a thin plate.

    Flags: down-cut cutters deeper than one diameter; up-cut cutters in plates thinner than 3 mm.
    Why: a down-cut pushes the chips to the bottom of the slot; an up-cut lifts a thin plate.
    Wrong: a down-cut, 10 mm deep in MDF with a 6 mm cutter.
    Right: an up-cut for deep slots, a down-cut or tape for thin plates.
    Limits of the rule: a wide opening lets chips out of a down-cut as well.
    Source: common practice, no source.
    """
    facts = ctx.facts
    thick = setup.job.stock.thickness_mm
    for tool, rows, fitted in ctx.by_cutter(facts.cutting & facts.milling):
        deep = top_mm - float(np.min(facts.z_low[rows]))
        if fitted.cutter.spiral == "down" and deep > 1.05 * fitted.cutter.diameter_mm:
            text = f"T{tool} is a down-cut and goes {ctx.say.mm(deep)} deep: chips stay in the slot"
            action = "use an up-cut for the deep part, or clear the chips between levels"
        elif fitted.cutter.spiral == "up" and thick is not None and thick < 3.0:
            text = f"T{tool} is an up-cut and lifts this {ctx.say.mm(thick)} plate"
            action = "hold it down near the cut, use tape, or a straight or down-cut cutter"
        else:
            continue
        yield ctx.say.finding("TOOL-08", Severity.NOTE, text, rows=rows, action=action)


@rule(
    "TOOL-09",
    Severity.STOP,
    "drill moved sideways",
    needs=("cutters", "motions"),
    what="sideways cuts of drills",
)
def _drill(ctx: Context) -> Iterator[Finding]:
    """A drill cuts sideways.

    Flags: feed motions with a sideways part inside the material with a twist drill; with a spot drill as a
      note.
    Why: a twist drill has no edges on its side; it bends and breaks.
    Wrong: the outline still on T2, which is the drill.
    Right: the outline with an end mill.
    Limits of the rule: a spot drill may be meant to chamfer.
    Source: common practice, no source.
    """
    facts = ctx.facts
    for tool, rows, fitted in ctx.by_cutter(facts.cutting & (facts.plan_mm > 0.05)):
        if fitted.cutter.kind in ("twist drill", "spot drill"):
            twist = fitted.cutter.kind == "twist drill"
            yield ctx.say.finding(
                "TOOL-09",
                Severity.STOP if twist else Severity.NOTE,
                f"T{tool} is a {fitted.cutter.kind} and cuts sideways",
                rows=rows,
                action="check the tool number of this part of the program",
            )


@rule("TOOL-12", Severity.NOTE, "coating or steel that welds", needs=("material", "cutters", "motions"),
      what="cutter material against work material")  # fmt: skip
def _coating(ctx: Context, material: Material) -> Iterator[Finding]:
    """A cutter material that does not suit the work.

    Flags: coated carbide in aluminium (unless the material table has a speed band for it).
    Why: common coatings contain aluminium themselves and are rougher: chips weld to them.
    Wrong: a dark coated cutter for steel in soft aluminium.
    Right: bright, polished, uncoated carbide.
    Limits of the rule: coatings made for aluminium exist and are fine; the table does not tell them apart.
    Source: common practice, no source.
    """
    facts = ctx.facts
    if material.family != "aluminium" or material.cutting_speed_m_min.carbide_coated is not None:
        return
    for tool, rows, fitted in ctx.by_cutter(facts.cutting):
        if fitted.cutter.material == "carbide coated":
            yield ctx.say.finding(
                "TOOL-12",
                Severity.NOTE,
                f"T{tool} is coated; in aluminium bright uncoated carbide welds less",
                rows=rows,
                action="use an uncoated polished cutter if you have one",
            )
