"""The report of a check as one HTML file that needs nothing else: no network, no folder beside it."""

from __future__ import annotations

import base64
from importlib import resources
from typing import TYPE_CHECKING, Any

import numpy as np

from millcalc.check.cautions import ALWAYS_SHORT
from millcalc.report.cards import cards
from millcalc.report.headline import banner, level
from millcalc.report.map_drawing import MapDrawing
from millcalc.report.page_data import as_json, page_data
from millcalc.report.page_drawings import StripDrawing, moments_along, paper_size, scale_bar
from millcalc.report.page_frame import TEMPLATES, base_name, environment, policy, template_text

if TYPE_CHECKING:
    from millcalc.check.model import CheckReport
    from millcalc.check.run import Looked
    from millcalc.check.scene import Picture


FINDINGS_SHOWN = 300


def report_page(looked: Looked) -> str:
    """The report of a check as a self-contained HTML page.

    looked: The check.
    Returns: The page. Its policy forbids every request and every script but its own; whatever comes from
      the program or the job is escaped.
    """
    report, timeline, scene, units = looked.report, looked.timeline, looked.scene, looked.ctx.units
    paper = paper_size(scene) if scene is not None else None
    data = as_json(page_data(looked) | ({"paper": paper.data()} if paper else {}))
    style, script = template_text("page.css") + (paper.style() if paper else ""), page_script()
    page = environment(units).get_template("page.html.j2")
    return page.render(
        report=report,
        banner=banner(report),
        level=level(report),
        name=base_name(report.program.name),
        scene=scene,
        side=looked.side,
        image=picture_url(scene.finished) if scene is not None and scene.finished is not None else "",
        strips=[StripDrawing(s, timeline, units == "in") for s in looked.strips if timeline is not None],
        timeline=timeline,
        maps=[MapDrawing(found, units == "in") for found in looked.maps[:3]],
        style=style,
        script=script,
        data=data,
        policy=policy(style, script),
        shown=FINDINGS_SHOWN,
        ticks=moments_along(timeline),
        cards=cards(report),
        cautions_short=ALWAYS_SHORT,
        around=_around(looked),
        paper=paper,
        not_checked=_grouped(report),
        bar=scale_bar(scene) if scene is not None else None,
        report_units=units,
    )


def page_script() -> str:
    """The page's script: its parts in the order of their names, in one closure.

    Returns: Its text with plain line ends.
    """
    folder = resources.files("millcalc.report").joinpath(TEMPLATES, "script")
    names = sorted(part.name for part in folder.iterdir() if part.name.endswith(".js"))
    parts = "".join(template_text(f"script/{name}") for name in names)
    return '"use strict";\n(function () {\n' + parts + "})();\n"


def picture_url(picture: Picture, *, grey: bool = False) -> str:
    """The finished stock as a PNG inside a URL.

    picture: Levels.
    grey: Without colour, for paper.
    Returns: ``data:image/png;base64,...``.
    """
    import io

    from matplotlib.image import imsave

    from millcalc.report.palette import shaded

    image = shaded(picture.levels)
    if grey:
        light = image[..., :3].mean(axis=2, keepdims=True)
        # paper: the uncut top stays white, so that only what is cut takes ink
        image[..., :3] = np.clip(255 - (230 - light) * 1.05, 60, 255).astype(np.uint8)
    file = io.BytesIO()
    imsave(file, image, format="png")
    return "data:image/png;base64," + base64.b64encode(file.getvalue()).decode("ascii")


def _grouped(report: CheckReport) -> list[tuple[str, list[Any]]]:
    from millcalc.report.check_text import grouped_by_fact

    return grouped_by_fact(report.not_checked)


def _around(looked: Looked) -> dict[int, list[tuple[int, str]]]:
    """The program's lines around each finding, for the paper, by the finding's number."""
    program, found, told = looked.ctx.program, {}, set()
    for number, finding in enumerate(looked.report.findings[:FINDINGS_SHOWN], 1):
        if finding.line is not None and 1 <= finding.line <= program.lines and finding.line not in told:
            told.add(finding.line)
            first, last = max(1, finding.line - 2), min(program.lines, finding.line + 2)
            found[number] = [(line, program.line_text(line)[:90]) for line in range(first, last + 1)]
    return found
