"""What the page's script needs, as bounded JSON: moments, places, coarse stock over time, strips, program text."""

from __future__ import annotations

import base64
import json
import math
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from millcalc.check.timeline import Timeline, keys
from millcalc.report.palette import height_colours
from millcalc.shown import shown

if TYPE_CHECKING:
    from millcalc.check.model import CheckReport, FindingOut
    from millcalc.check.run import Looked
    from millcalc.check.scene import Scene
    from millcalc.check.strips import Strip
    from millcalc.gcode.program import Program

MOST_KEYS = 12_000  # places of the tool known to the page: every motion's end in shorter programs
WHOLE_TEXT_BYTES = 300_000  # a program up to this size is in the page whole
WHOLE_TEXT_LINES = 12_000
AROUND = 15  # lines shown before and after each line of interest of a longer program
MOST_PLACES = 150  # lines of interest of a longer program
MOST_COLUMNS = 240  # characters of a line


def page_data(looked: Looked) -> dict[str, Any]:
    """Everything the page's script needs.

    looked: The check.
    Returns: JSON-ready; lengths in mm, times in the timeline's unit.
    """
    report, timeline, scene, side = looked.report, looked.timeline, looked.scene, looked.side
    program = looked.ctx.program
    inch = looked.ctx.units == "in"
    data: dict[str, Any] = {
        "length": {
            "unit": "in" if inch else "mm",
            "per_mm": 1 / 25.4 if inch else 1.0,
            "digits": 3 if inch else 2,
        },
        "findings": [_finding(program, finding, timeline) for finding in report.findings],
        "text": text_parts(program, report),
    }
    if scene is not None:
        data["box"] = [round(v, 4) for v in scene.box]
    if timeline is not None:
        data["time"] = _moments(timeline, report)
        data["strips"] = [_strip(strip, inch) for strip in looked.strips]
        if scene is not None:
            film = looked.film
            if film is not None:
                film = {**film, "ramp": height_colours()[:, :3].astype(np.uint8).tobytes().hex()}
            data["stock"] = film
            data["loose"] = [timeline.moment_of(piece.motion, piece.share) for piece in scene.loose]
    if side is not None:
        data["side"] = {
            "stretch": side.stretch,
            "y": side.y_mm,
            "y_min": scene.stock.y_min if scene is not None and scene.stock is not None else side.y_mm,
            "y_max": scene.stock.y_max if scene is not None and scene.stock is not None else side.y_mm,
            "top": side.top_mm,
            "bottom": side.bottom_mm,
            "holds": _holds(scene) if scene is not None else [],
            "cutters": [
                [c.number, c.diameter_mm, c.flute_mm, c.shank_mm, c.stickout_mm, c.nut_diameter_mm,
                 c.nut_length_mm, c.point_mm]
                for c in side.cutters
            ],
        }  # fmt: skip
    return data


def _holds(scene: Scene) -> list[dict[str, Any]]:
    """Screws and clamps as the section needs them; a height that is unknown is None."""
    made: list[dict[str, Any]] = []
    for k in scene.screws:
        r = k.head_mm
        made.append({"name": k.name, "round": True, "x0": k.x_mm - r, "x1": k.x_mm + r, "y0": k.y_mm - r,
                     "y1": k.y_mm + r, "shank": k.shank_mm, "top": _height(k.top_mm)})  # fmt: skip
    for c in scene.clamps:
        made.append({"name": c.name, "round": False, "x0": c.x_min, "x1": c.x_max, "y0": c.y_min, "y1": c.y_max,
                     "shank": 0.0, "top": _height(c.top_mm)})  # fmt: skip
    return made


def _height(top_mm: float) -> float | None:
    return top_mm if math.isfinite(top_mm) and top_mm < 1e9 else None


def as_json(data: dict[str, Any]) -> str:
    """JSON that can stand in a page: nothing in it can end the script element it is in.

    data: JSON-ready data.
    Returns: ASCII JSON with ``<``, ``>`` and ``&`` written as escapes.

    >>> as_json({"a": "</script>"})
    '{"a":"\\\\u003c/script\\\\u003e"}'
    """
    program = data.get("text")  # letter by letter: the marks count its columns, and the page sets it as text
    data = {key: value if value is program else _shown_all(value) for key, value in data.items()}
    text = shown(json.dumps(data, ensure_ascii=True, allow_nan=False, separators=(",", ":")))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _shown_all(data: Any) -> Any:
    """The same data with control characters of every text as codes."""
    if isinstance(data, str):
        return shown(data)
    if isinstance(data, dict):
        return {key: _shown_all(value) for key, value in data.items()}
    return [_shown_all(value) for value in data] if isinstance(data, list | tuple) else data


def _packed(values: NDArray[Any]) -> str:
    """Little-endian bytes in base 64."""
    return base64.b64encode(
        np.ascontiguousarray(values).astype(values.dtype.newbyteorder("<")).tobytes()
    ).decode()


def _moments(timeline: Timeline, report: CheckReport) -> dict[str, Any]:
    """Places of the tool over time; the findings' own moments are always among them."""
    also = [(f.at.motion, f.at.share) for f in report.findings if f.at is not None]
    found = keys(timeline, also, MOST_KEYS)
    motions = timeline.motions
    return {
        "unit": timeline.unit,
        "total": timeline.total,
        "whole": found.whole,
        "moments": _packed(found.moments),
        "places": _packed(found.place_mm.astype(np.float32)),
        "lines": _packed(motions.line[found.row].astype(np.int32)),
        "tools": _packed(motions.tool[found.row].astype(np.int32)),
    }


def _finding(program: Program, finding: FindingOut, timeline: Timeline | None) -> dict[str, Any]:
    place, at = finding.place_mm, finding.at
    made: dict[str, Any] = {
        "line": finding.line,
        "place": [place.x, place.y, place.z] if place else None,
        "at": None,
        "severity": finding.severity,
        "marks": [[m.line, *_columns(program.line_text(m.line), m.start, m.end)]
                  for m in finding.marks if 1 <= m.line <= program.lines],
    }  # fmt: skip
    if timeline is not None and at is not None:
        tip = at.tip_mm
        made["at"] = {
            "moment": timeline.moment_of(at.motion, at.share),
            "tip": [tip.x, tip.y, tip.z] if tip else None,
            "line": int(timeline.motions.line[at.motion]),
            "tool": int(timeline.motions.tool[at.motion]),
        }
    elif timeline is not None and finding.line:
        moment = timeline.moment_of_line(finding.line)
        made["at"] = (
            None if moment is None else {"moment": moment, "tip": None, "line": finding.line, "tool": -1}
        )
    return made


def _columns(text: str, start: int, end: int) -> tuple[int, int]:
    """Character columns, from 0, of byte columns from 1; (0, 0) for the whole line."""
    if start <= 0:
        return 0, 0
    raw = text.encode("utf-8", "replace")
    return len(raw[: start - 1].decode("utf-8", "ignore")), len(raw[: end - 1].decode("utf-8", "ignore"))


def _strip(strip: Strip, inch: bool) -> dict[str, Any]:
    factor, unit = shown_unit(strip.unit, inch)

    def numbers(values: NDArray[np.float64]) -> list[float | None]:
        return [None if not math.isfinite(v) else float(f"{v * factor:.3g}") for v in values.tolist()]

    return {
        "key": strip.key,
        "unit": unit,
        "low": numbers(strip.bands.low),
        "high": numbers(strip.bands.high),
    }


def shown_unit(unit: str, inch: bool) -> tuple[float, str]:
    """Factor and name of the unit a strip is shown in.

    unit: The strip's unit.
    inch: Whether lengths are shown in inches.
    Returns: Factor [-] and unit.
    """
    if inch and unit in ("mm", "mm/min"):
        return 1 / 25.4, unit.replace("mm", "in")
    return 1.0, "°" if unit == "deg" else unit


def text_parts(program: Program, report: CheckReport) -> dict[str, Any]:
    """The program's text: whole when it is short, else the lines around what was found.

    program: The program.
    report: Its findings.
    Returns: ``lines``: how many the program has; ``whole``: whether all are here; ``parts``: first line and
      texts.
    """
    total = program.lines
    whole = len(program.data) <= WHOLE_TEXT_BYTES and total <= WHOLE_TEXT_LINES
    spans = [(1, total)] if whole else _around(report, total)
    parts = []
    cut = 0
    for first, last in spans:
        texts = []
        for line in range(first, last + 1):
            text = program.line_text(line)
            if len(text) > MOST_COLUMNS:
                text, cut = text[:MOST_COLUMNS] + " …", cut + 1
            texts.append(text)
        parts.append({"from": first, "texts": texts})
    return {"lines": total, "whole": whole, "cut": cut, "parts": parts if total else []}


def _around(report: CheckReport, total: int) -> list[tuple[int, int]]:
    """Spans of lines around the beginning, the end and the findings, joined where they touch."""
    wanted = [1, total]
    for finding in report.findings:
        wanted += [m.line for m in finding.marks] or ([finding.line] if finding.line else [])
    if report.times is not None:
        wanted += [entry.line for entry in report.times.watch]
    kept = list(dict.fromkeys(line for line in wanted if 1 <= line <= total))[:MOST_PLACES]
    spans: list[tuple[int, int]] = []
    for line in sorted(kept):
        first, last = max(1, line - AROUND), min(total, line + AROUND)
        if spans and first <= spans[-1][1] + 1:
            spans[-1] = (spans[-1][0], max(last, spans[-1][1]))
        else:
            spans.append((first, last))
    return spans
