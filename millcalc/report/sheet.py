"""The sheet for the machine: one page, black and white, to take to the shed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, get_args

import numpy as np
from numpy.typing import NDArray

from millcalc.report.page_html import base_name, environment, picture_url, policy, scale_bar, template_text
from millcalc.report.scene import Scene, make_scene
from millcalc.report.side_view import Silhouette, make_side_view

if TYPE_CHECKING:
    from millcalc.check.model import CheckReport
    from millcalc.preflight.context import Context

# How much of some lists is on the page; the rest is counted on it, and is in the report of the check.
LEVELS, WATCHES, CAUTIONS, FINDINGS = 4, 6, 3, 3
MOST_LETTERS = 110  # of a text that somebody else wrote, such as a reason
# Most width of the part's picture on the paper, and most height by the number of cutters [mm]
PICTURE_WIDTH_MM, PICTURE_HEIGHT_MM = 104.0, (62.0, 62.0, 52.0, 44.0, 36.0)
# Type sizes from comfortable to dense [pt]
TYPE_PT = (8.2, 7.6, 7.0, 6.4)
# Height of the page that is left on Letter, the lower of the two papers, with margins of 9 mm [mm]
PAGE_MM = 279.4 - 2 * 9.0 - 4.0
SURFACE_LEVELS = 60  # more different heights than this are a surface, not passes

LISTEN = (
    "An even hum and chips that look alike: let it run.",
    "A singing tone, slanted marks on the wall: it chatters. Pause; go half as deep, or change the speed by a tenth.",
    "Hissing, dust instead of chips: it rubs. Raise the feed or lower the speed; slower feed makes it worse.",
    "The motor's tone sinks: too deep. Pause, lift, go half as deep.",
)
LOOK = {
    "welds": "Silver smear on the edge: chips weld. Stop, clean the edge, a drop of fluid and air.",
    "melts": "Strings, or lumps at the edge: it melts. Stop; lower speed, more feed, air.",
    "burns": "Smell or brown walls: it burns. More feed, less speed; look into the vacuum again after half an hour.",
    "chars resin": "Smell or brown walls: the resin chars. More feed, less speed; mind the dust.",
    "work hardens": "Blue chips or a shiny floor: too hot. Less speed, do not dwell.",
    "none": "Chips packed in the slot: stop and clear them with a brush.",
}


@dataclass(frozen=True)
class Fit:
    """How a sheet is made to fit: the type size (index into TYPE_PT), and how much of each list it shows."""

    dense: int
    tools: int = 4
    holds: int = 8
    checks: int = 8
    accepted: int = 3
    unknown: int = 3


# From comfortable to crowded; the first that fits is taken.
FITS = (
    Fit(0),
    Fit(1),
    Fit(2),
    Fit(2, holds=6, accepted=2, unknown=2),
    Fit(2, tools=3, holds=5, checks=6, accepted=1, unknown=1),
    Fit(3, tools=3, holds=5, checks=6, accepted=1, unknown=1),
)


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


def sheet_page(ctx: Context, report: CheckReport, *, job_name: str = "") -> str:
    """The sheet as an HTML page that prints on one side of A4 or Letter.

    ctx: Program, set-up and simulated cut.
    report: What was found in them.
    job_name: The job file as the person named it, for the line that logs the cut.
    Returns: The page: no script, no network.
    """
    from millcalc.cutlog import models

    scene = make_scene(ctx, report)
    side = make_side_view(ctx, scene) if scene is not None else None
    style = template_text("sheet.css")
    tools = sheet_tools(ctx, report)
    material = ctx.setup.material if ctx.setup else None
    answers = (
        ("how it went", get_args(models.Outcome)),
        ("sound", get_args(models.Sound)),
        ("chips", get_args(models.ChipForm)),
        ("wall, floor", get_args(models.Finish)),
        ("cutter after", get_args(models.BitAfter)),
    )
    bar = scale_bar(scene) if scene is not None else None
    width_mm = _picture_width_mm(scene, len(tools))
    holds = _holds(ctx, report)
    fit = _fit(report, tools, holds)
    return (
        environment(ctx.units)
        .get_template("sheet.html.j2")
        .render(
            report=report,
            name=base_name(report.program.name),
            setup=ctx.setup,
            scene=scene,
            side=side,
            image=picture_url(scene.finished, grey=True) if scene and scene.finished else "",
            bar=bar,
            scale=scene.width_mm / (width_mm / 25.4 * 96) if scene else 1.0,
            picture_mm=width_mm,
            tools=tools[: fit.tools],
            more_tools=max(0, len(tools) - fit.tools),
            holds=holds[: fit.holds],
            more_holds=max(0, len(holds) - fit.holds),
            dense=fit.dense,
            listen=(*LISTEN, LOOK[material.heat.behaviour]) if material else LISTEN,
            answers=answers,
            cautions=report.cautions[:CAUTIONS],
            checks=report.checklist[: fit.checks],
            watches=report.times.watch[:WATCHES] if report.times else (),
            accepted=[(q, _short(q.reason)) for q in report.quieted[: fit.accepted]],
            more_accepted=max(0, len(report.quieted) - fit.accepted),
            worst=report.findings[:FINDINGS],
            more_findings=max(0, len(report.findings) - FINDINGS),
            unknown=_unknown(report, fit.unknown),
            short=_short,
            job_name=job_name,
            style=style,
            policy=policy(style, ""),
            units=ctx.units,
        )
    )


def _picture_width_mm(scene: Scene | None, tools: int) -> float:
    """Width of the picture on the paper, so that it is neither too wide nor too high."""
    if scene is None:
        return PICTURE_WIDTH_MM
    height = PICTURE_HEIGHT_MM[min(tools, len(PICTURE_HEIGHT_MM) - 1)]
    return min(PICTURE_WIDTH_MM, height * scene.width_mm / scene.height_mm)


def _fit(report: CheckReport, tools: list[SheetTool], holds: list[SheetScrew]) -> Fit:
    """The first fit that is no higher than the page, or the most crowded one."""
    for fit in FITS:
        if _height_mm(report, tools, holds, fit) <= PAGE_MM:
            return fit
    return FITS[-1]


def _height_mm(report: CheckReport, tools: list[SheetTool], holds: list[SheetScrew], fit: Fit) -> float:
    """Height of the page [mm]: lines counted by their letters, on the wide side.

    Note: A line of a half column holds 55 letters at 8.2 pt and is 3.6 mm high. The tests print crowded
      sheets on both papers.
    """
    scale = TYPE_PT[fit.dense] / TYPE_PT[0]
    tools, holds = tools[: fit.tools], holds[: fit.holds]
    picture = PICTURE_HEIGHT_MM[min(len(tools), len(PICTURE_HEIGHT_MM) - 1)]
    line, letters = 3.6 * scale, 55 / scale

    def lines(texts: list[str], letters: float = letters) -> int:
        return sum(math.ceil(len(text) / letters) for text in texts)

    worst = [f.fact[:MOST_LETTERS] + " " * 24 for f in report.findings[:FINDINGS] if f.severity != "note"]
    title = (report.setup.title or report.program.name)[:60]
    height = (5.5 + 2.0 * (len(title) > 40)) * line + lines(["".join(worst) + " " * 70], 2 * letters) * line
    height += max(picture + 3 * line, (9 + len(holds)) * line)
    height += sum((5.0 + max(0, len(t.levels) - 3)) * line + 1.5 for t in tools)
    height += 8.0 if len(tools) < 3 and fit.dense < 2 else 0.0
    left = lines(list(report.checklist[: fit.checks])) + 1.5
    watch = [w.what + " " * 24 for w in report.times.watch[:WATCHES]] if report.times else [" "]
    right = lines(watch) + lines([*LISTEN, " " * 100, " " * 110]) + 4.5
    height += max(left, right) * line
    reasons = [q.finding.fact[:MOST_LETTERS] + q.reason[:MOST_LETTERS] + " " * 20
               for q in report.quieted[: fit.accepted]]  # fmt: skip
    cautions = lines(list(report.cautions[:CAUTIONS])) + 1.5
    height += max(cautions, lines(reasons) + lines(_unknown(report, fit.unknown)) + 5.0) * line
    return height + 10.5 * line


def _short(text: str) -> str:
    """Somebody's text, cut short so that the page holds it."""
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
                silhouette=_silhouette(ctx, number),
            )
        )
    return tools


def _silhouette(ctx: Context, number: int) -> Silhouette | None:
    from millcalc.report.side_view import _silhouette as make

    fitted = ctx.facts.fitted(number)
    return make(ctx, number) if fitted is not None and ctx.setup is not None else None


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


def _holds(ctx: Context, report: CheckReport) -> list[SheetScrew]:
    """Screws and clamps with their gap to the nearest cut."""
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
        SheetScrew(f"S{i} {_short(s.name)[:22]}", say.mm(s.x_mm), say.mm(s.y_mm), gap(s.name))
        for i, s in enumerate(setup.screws or (), 1)
    ]
    for i, (clamp, box) in enumerate(setup.clamps or (), 1):
        name = clamp.name or f"clamp {i}"
        rows.append(
            SheetScrew(_short(name)[:26], say.mm((box.x_min + box.x_max) / 2), say.mm((box.y_min + box.y_max) / 2),
                       gap(name))
        )  # fmt: skip
    rows += [SheetScrew(_short(text)[:48], "", "", "") for text in report.setup.hold or ()]
    return rows


def _unknown(report: CheckReport, most: int) -> list[str]:
    from millcalc.report.check_text import grouped_by_fact

    groups = grouped_by_fact(report.not_checked)
    texts = [_short(f"{because}: {', '.join(dict.fromkeys(e.what for e in entries))}")
             for because, entries in groups[:most]]  # fmt: skip
    if len(groups) > most:
        texts.append(f"and {len(groups) - most} more missing facts")
    return texts
