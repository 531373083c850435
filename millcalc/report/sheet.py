"""The sheet for the machine: one page, black and white, to take to the shed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, get_args

from millcalc.check.scene import Scene
from millcalc.check.sheet_facts import MOST_LETTERS, SheetScrew, SheetTool, sheet_holds, sheet_tools, short
from millcalc.report.headline import banner, level
from millcalc.report.page_drawings import scale_bar
from millcalc.report.page_frame import base_name, environment, policy, template_text
from millcalc.report.page_html import picture_url

if TYPE_CHECKING:
    from millcalc.check.model import CheckReport
    from millcalc.check.run import Looked

# How much of some lists is on the page; the rest is counted on it, and is in the report of the check.
WATCHES, FINDINGS = 6, 3
# Most width of the part's picture on the paper, and most height by the number of cutters [mm]
PICTURE_WIDTH_MM, PICTURE_HEIGHT_MM = 104.0, (62.0, 62.0, 52.0, 44.0, 36.0)
# Type sizes from comfortable to dense [pt]
TYPE_PT = (8.2, 7.6, 7.0, 6.4)
# Height of the page that is left on Letter, the lower of the two papers, with margins of 9 mm [mm]
PAGE_MM = 279.4 - 2 * 9.0 - 4.0

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
    checks: int = 12
    cautions: int = 6
    accepted: int = 3
    unknown: int = 3


# From comfortable to crowded; the first that fits is taken.
FITS = (
    Fit(0),
    Fit(1),
    Fit(1, checks=8),
    Fit(2, checks=8),
    Fit(2, holds=6, checks=8, accepted=2, unknown=2),
    Fit(2, tools=3, holds=5, checks=6, accepted=1, unknown=1),
    Fit(3, tools=3, holds=5, checks=6, accepted=1, unknown=1),
)


def sheet_page(looked: Looked, *, job_name: str = "") -> str:
    """The sheet as an HTML page that prints on one side of A4 or Letter.

    looked: The check.
    job_name: The job file as the person named it, for the line that logs the cut.
    Returns: The page: no script, no network.
    """
    from millcalc.cutlog import models

    report, scene, side = looked.report, looked.scene, looked.side
    setup, units = looked.ctx.setup, looked.ctx.units
    style = template_text("sheet.css")
    tools = sheet_tools(looked.ctx, report)
    material = setup.material if setup else None
    answers = (
        ("how it went", get_args(models.Outcome)),
        ("sound", get_args(models.Sound)),
        ("chips", get_args(models.ChipForm)),
        ("wall, floor", get_args(models.Finish)),
        ("cutter after", get_args(models.BitAfter)),
    )
    bar = scale_bar(scene) if scene is not None else None
    width_mm = _picture_width_mm(scene, len(tools))
    holds = sheet_holds(looked.ctx, report)
    fit = _fit(report, tools, holds)
    return (
        environment(units)
        .get_template("sheet.html.j2")
        .render(
            report=report,
            name=base_name(report.program.name),
            setup=setup,
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
            banner=banner(report),
            level=level(report),
            **_lists(report, fit),
            short=short,
            job_name=job_name,
            style=style,
            policy=policy(style, ""),
            units=units,
        )
    )


def _lists(report: CheckReport, fit: Fit) -> dict[str, Any]:
    """What is shown of each list, and how much of it is left out."""
    watches = report.times.watch if report.times else ()
    return {
        "cautions": report.cautions[: fit.cautions],
        "more_cautions": max(0, len(report.cautions) - fit.cautions),
        "checks": report.checklist[: fit.checks],
        "more_checks": max(0, len(report.checklist) - fit.checks),
        "watches": watches[:WATCHES],
        "more_watches": max(0, len(watches) - WATCHES),
        "accepted": [(q, short(q.reason)) for q in report.quieted[: fit.accepted]],
        "more_accepted": max(0, len(report.quieted) - fit.accepted),
        "worst": report.findings[:FINDINGS],
        "more_findings": max(0, len(report.findings) - FINDINGS),
        "unknown": _unknown(report, fit.unknown),
    }


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
    left = lines(list(report.checklist[: fit.checks])) + 2.5
    watch = [w.what + " " * 24 for w in report.times.watch[:WATCHES]] if report.times else [" "]
    right = lines(watch) + lines([*LISTEN, " " * 100, " " * 110]) + 4.5
    height += max(left, right) * line
    reasons = [q.finding.fact[:MOST_LETTERS] + q.reason[:MOST_LETTERS] + " " * 20
               for q in report.quieted[: fit.accepted]]  # fmt: skip
    cautions = lines(list(report.cautions[: fit.cautions])) + 2.5
    height += max(cautions, lines(reasons) + lines(_unknown(report, fit.unknown)) + 5.0) * line
    return height + (14.5 if report.count("stop") else 10.5) * line


def _unknown(report: CheckReport, most: int) -> list[str]:
    from millcalc.report.check_text import grouped_by_fact

    groups = grouped_by_fact(report.not_checked)
    texts = [short(f"{because}: {', '.join(dict.fromkeys(e.what for e in entries))}")
             for because, entries in groups[:most]]  # fmt: skip
    if len(groups) > most:
        texts.append(f"and {len(groups) - most} more missing facts")
    return texts
