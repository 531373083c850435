"""Pictures of answers on a stock: its screws, and a proof strip."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from millcalc.report.answer_page import Figure
from millcalc.report.figures import Box, frame
from millcalc.units_show import System, show_depth, show_feed, show_length

if TYPE_CHECKING:
    from millcalc.advise.proof import Strip
    from millcalc.holding.result import HoldDown, PlaceMap


def screws_figure(answer: HoldDown, stock: Box, units: System = "mm") -> Figure:
    """The plate with room for screws, the job's own and the proposed ones.

    answer: What was found.
    stock: Its box: x low, x high, y low, y high [mm].
    units: ``mm`` or ``in``.
    Returns: The figure.
    """
    radius = max(0.014 * max(stock[1] - stock[0], stock[3] - stock[2]), 1.5)
    holds = [
        {
            "x": verdict.at_mm[0],
            "y": verdict.at_mm[1],
            "r": radius,
            "name": verdict.name,
            "kind": "good" if verdict.clear else "bad",
        }
        for verdict in answer.verdicts
    ]
    holds += [
        {
            "x": one.screw.x_mm,
            "y": one.screw.y_mm,
            "r": radius,
            "name": f"X {show_length(one.screw.x_mm, units, 0.1)}, Y {show_length(one.screw.y_mm, units, 0.1)}",
            "kind": "new",
        }
        for one in answer.proposal
        if not one.given
    ]
    data = frame(stock, units) | {"stock": stock, "holds": holds, "room": _room(answer.map)}
    return Figure("plate", "The plate from above: where a screw can stand", data)


def _room(found: PlaceMap) -> str:
    """Places with room as rows of rectangles."""
    xs, ys = found.x_mm, found.y_mm
    if len(xs) < 2 or len(ys) < 2:
        return ""
    dx, dy = float(xs[1] - xs[0]), float(ys[1] - ys[0])
    good = (found.spare_mm >= 0) & (found.kind > 0) & ~found.blocked
    edges = np.diff(np.pad(good, ((0, 0), (1, 1))).astype(np.int8), axis=1)
    parts = []
    for j, y in enumerate(ys.tolist()):
        begin, end = np.flatnonzero(edges[j] == 1), np.flatnonzero(edges[j] == -1)
        for a, b in zip(begin.tolist(), end.tolist(), strict=True):
            parts.append(
                f"M{xs[a] - dx / 2:.2f} {-y - dy / 2:.2f}h{(b - a) * dx:.2f}v{dy:.2f}h{(a - b) * dx:.2f}z"
            )
    return "".join(parts)


def proof_figure(strip: Strip, units: System = "mm") -> Figure:
    """The strip of a proof: each slot with its marks, depth and feed.

    strip: The strip.
    units: ``mm`` or ``in``.
    Returns: The figure.
    """
    steps = [
        {
            "x": step.x_mm,
            "y": step.y_mm,
            "length": step.length_mm,
            "marks": step.marks_x_mm,
            "text": f"{step.number}: {show_depth(step.depth_mm, units)} deep at {show_feed(step.feed_mm_min, units)}",
        }
        for step in strip.steps
    ]
    diameter = strip.tooling.cutter.diameter_mm
    ends = [v for s in strip.steps for v in (s.x_mm, s.x_mm + s.length_mm, *s.marks_x_mm)]
    ys = [s.y_mm for s in strip.steps]
    box = (min(ends) - diameter, max(ends) + diameter, min(ys) - 2 * diameter, max(ys) + 2 * diameter)
    data = frame(box, units) | {"stock": box, "steps": steps, "diameter": diameter}
    title = "The strip from above: as many marks beside a slot as its number says"
    return Figure("strip", title, data)
