"""Cutters: which one, does it fit, does it suit the cut, and what happens at a change."""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np

from millcalc.findings import Finding, NotChecked, Severity
from millcalc.preflight.context import Context
from millcalc.preflight.registry import rule
from millcalc.units import length_mm

DIAMETER = re.compile(
    r"(?:\bD(?:IA(?:METER)?)?\.?\s*[=:]?\s*|Ø\s*)(\d+(?:[.,]\d+)?)\s*(mm|in(?:ch)?|\")?", re.IGNORECASE
)
SIZE_FIRST = re.compile(r"\b(\d+(?:[.,]\d+)?|\d+/\d+)\s*(mm|in(?:ch)?|\")\s+(?:flat|end|ball|up|down|straight|"
                        r"single|two|one|carbide|cutter|mill|bit|drill)", re.IGNORECASE)  # fmt: skip


@rule("TOOL-01", Severity.WARNING, "tool number without a cutter", needs=("job", "motions"),
      what="which cutter is fitted")  # fmt: skip
def _no_cutter(ctx: Context) -> Iterator[Finding]:
    """The program uses a tool number for which the job names no cutter.

    Flags: feed motions with a tool number that is not in the job; or with none, where the job does not name
      exactly one cutter.
    Why: nothing that depends on the cutter can be checked for those motions.
    Wrong: ``T3 M6`` and a job with cutters 1 and 2.
    Right: every number of the program in the job.
    Limits of the rule: what is really in the collet is for the person to look at.
    Source: the job.
    """
    assert ctx.setup is not None
    facts = ctx.facts
    for tool, rows in facts.split(facts.feed):
        if tool in ctx.setup.cutters:
            continue
        known = ", ".join(f"T{n}" for n in sorted(ctx.setup.cutters)) or "none"
        yield ctx.say.finding(
            "TOOL-01",
            Severity.WARNING,
            f"T{tool} has no cutter in the job (which names {known})"
            if tool >= 0
            else f"the program names no tool number, and the job names {known}",
            rows=rows,
            word="T",
            action="name the cutter under this number in the job"
            if tool >= 0
            else "write the tool number in the program, or leave one cutter in the job",
        )


@rule(
    "TOOL-02", Severity.STOP, "tool change without a stop", needs=("motions",), what="stops at tool changes"
)
def _no_stop(ctx: Context) -> Iterator[Finding]:
    """A second cutter comes into use without a program stop.

    Flags: a change of tool number after the first without M6, M0, M1 or M60 in between. Where the machine has
      no changer or it is unknown: also M6 without a stop (a warning).
    Why: a controller that skips the change cuts on with the wrong cutter, and at the wrong height.
    Wrong: ``T2`` in the middle of the program, and no M6 or M0.
    Right: one file a cutter, or ``M0 (fit T2, zero Z)`` at the change.
    Limits of the rule: whether M6 stops your controller is for you to know; the job can say that there is a changer.
    Source: common practice, no source.
    """
    facts, motions = ctx.facts, ctx.program.motions
    able = ctx.setup.job.controller.tool_changer if ctx.setup else None
    rows = np.flatnonzero(motions.moves)
    if len(rows) < 2:
        return
    tools = motions.tool[rows]
    changes = rows[1:][(tools[1:] != tools[:-1]) & (tools[:-1] >= 0)]
    stops = [e.motion for k in ("stop", "optional stop") for e in ctx.say.events(k)]
    sixes = [e.motion for e in ctx.say.events("tool change")]
    last = 0
    for row in changes.tolist():
        stopped = any(last <= m <= row for m in stops)
        six = any(last < m <= row for m in sixes)
        last = row
        if stopped or able:
            continue
        yield ctx.say.finding(
            "TOOL-02",
            Severity.WARNING if six else Severity.STOP,
            f"T{int(facts.tool[row])} comes into use with M6 only; a controller without a changer may skip it"
            if six
            else f"T{int(facts.tool[row])} comes into use without a stop",
            rows=[row],
            action="one program a cutter, or M0 with a message at the change; then zero Z again",
        )


@rule("TOOL-03", Severity.STOP, "tool change or stop at a low height", needs=("motions",),
      what="height at stops and tool changes")  # fmt: skip
def _low_change(ctx: Context) -> Iterator[Finding]:
    """The program stops, or changes the tool, while the cutter is low.

    Flags: M0, M1, M60 or M6 while the cutter is below the stock's top (below the travel height where that is
      unknown).
    Why: a stopped machine does not stop a hand-switched motor: the cutter rubs in place, burns wood and
      welds to metal; a cutter cannot be changed in the material.
    Wrong: ``G1 X50 / M0`` at depth.
    Right: ``G1 X50 / G0 Z20 / M0``.
    Limits of the rule: the first tool change before any motion is not judged.
    Source: common practice, no source.
    """
    facts, motions = ctx.facts, ctx.program.motions
    level = facts.top_mm if facts.top_mm is not None else facts.travel_level_mm
    if level is None:
        return
    for kind in ("stop", "optional stop", "tool change"):
        for event in ctx.say.events(kind):
            if event.motion == 0:
                continue
            z = float(motions.end_mm[event.motion - 1, 2])
            if z < level - 0.01:
                yield ctx.say.at_event(
                    "TOOL-03",
                    Severity.STOP,
                    f"{'tool change' if kind == 'tool change' else 'program stop'} at Z {ctx.say.mm(z)}, "
                    + ("below the stock's top" if facts.top_mm is not None else "below the travel height"),
                    event,
                    word="M",
                    action="lift first: G0 to the travel height before this line",
                )


@rule("TOOL-04", Severity.WARNING, "comment names another diameter", needs=("cutters", "motions"),
      what="diameters in the program's comments")  # fmt: skip
def _comment(ctx: Context) -> Iterator[Finding]:
    """A comment speaks of another cutter than the job.

    Flags: comments with a diameter (``D=6``, ``dia 3.175``, ``6mm flat``) that no cutter of the job has.
    Why: a program made for another diameter cuts every slot and outline wrong by the difference.
    Wrong: ``(T1 D=6 flat)`` and a 3.175 mm cutter under T1 in the job.
    Right: the cutter the program was made for.
    Limits of the rule: only comments that look like a diameter are understood.
    Source: common practice, no source.
    """
    assert ctx.setup is not None
    inch = "G20" in ctx.program.units_seen and "G21" not in ctx.program.units_seen
    sizes = {n: f.cutter.diameter_mm for n, f in ctx.setup.cutters.items()}
    for event in ctx.say.events("comment"):
        for match in (*DIAMETER.finditer(event.text), *SIZE_FIRST.finditer(event.text)):
            unit = match.group(2) or ("in" if inch else "mm")
            unit = "mm" if unit.lower() == "mm" else "in"
            try:
                size = length_mm(f"{match.group(1).replace(',', '.')} {unit}")
            except ValueError:
                continue
            named = re.search(r"\bT\s*(\d+)", event.text)
            number = int(named.group(1)) if named else None
            right = sizes.get(number) if number is not None else None
            fits = (
                abs(right - size) <= 0.03
                if right is not None
                else any(abs(value - size) <= 0.03 for value in sizes.values())
            )
            if size > 0 and not fits:
                has = f"T{number} is {ctx.say.mm(right, 0.001)}" if right is not None else "no cutter of it"
                yield ctx.say.at_event(
                    "TOOL-04",
                    Severity.WARNING,
                    f"a comment speaks of {ctx.say.mm(size, 0.001)}; in the job {has}",
                    event,
                    action="fit the cutter the program was made for, or correct the job",
                )


@rule("TOOL-05", Severity.STOP, "shank does not fit the collet", needs=("machine", "cutters"),
      what="shanks against the largest collet")  # fmt: skip
def _shank(ctx: Context) -> Iterator[Finding]:
    """A shank thicker than the spindle takes.

    Flags: cutters of the job whose shank is thicker than the spindle's largest collet.
    Why: it cannot be clamped; a near size forced in is not held, and creeps out.
    Wrong: an 8 mm shank in a spindle that ends at 1/4 in.
    Right: a cutter with a shank the spindle takes.
    Limits of the rule: whether the right collet is fitted (3.175 mm in a 3 mm collet does not hold) is for the person.
    Source: the machine table of the job.
    """
    assert ctx.setup is not None and ctx.setup.machine is not None
    most = ctx.setup.machine.spindle.largest_shank_mm
    for number, fitted in ctx.setup.cutters.items():
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
def _stickout(ctx: Context) -> Iterator[Finding | NotChecked]:
    """The cutter sticks out farther than the depth needs.

    Flags: stickout more than 3 mm beyond the deepest cut, the highest screw or clamp, and 2 mm; flutes stay
      out of the collet.
    Why: bending grows with the third power of the length.
    Wrong: 28 mm of stickout for a cut 6 mm deep.
    Right: as short as the flutes and the depth allow.
    Limits of the rule: screws and clamps anywhere count, near the cut or not.
    Source: cantilever, closed form; the 3 mm are common practice, no source.
    """
    facts, setup = ctx.facts, ctx.setup
    assert setup is not None and facts.top_mm is not None
    tops = [s.z_top_mm for s in setup.screws or ()] + [b.z_max for _, b in setup.clamps or ()]
    highest = max([t for t in tops if np.isfinite(t)], default=facts.top_mm)
    for tool, rows in facts.split(facts.cutting):
        fitted = facts.fitted(tool)
        if fitted is None:
            continue
        if fitted.stickout_mm is None:
            yield NotChecked(
                "TOOL-06", f"stickout of T{tool}", "it is unknown", (f"cutters.{tool}.stickout_mm",)
            )
            continue
        deepest = float(np.min(facts.z_low[rows]))
        need = max(max(highest, facts.top_mm) - deepest + 2.0, fitted.cutter.flute_length_mm + 1.0)
        if fitted.stickout_mm - need > 3.0:
            gain = (fitted.stickout_mm / need) ** 3
            yield ctx.say.finding(
                "TOOL-06",
                Severity.NOTE,
                f"T{tool} sticks out {ctx.say.mm(fitted.stickout_mm)}; {ctx.say.mm(need, 0.5)} would do",
                rows=rows,
                measured=fitted.stickout_mm,
                limit=need,
                unit="mm",
                action=f"at {ctx.say.mm(need, 0.5)} the cutter itself is {gain:.1f} times as stiff",
            )


@rule("TOOL-07", Severity.WARNING, "too many flutes for a slot", needs=("material", "cutters", "motions"),
      what="number of flutes in slots")  # fmt: skip
def _flutes(ctx: Context) -> Iterator[Finding]:
    """More flutes than the material's chips leave room for in a slot.

    Flags: full-width cuts with more flutes than the material table's number for slots.
    Why: the chips have no room between the flutes; they pack, and weld in aluminium.
    Wrong: four flutes in an aluminium slot.
    Right: one or two.
    Limits of the rule: without a simulated cut every sideways cut counts as a slot, and this is a note.
    Source: the material table of the job; common practice, no source.
    """
    assert ctx.setup is not None and ctx.setup.material is not None
    most = ctx.setup.material.max_flutes_slot
    facts = ctx.facts
    for tool, rows in facts.split(facts.cutting & facts.sideways):
        fitted = facts.fitted(tool)
        if fitted is None or fitted.cutter.flutes <= most:
            continue
        if ctx.removal is not None:
            rows = rows[ctx.removal.engagement_rad[rows] > np.radians(150)]
        if len(rows):
            yield ctx.say.finding(
                "TOOL-07",
                Severity.WARNING if ctx.removal is not None else Severity.NOTE,
                f"T{tool} cuts slots with {fitted.cutter.flutes} flutes; {most} is the most in this material",
                rows=rows,
                measured=fitted.cutter.flutes,
                limit=most,
                unit="flutes",
                action=f"use a cutter with {most} flute{'s' if most > 1 else ''} or fewer",
            )


@rule("TOOL-08", Severity.NOTE, "spiral against the cut", needs=("material", "cutters", "stock_top", "motions"),
      what="direction of the spiral")  # fmt: skip
def _spiral(ctx: Context) -> Iterator[Finding]:
    """A down-cut in a deep slot, or an up-cut in a thin plate.

    Flags: down-cut cutters deeper than one diameter; up-cut cutters in plates thinner than 3 mm.
    Why: a down-cut pushes the chips to the bottom of the slot; an up-cut lifts a thin plate.
    Wrong: a down-cut, 10 mm deep in MDF with a 6 mm cutter.
    Right: an up-cut for deep slots, a down-cut or tape for thin plates.
    Limits of the rule: a wide opening lets chips out of a down-cut as well.
    Source: common practice, no source.
    """
    facts, setup = ctx.facts, ctx.setup
    assert facts.top_mm is not None and setup is not None
    thick = setup.job.stock.thickness_mm
    for tool, rows in facts.split(facts.cutting & facts.sideways):
        fitted = facts.fitted(tool)
        if fitted is None:
            continue
        deep = facts.top_mm - float(np.min(facts.z_low[rows]))
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
    for tool, rows in facts.split(facts.cutting & (facts.plan_mm > 0.05)):
        fitted = facts.fitted(tool)
        if fitted is not None and fitted.cutter.kind in ("twist drill", "spot drill"):
            twist = fitted.cutter.kind == "twist drill"
            yield ctx.say.finding(
                "TOOL-09",
                Severity.STOP if twist else Severity.NOTE,
                f"T{tool} is a {fitted.cutter.kind} and cuts sideways",
                rows=rows,
                action="check the tool number of this part of the program",
            )


@rule("TOOL-10", Severity.WARNING, "no tool named", needs=("motions",), what="which tool the program wants")
def _no_number(ctx: Context) -> Iterator[Finding]:
    """A tool is selected but never changed to, or the job has a cutter the program never uses.

    Flags: T words without any M6 after them, where motions then have no tool; cutters of the job that the
      program does not use.
    Why: the wrong cutter may be in the collet for what follows.
    Wrong: ``T2`` without ``M6``.
    Right: ``T2 M6``.
    Limits of the rule: a program without any T word is fine when the job names one cutter.
    Source: common practice, no source.
    """
    facts = ctx.facts
    selected = ctx.say.events("tool select")
    if selected and not ctx.say.events("tool change"):
        yield ctx.say.at_event(
            "TOOL-10",
            Severity.NOTE,
            f"T{selected[0].value:.0f} is selected, but no M6 follows",
            selected[0],
            word="T",
            action="make sure that this cutter is fitted before the start",
            count=len(selected),
        )
    if ctx.setup is not None and len(ctx.setup.cutters) > 1:
        unused = sorted(set(ctx.setup.cutters) - set(facts.tools))
        if unused and facts.tools:
            names = ", ".join(f"T{n}" for n in unused)
            yield Finding(
                "TOOL-10",
                Severity.NOTE,
                f"the job names {names}, which the program never uses",
                "check the tool numbers of program and job",
            )


@rule("TOOL-11", Severity.WARNING, "second cutter, Z to be zeroed again", needs=("motions",),
      what="zeroing after a tool change")  # fmt: skip
def _zero_again(ctx: Context) -> Iterator[Finding]:
    """After a change of cutter the first move goes down, or nothing asks for a new zero.

    Flags: programs with more than one cutter and no tool length offset, whose first motion after a change is
      not a lift or a move at travel height.
    Why: the new cutter is longer or shorter; the first way down is then too deep or in the air.
    Wrong: ``M0 / G1 Z-1 F120``.
    Right: ``M0 (zero Z with T2) / G0 Z10 / ...``.
    Limits of the rule: whether Z is zeroed again, only the person knows.
    Source: common practice, no source.
    """
    facts, motions = ctx.facts, ctx.program.motions
    if any(event.value in (43, 43.1) for event in ctx.say.events("length offset")):
        return
    rows = np.flatnonzero(motions.moves)
    tools = motions.tool[rows]
    level = facts.travel_level_mm
    if level is None or len(rows) < 2:
        return
    for row in rows[1:][(tools[1:] != tools[:-1]) & (tools[:-1] >= 0)].tolist():
        z = float(motions.end_mm[row, 2])
        if z < level - 0.01:
            yield ctx.say.finding(
                "TOOL-11",
                Severity.WARNING,
                f"the first move of T{int(facts.tool[row])} after the change ends at Z {ctx.say.mm(z)}, "
                f"below the travel height",
                rows=[row],
                word="Z",
                measured=z,
                limit=level,
                unit="mm",
                action=f"go to Z {ctx.say.mm(level)} first, and zero Z with the new cutter before",
            )


@rule("TOOL-12", Severity.NOTE, "coating or steel that welds", needs=("material", "cutters", "motions"),
      what="cutter material against work material")  # fmt: skip
def _coating(ctx: Context) -> Iterator[Finding]:
    """A cutter material that does not suit the work.

    Flags: coated carbide in aluminium (unless the material table has a speed band for it).
    Why: common coatings contain aluminium themselves and are rougher: chips weld to them.
    Wrong: a dark coated cutter for steel in soft aluminium.
    Right: bright, polished, uncoated carbide.
    Limits of the rule: coatings made for aluminium exist and are fine; the table does not tell them apart.
    Source: common practice, no source.
    """
    assert ctx.setup is not None and ctx.setup.material is not None
    material, facts = ctx.setup.material, ctx.facts
    if material.family != "aluminium" or material.cutting_speed_m_min.carbide_coated is not None:
        return
    for tool, rows in facts.split(facts.cutting):
        fitted = facts.fitted(tool)
        if fitted is not None and fitted.cutter.material == "carbide coated":
            yield ctx.say.finding(
                "TOOL-12",
                Severity.NOTE,
                f"T{tool} is coated; in aluminium bright uncoated carbide welds less",
                rows=rows,
                action="use an uncoated polished cutter if you have one",
            )
