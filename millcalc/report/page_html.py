"""The report of a check as one HTML file that needs nothing else: no network, no folder beside it."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Any

import numpy as np

from millcalc.check.cautions import ALWAYS_SHORT
from millcalc.report.cards import cards
from millcalc.report.headline import banner, level
from millcalc.report.map_drawing import MapDrawing
from millcalc.report.page_data import as_json, page_data
from millcalc.report.page_drawings import StripDrawing, clock, moments_along, paper_size, scale_bar
from millcalc.shown import shown
from millcalc.units_show import show_feed, show_length, show_speed

if TYPE_CHECKING:
    from jinja2 import Environment

    from millcalc.check.model import CheckReport
    from millcalc.check.run import Looked
    from millcalc.check.scene import Picture

TEMPLATES = "templates"
FINDINGS_SHOWN = 300
BOX_NAMES = {"stop": "STOP", "warning": "WARNING", "note": "NOTE"}


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


def base_name(name: str) -> str:
    """A program's name without its folders, which are nobody else's business.

    name: Name or path as the person gave it.
    Returns: The last part; ``program`` where there is none.

    >>> base_name("parts/plate.nc"), base_name("C:\\\\parts\\\\plate.nc"), base_name("")
    ('plate.nc', 'plate.nc', 'program')
    """
    return name.replace("\\", "/").rsplit("/", 1)[-1] or "program"


def policy(style: str, script: str) -> str:
    """Content security policy of a page with one style sheet and one script.

    style, script: Their texts, exactly as they stand between the tags.
    Returns: Everything is forbidden but these two, by their hashes, and pictures inside the page.
    """

    def source(text: str) -> str:
        return "'sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode() + "'"

    parts = ["default-src 'none'", "img-src data:", f"style-src {source(style)}"]
    parts += [f"script-src {source(script)}" if script else "script-src 'none'"]
    return "; ".join([*parts, "base-uri 'none'", "form-action 'none'"])


@cache
def template_text(name: str) -> str:
    """Text of a file beside the templates.

    name: File name.
    Returns: Its text with plain line ends, so that its hash is the same everywhere.
    """
    text = resources.files("millcalc.report").joinpath(TEMPLATES, name).read_text(encoding="utf-8")
    return text.replace("\r\n", "\n")


def _shown_value(value: object) -> object:
    """What a template prints: control characters of a text as codes, markup still markup."""
    return type(value)(shown(value)) if isinstance(value, str) else value


def environment(units: str) -> Environment:
    """The templates' environment: everything escaped, missing names are errors.

    units: ``mm`` or ``in``.
    Returns: With the filters that show numbers.
    """
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    made = Environment(
        loader=FunctionLoader(template_text),
        autoescape=True,
        finalize=_shown_value,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    inch = units == "in"
    filters: dict[str, Callable[..., str]] = {
        "mm": lambda value, step=None: show_length(value, units, step),  # type: ignore[arg-type]
        "feed": lambda value: show_feed(value, units),  # type: ignore[arg-type]
        "rpm": show_speed,
        "clock": clock,
        "n2": lambda value: f"{value:.2f}",
        "n4": lambda value: f"{value:.4g}",
        "capital": capital,
        "prose": lambda text: text.replace("``", ""),
        "place": lambda p: ", ".join(
            f"{axis} {show_length(v, units, 0.005 if inch else 0.1)}"  # type: ignore[arg-type]
            for axis, v in (("X", p.x), ("Y", p.y), ("Z", p.z))
        ),
    }
    made.filters.update(filters)
    made.globals["words"] = BOX_NAMES
    return made


def capital(text: str) -> str:
    """A text as a sentence without its full stop.

    text: Any text.
    Returns: First letter large, no full stop at the end.
    """
    text = text.strip().rstrip(".")
    return text[:1].upper() + text[1:]


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
