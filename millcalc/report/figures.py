"""Pictures of answers: operating map, two paths over each other, ways side by side, screws, a proof strip."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from millcalc.check.coarse_ways import nice_length
from millcalc.report.answer_page import Figure
from millcalc.report.map_drawing import MapDrawing
from millcalc.report.volumes import VOLUME_WORDS, volume_time_s
from millcalc.units_show import System

if TYPE_CHECKING:
    from millcalc.advise.alternatives import Alternative
    from millcalc.advise.operating_map import OperatingMap
    from millcalc.check.compare import Compared

Box = tuple[float, float, float, float]  # x low, x high, y low, y high [mm]
FREE_MM = 50.0  # mm; more room than this is as good as any


def map_figure(found: OperatingMap, units: System = "mm") -> Figure:
    """The operating map of a cut.

    found: The map.
    units: ``mm`` or ``in``.
    Returns: The figure; its notes name the numbered lines.
    """
    drawing = MapDrawing(found, units == "in")
    notes = [f"{line['number']} {line['title']}: {line['here']} deep at this speed" for line in drawing.lines]
    notes += [f"upright line: {name}, {text} rev/min" for name, _, text in drawing.verticals]
    notes.append("dot: your cut, every limit holds; triangle: outside; filled: where every limit holds")
    title = f"{found.title}: how deep each limit lets you go ({found.cut})"
    return Figure("map", title, {"drawing": drawing}, tuple(notes))


def frame(box: Box, units: System) -> dict[str, Any]:
    """A drawing's edges and its coordinates.

    box: x low, x high, y low, y high [mm].
    units: ``mm`` or ``in``.
    Returns: View box and ticks.
    """
    margin = 0.06 * max(box[1] - box[0], box[3] - box[2], 1.0)
    left, right, low, high = box[0] - margin, box[1] + margin, box[2] - margin, box[3] + margin
    per = 25.4 if units == "in" else 1.0
    step = nice_length((right - left) / 5 / per)

    def ticks(first: float, last: float, letter: str) -> list[tuple[float, str]]:
        numbers = range(math.ceil(first / per / step), math.floor(last / per / step) + 1)
        return [(k * step * per, f"{letter} 0" if k == 0 else f"{k * step:g}") for k in numbers]

    return {
        "left": left,
        "width": right - left,
        "top": -high,
        "bottom": -low,
        "x_ticks": ticks(left + margin, right - margin, "X"),
        "y_ticks": ticks(low + margin, high, "Y"),
    }


def _lines(parts: Sequence[NDArray[np.float64]]) -> str:
    return "".join(
        "M" + "L".join(f"{x:.3f} {-y:.3f}" for x, y in part[:, :2].tolist())
        for part in parts
        if len(part) > 1
    )


def compare_figure(compared: Compared, units: System = "mm") -> Figure | None:
    """Two programs' ways over each other, and where they differ.

    compared: The comparison.
    units: ``mm`` or ``in``.
    Returns: None where neither has a known place.
    """
    scenes = [looked.scene for looked in (compared.a, compared.b)]
    boxes = [scene.box for scene in scenes if scene is not None]
    if not boxes:
        return None
    low, high = np.min(boxes, axis=0), np.max(boxes, axis=0)
    box: Box = (float(low[0]), float(high[1]), float(low[2]), float(high[3]))
    paths = []
    for name, scene in zip(("a", "b"), scenes, strict=True):
        if scene is not None:
            kinds = ("rapid", "air", "cut")
            paths.append((name, _lines([line for kind in kinds for line in scene.ways.places_mm(kind)])))
    for name, parts in zip(("only-a", "only-b"), compared.differing_mm, strict=True):
        paths.append((name, _lines(parts)))
    names = {
        key: looked.report.program.name.replace("\\", "/").rsplit("/", 1)[-1]
        for key, looked in (("a", compared.a), ("b", compared.b))
    }
    data = frame(box, units) | {"paths": paths} | names
    return Figure("ways", "Both paths seen from above, one over the other", data)


def alternatives_figure(found: Sequence[Alternative], units: System = "mm") -> Figure:
    """Ways to make a cut, as bars of their time.

    found: The ways, quickest first.
    units: ``mm`` or ``in``.
    Returns: The figure.
    """
    longest = max(one.time_s_cm3 for one in found)
    rows = [
        {
            "number": number,
            "title": one.title,
            "share": one.time_s_cm3 / longest,
            "text": f"{volume_time_s(one.time_s_cm3, units):.3g} s",
            "best": one.best,
        }
        for number, one in enumerate(found, 1)
    ]
    note = "green: no other way is at once quicker, gentler and surer"
    data = {"rows": rows, "axis": f"time in the cut for {VOLUME_WORDS[units]}; shorter is quicker"}
    return Figure("bars", "Ways to make this cut, by their time", data, (note,))
