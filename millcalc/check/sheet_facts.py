"""What the sheet for the machine says of each cutter and hold-down, as texts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from millcalc.check.side_view import Silhouette, silhouette

if TYPE_CHECKING:
    from millcalc.check.model import CheckReport
    from millcalc.preflight.context import Context

LEVELS = 4  # levels told of a cutter; the rest is counted
MOST_LETTERS = 110  # of a text that somebody else wrote, such as a reason
SURFACE_LEVELS = 60  # more different heights than this are a surface, not passes


@dataclass(frozen=True)
class SheetTool:
    """A cutter on the sheet; texts as they are shown.

    speed: Dial step or speed, large on the sheet.
    """

    name: str
    cutter: str
    stickout: str
    flutes: str
    speed: str
    speed_note: str
    feeds: str
    down: str
    lowest: str
    levels: tuple[str, ...]
    silhouette: Silhouette | None


@dataclass(frozen=True)
class SheetScrew:
    """A screw or clamp on the sheet; texts as they are shown."""

    name: str
    x: str
    y: str
    gap: str


def short(text: str) -> str:
    """Somebody's text, cut short so that the page holds it.

    text: Any.
    """
    text = " ".join(text.split())
    return text if len(text) <= MOST_LETTERS else text[: MOST_LETTERS - 1] + "…"


def sheet_tools(ctx: Context, report: CheckReport) -> list[SheetTool]:
    """The program's cutters in the order in which they are used.

    ctx: Program, set-up and simulated cut.
    report: What was found in them.
    Returns: Texts for the sheet.
    """
    facts, say = ctx.facts, ctx.say
    used = facts.tool[facts.feed]
    order = [int(used[i]) for i in np.sort(np.unique(used, return_index=True)[1])]
    tools = []
    for number in order:
        fitted = facts.fitted(number)
        mine = facts.cutting & (facts.tool == number)
        speed, note = _speed(ctx, number)
        side, down = mine & facts.sideways, mine & facts.going_down
        lows = facts.z_low[mine & np.isfinite(facts.z_low)]
        out = "unknown: measure"
        if fitted is not None and fitted.stickout_mm is not None:
            out = say.mm(fitted.stickout_mm)
        tools.append(
            SheetTool(
                name=f"T{number}" if number >= 0 else "the cutter",
                cutter=fitted.cutter.title if fitted else "not in the job",
                stickout=out,
                flutes=str(fitted.cutter.flutes) if fitted else "?",
                speed=speed,
                speed_note=note,
                feeds=_range(facts.feed_mm_min[side], say.feed),
                down=_range(facts.feed_mm_min[down], say.feed),
                lowest=say.mm(float(lows.min())) if len(lows) else "nothing cut",
                levels=_levels(ctx, np.flatnonzero(side)),
                silhouette=silhouette(ctx, number) if fitted is not None and ctx.setup is not None else None,
            )
        )
    return tools


def _range(values: NDArray[np.float64], show: Any) -> str:
    good = values[np.isfinite(values)]
    if not len(good):
        return "none"
    low, high = float(good.min()), float(good.max())
    return show(high) if math.isclose(low, high, rel_tol=0.01) else f"{show(low)} to {show(high)}"


def _speed(ctx: Context, tool: int) -> tuple[str, str]:
    """What to set for the speed, and a remark: the dial's step where it is dialled."""
    facts = ctx.facts
    setup = ctx.setup
    rows = facts.feed & (facts.tool == tool)
    words = facts.motions.spindle_rpm[rows]
    words = np.unique(words[np.isfinite(words)])
    several = " (several in the program)" if len(words) > 1 else ""
    if facts.speed_set_by not in ("dial", "fixed"):
        if not len(words):
            return "speed?", "the program sets none"
        words, beyond = _turnable(ctx, words)
        if not len(words):
            return "no speed", f"{beyond}: nothing to set until the program is right"
        several = (several if len(words) > 1 else "") + (f"; {beyond}" if beyond else "")
        if len(words) > 2:
            return f"{words[0]:.0f}–{ctx.say.rpm(float(words[-1]))}", "set by the program" + several
        return " / ".join(ctx.say.rpm(float(word)) for word in words), "set by the program" + several
    spindle = setup.machine.spindle if setup and setup.machine else None
    mark = setup.job.spindle.dial_mark if setup else None
    rpm = facts.hand_rpm
    if mark is None and rpm is None and spindle is not None and spindle.dial and len(words):
        nearest = min(spindle.dial, key=lambda m: abs(m.rpm - float(words[-1])))
        mark, rpm = nearest.mark, nearest.rpm
    if mark is not None:
        about = f"about {ctx.say.rpm(rpm)}" if rpm else "by hand"
        return f"dial {mark}", about + several
    return (ctx.say.rpm(rpm), "by hand" + several) if rpm else ("dial?", "look it up, write it here")


def _turnable(ctx: Context, words: NDArray[np.float64]) -> tuple[NDArray[np.float64], str]:
    """Those of the program's speeds that the spindle can turn, and what is said of the others."""
    machine = ctx.setup.machine if ctx.setup else None
    if machine is None:
        return words, ""
    low, high = machine.spindle.min_rpm or 0.0, machine.spindle.max_rpm or math.inf
    good = (words >= low * (1 - 1e-9)) & (words <= high * (1 + 1e-9))
    if good.all():
        return words, ""
    wrong = ", ".join(f"S{word:.0f}" for word in words[~good][:3])
    return words[good], f"{wrong} cannot be turned: {ctx.say.rpm(low)} to {ctx.say.rpm(high)}"


def _levels(ctx: Context, rows: NDArray[np.intp]) -> tuple[str, ...]:
    """The depths of the passes in words, equal steps told as one."""
    facts, say = ctx.facts, ctx.say
    heights = facts.motions.end_mm[rows[np.abs(facts.dz[rows]) < 1e-6], 2]
    heights = heights[np.isfinite(heights)]
    if not len(heights):
        return ()
    levels = np.unique(np.round(heights, 2))[::-1]
    if len(levels) > SURFACE_LEVELS:
        return (f"a surface between Z {say.mm(float(levels[0]))} and Z {say.mm(float(levels[-1]))}",)
    top = facts.top_mm if facts.top_mm is not None else float(levels[0])
    steps = -np.diff(np.concatenate([[max(top, float(levels[0]))], levels]))
    texts: list[str] = []
    begin = 0
    for i in range(1, len(levels) + 1):
        if i == len(levels) or abs(steps[i] - steps[begin]) > 0.015:
            count = i - begin
            last, step = say.mm(float(levels[i - 1])), say.mm(float(steps[begin]))
            if count == 1 and steps[begin] < 0.005:
                texts.append(f"Z {last}")
            elif count == 1:
                texts.append(f"Z {last}: {step} deeper")
            else:
                texts.append(f"to Z {last}: {count} × {step}")
            begin = i
    if len(texts) > LEVELS:
        texts = [*texts[: LEVELS - 1], f"... to Z {say.mm(float(levels[-1]))} in {len(levels)} levels"]
    return tuple(texts)


def sheet_holds(ctx: Context, report: CheckReport) -> list[SheetScrew]:
    """Screws, clamps and other holds, with their gap to the nearest cut.

    ctx: Program and set-up.
    report: What was found in them.
    Returns: Texts for the sheet.
    """
    setup, say = ctx.setup, ctx.say
    if setup is None:
        return []
    gaps = {c.name: c for c in report.clearances}

    def gap(name: str) -> str:
        found = gaps.get(name)
        if found is None:
            return "nothing near"
        return say.mm(found.gap_mm) if found.gap_mm >= 0 else "HIT"

    rows = [
        SheetScrew(f"S{i} {short(s.name)[:22]}", say.mm(s.x_mm), say.mm(s.y_mm), gap(s.name))
        for i, s in enumerate(setup.screws or (), 1)
    ]
    for i, (clamp, box) in enumerate(setup.clamps or (), 1):
        name = clamp.name or f"clamp {i}"
        rows.append(
            SheetScrew(short(name)[:26], say.mm((box.x_min + box.x_max) / 2), say.mm((box.y_min + box.y_max) / 2),
                       gap(name))
        )  # fmt: skip
    rows += [SheetScrew(short(text)[:48], "", "", "") for text in report.setup.hold or ()]
    return rows
