"""Small pictures in characters, for a terminal: the finished stock from above, and the strips.

Plain ASCII where the stream cannot show more.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from millcalc.report.page_data import shown_unit

if TYPE_CHECKING:
    from millcalc.check.run import Looked
    from millcalc.check.scene import Scene
    from millcalc.check.strips import Strip

ASPECT = 2.1  # height of a character over its width, of common terminal fonts; estimate
MOST_ROWS = 26
# from uncut to deep, then cut through
SHADES, SHADES_ASCII = " ░▒▓█", " .:+#"
BLOCKS, BLOCKS_ASCII = " ▁▂▃▄▅▆▇█", " _.-=+*%#"


def picture(looked: Looked, width: int = 78, *, unicode: bool = True) -> tuple[str, ...]:
    """Top view and strips of a check as lines of text.

    looked: The check.
    width: Columns, 40 at least [-].
    unicode: Whether shades and blocks can be shown; else ASCII only.
    Returns: Lines no longer than the width; empty when nothing has a known place.
    """
    scene, timeline = looked.scene, looked.timeline
    if scene is None:
        return ()
    width = max(width, 40)
    lines = [*top_lines(scene, width, unicode=unicode)]
    if timeline is not None:
        strips = looked.strips_of(180)
        lines += [
            "",
            "over the run, left to right:" if timeline.unit == "s" else "along the way, left to right:",
        ]
        lines += [
            line for strip in strips for line in strip_lines(strip, width, looked.ctx.units, unicode=unicode)
        ]
    return tuple(line.rstrip() for line in lines)


def top_lines(scene: Scene, width: int, *, unicode: bool = True) -> list[str]:
    """The top view as lines of text.

    scene: What to show.
    width: Columns [-].
    unicode: Whether shades can be shown.
    Returns: The picture and its key.
    """
    columns = width
    rows = max(4, round(columns / ASPECT * scene.height_mm / scene.width_mm))
    if rows > MOST_ROWS:
        rows = MOST_ROWS
        columns = max(20, min(width, round(rows * ASPECT * scene.width_mm / scene.height_mm)))
    x = scene.box[0] + (np.arange(columns) + 0.5) * scene.width_mm / columns
    y = scene.box[3] - (np.arange(rows) + 0.5) * scene.height_mm / rows
    grid = _ground(scene, x, y, unicode)
    _signs(scene, grid)
    text = "  ".join(_key(scene, unicode))
    return [*("".join(row) for row in grid), text if len(text) <= width else text[:width]]


def _ground(scene: Scene, x: NDArray[np.float64], y: NDArray[np.float64], unicode: bool) -> NDArray[np.str_]:
    """The stock in shades, or the ways that cut where it is not known; y falls from row to row."""
    shades = SHADES if unicode else SHADES_ASCII
    dot, through = ("·", "×") if unicode else ("'", "x")
    grid = np.full((len(y), len(x)), " ")
    box = scene.stock
    if box is not None:
        inside = ((y > box.y_min) & (y < box.y_max))[:, None] & ((x > box.x_min) & (x < box.x_max))[None, :]
        grid[inside] = dot
        if scene.finished is not None:
            levels = scene.finished.levels
            ny, nx = levels.shape
            at_y = np.clip(((y - box.y_min) / (box.y_max - box.y_min) * ny).astype(int), 0, ny - 1)
            at_x = np.clip(((x - box.x_min) / (box.x_max - box.x_min) * nx).astype(int), 0, nx - 1)
            level = levels[at_y[:, None], at_x[None, :]]
            depth = np.clip(((255 - level.astype(int)) * 4 + 254) // 255, 0, 4)
            drawn = np.array(list(shades))[depth]
            drawn[depth == 0] = dot
            drawn[level == 0] = through
            grid[inside] = drawn[inside]
    else:
        for line in scene.ways.places_mm("cut"):
            _stroke(grid, line, scene, "+")
    return grid


def _signs(scene: Scene, grid: NDArray[np.str_]) -> None:
    """Screws, clamps, zero and findings, put into the grid."""
    rows, columns = grid.shape

    def put(px: float, py: float, text: str) -> None:
        column = int((px - scene.box[0]) / scene.width_mm * columns)
        row = int((scene.box[3] - py) / scene.height_mm * rows)
        for i, ch in enumerate(text):
            if 0 <= row < rows and 0 <= column + i < columns:
                grid[row, column + i] = ch

    for screw in scene.screws:
        put(screw.x_mm, screw.y_mm, "O")
    for clamp in scene.clamps:
        put((clamp.x_min + clamp.x_max) / 2, (clamp.y_min + clamp.y_max) / 2, "C")
    if scene.box[0] <= 0 <= scene.box[1] and scene.box[2] <= 0 <= scene.box[3]:
        put(0.0, 0.0, "+")
    taken: list[tuple[float, float]] = []
    for mark in scene.marks[:20]:  # the worst first; one that would cover another is left to the list
        near = 3.5 * scene.width_mm / columns
        if all(abs(mark.x_mm - a) > near or abs(mark.y_mm - b) > near / 2 for a, b in taken):
            taken.append((mark.x_mm, mark.y_mm))
            put(mark.x_mm, mark.y_mm, str(mark.number))


def _key(scene: Scene, unicode: bool) -> list[str]:
    """What the signs mean."""
    shades = SHADES if unicode else SHADES_ASCII
    dot, through = ("·", "×") if unicode else ("'", "x")
    key = [f"{dot} uncut"]
    if scene.finished is not None:
        key += [f"{shades[1]}{shades[2]}{shades[3]}{shades[4]} deeper", f"{through} cut through"]
    if scene.stock is None:
        key = ["+ ways that cut, as far as they are known"]
    if scene.screws:
        key.append("O screw")
    if scene.clamps:
        key.append("C clamp")
    if scene.marks:
        key.append("1 2 .. findings")
    return key


def _stroke(grid: np.ndarray, line: np.ndarray, scene: Scene, sign: str) -> None:
    """Draw a polyline into the grid of characters."""
    rows, columns = grid.shape
    for (x0, y0), (x1, y1) in pairwise(line):
        steps = int(max(abs(x1 - x0) / scene.width_mm * columns, abs(y1 - y0) / scene.height_mm * rows)) + 1
        share = np.linspace(0.0, 1.0, steps + 1)
        column = ((x0 + (x1 - x0) * share - scene.box[0]) / scene.width_mm * columns).astype(int)
        row = ((scene.box[3] - y0 - (y1 - y0) * share) / scene.height_mm * rows).astype(int)
        good = (row >= 0) & (row < rows) & (column >= 0) & (column < columns)
        grid[row[good], column[good]] = sign


def strip_lines(strip: Strip, width: int, units: str, *, unicode: bool = True) -> list[str]:
    """A strip as two lines of text: its name and numbers, and its height over time.

    strip: What to show.
    width: Columns [-].
    units: ``mm`` or ``in``.
    unicode: Whether blocks can be shown.
    Returns: Two lines; three where a limit does not hold, with ``^`` below those moments.
    """
    factor, unit = shown_unit(strip.unit, units == "in")
    if not unicode:
        unit = unit.replace("°", "deg")
    blocks = BLOCKS if unicode else BLOCKS_ASCII
    count = len(strip.bands.high)
    edges = np.linspace(0, count, width + 1).astype(int)
    low, high = np.nanmin(strip.bands.low) * factor, np.nanmax(strip.bands.high) * factor
    text = f"{strip.title}, {_number(low)} to {_number(high)} {unit}"
    for limit in strip.limits:
        if not limit.reference and np.isfinite(limit.values).any():
            worst = np.nanmax(limit.values) if limit.smallest else np.nanmin(limit.values)
            text += f"; {limit.title} {_number(worst * factor)}"
    bar, under = [], []
    for a, b in pairwise(edges.tolist()):
        b = max(b, a + 1)
        part = strip.bands.high[a:b]
        if not np.isfinite(part).any():
            bar.append(" ")
        else:
            share = float(np.nanmax(part)) / strip.top
            bar.append(blocks[min(max(1, round(share * 8)), 8)])
        under.append("^" if strip.over[a:b].any() else " ")
    lines = [text if len(text) <= width else text[: width - 3] + "...", "".join(bar)]
    if strip.over.any():
        lines.append("".join(under) if width < 60 else "".join(under).rstrip())
    return lines


def _number(value: float) -> str:
    return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.3g}"
