"""Which cutter is meant, and what happens at a change."""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np

from millcalc.findings import Finding, Severity
from millcalc.job.setup import Setup
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
def _no_cutter(ctx: Context, setup: Setup) -> Iterator[Finding]:
    """The program uses a tool number for which the job names no cutter.

    Flags: feed motions with a tool number that is not in the job; a bare T word (no M6) that is not, though the job's
      only cutter is taken; or motions with no number, where the job does not name exactly one cutter.
    Why: nothing that depends on the cutter can be checked for those motions.
    Wrong: ``T3 M6`` and a job with cutters 1 and 2.
    Right: every number of the program in the job.
    Limits of the rule: what is really in the collet is for the person to look at.
    Source: the job.
    """
    facts = ctx.facts
    strange = [e for e in ctx.say.events("tool select") if e.value not in setup.cutters]
    if facts.assumed_tool is not None and strange:
        asked, has = f"T{strange[0].value:.0f}", f"T{facts.assumed_tool}"
        yield ctx.say.at_event(
            "TOOL-01",
            Severity.WARNING,
            f"the program asks for {asked}, the job knows {has}; everything is judged with {has}",
            strange[0],
            word="T",
            action=f"name the cutter under {asked[1:]} in the job, or write {has} in the program",
            count=len(strange),
        )
    for tool, rows in facts.split(facts.feed):
        if tool in setup.cutters:
            continue
        known = ", ".join(f"T{n}" for n in sorted(setup.cutters)) or "none"
        yield ctx.say.finding(
            "TOOL-01",
            Severity.WARNING,
            f"T{tool} has no cutter in the job (which names {known})"
            if tool >= 0
            else f"the program names no tool number, and the job names {known}",
            rows=rows,
            word="T",
            at=next(
                (ctx.say.word_span(e.line, "T") for e in ctx.say.events("tool select") if e.value == tool),
                None,
            ),
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
      no changer: also M6 without a stop (a warning; a note where that is unknown).
    Why: a controller that skips the change cuts on with the wrong cutter, and at the wrong height.
    Wrong: ``T2`` in the middle of the program, and no M6 or M0.
    Right: one file a cutter, or ``M0 (fit T2, zero Z)`` at the change.
    Limits of the rule: whether M6 stops your controller is for you to know; the job can say that there is a changer.
    Source: common practice, no source.
    """
    facts, motions = ctx.facts, ctx.program.motions
    able = ctx.setup.job.controller.tool_changer if ctx.setup else None
    rows = np.flatnonzero(motions.moves)
    tools = motions.tool[rows]
    changes = rows[1:][(tools[1:] != tools[:-1]) & (tools[:-1] >= 0)]
    stops = [e.motion for k in ("stop", "optional stop") for e in ctx.say.events(k)]
    sixes = [e.motion for e in ctx.say.events("tool change")]
    last = 0
    bare: dict[bool, list[int]] = {}
    for row in changes.tolist():
        stopped = any(last < m <= row for m in stops)
        if not (stopped or able):
            bare.setdefault(any(last < m <= row for m in sixes), []).append(row)
        last = row
    for six, found in bare.items():
        names = ", ".join(dict.fromkeys(f"T{int(facts.tool[row])}" for row in found))
        verb = "come" if "," in names else "comes"
        yield ctx.say.finding(
            "TOOL-02",
            Severity.STOP if not six else Severity.NOTE if able is None else Severity.WARNING,
            f"{names} {verb} into use with M6 only; a controller without a changer may skip it"
            if six
            else f"{names} {verb} into use without a stop",
            rows=found,
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
def _comment(ctx: Context, setup: Setup) -> Iterator[Finding]:
    """A comment speaks of another cutter than the job.

    Flags: comments with a diameter (``D=6``, ``dia 3.175``, ``6mm flat``) that no cutter of the job has; one written
      without a unit is tried in both.
    Why: a program made for another diameter cuts every slot and outline wrong by the difference.
    Wrong: ``(T1 D=6 flat)`` and a 3.175 mm cutter under T1 in the job.
    Right: the cutter the program was made for.
    Limits of the rule: only comments that look like a diameter are understood.
    Source: common practice, no source.
    """
    inch = "G20" in ctx.program.units_seen and "G21" not in ctx.program.units_seen
    sizes = {n: f.cutter.diameter_mm for n, f in setup.cutters.items()}
    for event in ctx.say.events("comment"):
        for match in (*DIAMETER.finditer(event.text), *SIZE_FIRST.finditer(event.text)):
            said = (match.group(2) or "").lower()
            units = [("mm" if said == "mm" else "in")] if said else ["in", "mm"] if inch else ["mm", "in"]
            try:
                meant = [length_mm(f"{match.group(1).replace(',', '.')} {unit}") for unit in units]
            except ValueError:
                continue
            size = meant[0]
            named = re.search(r"\bT\s*(\d+)", event.text)
            number = int(named.group(1)) if named else None
            right = sizes.get(number) if number is not None else None
            has = sizes.values() if right is None else [right]
            fits = any(abs(value - one) <= 0.03 for value in has for one in meant)
            if size > 0 and not fits:
                known = f"T{number} is {ctx.say.mm(right, 0.001)}" if right is not None else "no cutter of it"
                yield ctx.say.at_event(
                    "TOOL-04",
                    Severity.WARNING,
                    f"a comment speaks of {ctx.say.mm(size, 0.001)}; in the job {known}",
                    event,
                    action="fit the cutter the program was made for, or correct the job",
                )


@rule("TOOL-10", Severity.WARNING, "no tool named", needs=("motions",), what="which tool the program wants")
def _no_number(ctx: Context) -> Iterator[Finding]:
    """A tool is selected but never changed to, or the job has a cutter the program never uses.

    Flags: T words without any M6 after them (a warning where other cutters are fitted with M6: the change is lost);
      cutters of the job that the program does not use.
    Why: the wrong cutter may be in the collet for what follows.
    Wrong: ``T2`` without ``M6``.
    Right: ``T2 M6``.
    Limits of the rule: a program without any T word is fine when the job names one cutter.
    Source: common practice, no source.
    """
    facts = ctx.facts
    selected = ctx.say.events("tool select")
    changes = ctx.say.events("tool change")
    fitted = changes[-1] if changes else None
    late = [
        e
        for e in selected
        if fitted and (e.motion, e.line) > (fitted.motion, fitted.line) and facts.feed[e.motion :].any()
    ]
    if late and fitted and late[0].value != fitted.value:
        yield ctx.say.at_event(
            "TOOL-10",
            Severity.WARNING,
            f"T{late[0].value:.0f} is selected, but no M6 follows; T{fitted.value:.0f} cuts on",
            late[0],
            word="T",
            action=f"write M6 after T{late[0].value:.0f}, or take the word out",
        )
    if selected and not changes:
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
        if unused:
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
    if level is None:
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
                compared=(z, level, "mm"),
                action=f"go to Z {ctx.edit.mm(level)} first, and zero Z with the new cutter before",
            )
