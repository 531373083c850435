"""The report of a check as one HTML file that needs nothing else: no network, no folder beside it."""

from __future__ import annotations

import base64
import hashlib
import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from millcalc.check.paths import nice_length
from millcalc.check.strips import LimitLine, Strip
from millcalc.check.timeline import Timeline
from millcalc.report.headline import banner, level
from millcalc.report.map_drawing import MapDrawing
from millcalc.report.page_data import as_json, page_data, shown_unit
from millcalc.shown import shown
from millcalc.units_show import show_feed, show_length, show_speed

if TYPE_CHECKING:
    from jinja2 import Environment

    from millcalc.check.model import CheckReport
    from millcalc.check.run import Looked
    from millcalc.check.scene import Picture, Scene

TEMPLATES = "templates"
STRIP_WIDTH, STRIP_HEIGHT = 900, 72  # drawing units of a strip
FINDINGS_SHOWN = 300
BOX_NAMES = {"stop": "STOP", "warning": "WARNING", "note": "NOTE"}


def report_page(looked: Looked) -> str:
    """The report of a check as a self-contained HTML page.

    looked: The check.
    Returns: The page. Its policy forbids every request and every script but its own; whatever comes from
      the program or the job is escaped.
    """
    report, timeline, scene, units = looked.report, looked.timeline, looked.scene, looked.ctx.units
    data = as_json(page_data(looked))
    style, script = template_text("page.css"), template_text("page.js")
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
        ticks=_ticks(timeline),
        not_checked=_grouped(report),
        bar=scale_bar(scene) if scene is not None else None,
        report_units=units,
    )


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


def clock(seconds: float) -> str:
    """A moment or duration as minutes and seconds, hours where there are any.

    seconds: Duration [s].
    Returns: Like ``4:07`` or ``1:02:09``.

    >>> clock(247.2), clock(3729)
    ('4:07', '1:02:09')
    """
    whole = round(seconds)
    hours, rest = divmod(whole, 3600)
    if hours:
        return f"{hours}:{rest // 60:02d}:{rest % 60:02d}"
    return f"{rest // 60}:{rest % 60:02d}"


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


def _ticks(timeline: Timeline | None) -> list[tuple[float, str]]:
    """Four to eight round moments along the strips: share of the width [-], and text."""
    if timeline is None or timeline.total <= 0:
        return []
    total = timeline.total
    if timeline.unit == "s":
        steps = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 18000, 36000, 86400]
        step = next((s for s in steps if total / s <= 8), 864000)
        return [(k * step / total, clock(k * step)) for k in range(int(total / step) + 1)]
    step_mm = nice_length(total / 4)
    return [(k * step_mm / total, show_length(k * step_mm, "mm")) for k in range(int(total / step_mm) + 1)]


class StripDrawing:
    """A strip as SVG paths on a field of 900 by 72.

    strip: What to draw.
    timeline: The program along time.
    inch: Whether lengths are shown in inches.
    """

    def __init__(self, strip: Strip, timeline: Timeline, inch: bool) -> None:
        self.strip = strip
        self.key, self.title, self.basis = strip.key, strip.title, strip.basis
        self.factor, self.unit = shown_unit(strip.unit, inch)
        self._top = strip.top
        high = strip.bands.high
        self.peak = self._show(float(np.nanmax(high)))
        least = self._show(float(np.nanmin(strip.bands.low)))
        self.range = f"{self.peak if least == self.peak else f'{least} to {self.peak}'} {self.unit}"
        self.scale_top = self._show(self._top)
        self.band = self._band()
        self.limits = [self._limit(limit) for limit in strip.limits if np.isfinite(limit.values).any()]
        self.over = self._runs(strip.over)
        busy = int(np.isfinite(high).sum())
        self.over_share = float(strip.over.sum()) / busy if busy else 0.0

    def _show(self, value: float) -> str:
        return (
            f"{value * self.factor:.3g}" if abs(value * self.factor) < 1000 else f"{value * self.factor:.0f}"
        )

    def _y(self, value: float) -> float:
        return round(STRIP_HEIGHT * (1 - min(value / self._top, 1.0)), 2)

    def _steps(self, values: NDArray[np.float64]) -> list[tuple[int, int]]:
        """Runs of spans that have a value: first, and one past the last."""
        good = np.concatenate([[False], np.isfinite(values), [False]]).astype(np.int8)
        edge = np.diff(good)
        return list(zip(np.flatnonzero(edge == 1).tolist(), np.flatnonzero(edge == -1).tolist(), strict=True))

    def _walk(self, values: list[float], first: int, width: float, *, back: bool = False) -> str:
        """A stepped line; `back` runs from right to left."""
        order = range(len(values) - 1, -1, -1) if back else range(len(values))
        parts, last = [], None
        for i in order:
            y = self._y(values[i])
            x = (first + i + (0 if back else 1)) * width
            if y != last:
                parts.append(f"V{y:g}H{x:g}")
            else:
                parts[-1] = parts[-1][: parts[-1].rindex("H")] + f"H{x:g}"
            last = y
        return "".join(parts)

    def _band(self) -> str:
        low, high = self.strip.bands.low, self.strip.bands.high
        width = STRIP_WIDTH / len(high)
        parts = []
        for first, end in self._steps(high):
            top, bottom = high[first:end].tolist(), low[first:end].tolist()
            parts.append(
                f"M{first * width:g} {self._y(bottom[0]):g}{self._walk(top, first, width)}"
                f"{self._walk(bottom, first, width, back=True)}Z"
            )
        return "".join(parts)

    def _limit(self, limit: LimitLine) -> dict[str, Any]:
        values = limit.values
        width = STRIP_WIDTH / len(values)
        shown = values <= self._top * (1 + 1e-9)
        masked = np.where(shown, values, np.nan)
        path = "".join(
            f"M{first * width:g} {self._y(float(masked[first])):g}"
            f"{self._walk(masked[first:end].tolist(), first, width)}"
            for first, end in self._steps(masked)
        )
        low, high = float(np.nanmin(values)), float(np.nanmax(values))
        text = (
            self._show(low)
            if math.isclose(low, high, rel_tol=0.005)
            else f"{self._show(low)} to {self._show(high)}"
        )
        return {
            "title": limit.title,
            "path": path,
            "text": text,
            "kind": "reference" if limit.reference else "smallest" if limit.smallest else "greatest",
            "above": not shown[np.isfinite(values)].any(),
        }

    def _runs(self, mask: NDArray[np.bool_]) -> list[tuple[float, float]]:
        width = STRIP_WIDTH / len(mask)
        edge = np.diff(np.concatenate([[False], mask, [False]]).astype(np.int8))
        begin, end = np.flatnonzero(edge == 1).tolist(), np.flatnonzero(edge == -1).tolist()
        return [(a * width, (b - a) * width) for a, b in zip(begin, end, strict=True)]


@dataclass(frozen=True, slots=True)
class ScaleBar:
    """A bar of round length [mm], and its text."""

    length_mm: float
    text: str


def scale_bar(scene: Scene) -> ScaleBar:
    """A bar of a round length, at most a quarter of the top view.

    scene: The top view.
    Returns: Round in the person's unit.
    """
    unit = 25.4 if scene.units == "in" else 1.0
    length = nice_length(scene.width_mm / 4 / unit)
    return ScaleBar(length * unit, f"{length:g} {scene.units}")
