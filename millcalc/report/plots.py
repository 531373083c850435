"""Plots as files: the top view with the strips, and the operating map, as PNG or SVG."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from millcalc.report import palette
from millcalc.report.page_data import shown_unit
from millcalc.report.page_drawings import clock
from millcalc.report.page_frame import base_name

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from millcalc.advise.operating_map import OperatingMap
    from millcalc.check.model import CheckReport
    from millcalc.check.run import Looked
    from millcalc.check.scene import Scene
    from millcalc.check.strips import Strip
    from millcalc.check.timeline import Timeline

Format = Literal["png", "svg"]
MARKER = {"stop": "8", "warning": "^", "note": "o"}
FILL = {"stop": palette.VERMILION, "warning": palette.ORANGE, "note": "#FFFFFF"}
DASHES = ("-", "--", ":", "-.", (0, (1, 3)), (0, (8, 3)), (0, (5, 1, 1, 1)))


def check_picture(looked: Looked, form: Format = "png") -> bytes | None:
    """Top view and strips of a check as a picture.

    looked: The check.
    form: ``png`` or ``svg``.
    Returns: The file; None when nothing has a known place.
    """
    from matplotlib.figure import Figure

    scene, timeline, strips = looked.scene, looked.timeline, looked.strips
    if scene is None:
        return None
    wide = 10.0
    tall = min(max(8.8 * scene.height_mm / scene.width_mm, 2.5), 9.0)
    figure = Figure(figsize=(wide, tall + 0.9 + 0.95 * len(strips)), layout="constrained", facecolor="white")
    grid = figure.add_gridspec(1 + len(strips), 1, height_ratios=[tall, *[0.8] * len(strips)])
    _draw_top(figure.add_subplot(grid[0]), scene)
    first: Any = None
    for i, strip in enumerate(strips):
        axes = figure.add_subplot(grid[1 + i], sharex=first)
        first = first or axes
        assert timeline is not None
        _draw_strip(axes, strip, timeline, looked.ctx.units == "in", last=i == len(strips) - 1)
    figure.suptitle(_title(looked.report), fontsize=10, x=0.01, ha="left")
    return _file(figure, form)


def _title(report: CheckReport) -> str:
    name = _plain(base_name(report.program.name), 60)
    waiting = f"; {len(report.not_checked)} more could not be checked" if report.not_checked else ""
    return f"{name} ({report.program.sha256[:6]}): {report.verdict()}{waiting}"


def _plain(text: str, most: int) -> str:
    """A text as it can stand in a plot: no formula signs, no line ends, not too long."""
    text = "".join(ch if ch.isprintable() else "?" for ch in text).replace("$", r"\$")
    return text if len(text) <= most else text[: most - 1] + "…"


def _draw_top(axes: Any, scene: Scene) -> None:
    from matplotlib.patches import Rectangle

    scale = 25.4 if scene.units == "in" else 1.0
    if scene.stock is not None:
        box = scene.stock
        corner = (box.x_min / scale, box.y_min / scale)
        size = ((box.x_max - box.x_min) / scale, (box.y_max - box.y_min) / scale)
        axes.add_patch(Rectangle(corner, *size, facecolor="#efe4cc", edgecolor="#a08a5c", hatch="//", lw=0))
        extent = (corner[0], corner[0] + size[0], corner[1], corner[1] + size[1])
        if scene.finished is not None:
            axes.imshow(palette.shaded(scene.finished.levels), extent=extent, zorder=1.5)
        axes.add_patch(Rectangle(corner, *size, fill=False, edgecolor="black", lw=1, zorder=2))
    styles: dict[str, dict[str, Any]] = {
        "rapid": {"color": "#5d5d5d", "lw": 0.7, "ls": (0, (6, 4))},
        "air": {"color": palette.SKY, "lw": 0.8, "ls": ":"},
        "cut": {"color": palette.BLUE, "lw": 0.9},
    }
    for kind, style in styles.items():
        lines = scene.ways.places_mm(kind)
        if lines:
            gap = np.full((1, 2), np.nan)
            joined = np.vstack([part for line in lines for part in (line, gap)]) / scale
            names = {"rapid": "rapid", "air": "at feed, cuts nothing", "cut": "cuts"}
            axes.plot(joined[:, 0], joined[:, 1], label=names[kind], zorder=3, **style)
    _draw_holds(axes, scene, scale)
    _draw_marks(axes, scene, scale)
    axes.set_xlim(scene.box[0] / scale, scene.box[1] / scale)
    axes.set_ylim(scene.box[2] / scale, scene.box[3] / scale)
    axes.set_aspect("equal")
    axes.set_xlabel(f"X, {scene.units}", fontsize=8)
    axes.set_ylabel(f"Y, {scene.units}", fontsize=8)
    axes.tick_params(labelsize=7)
    if axes.get_legend_handles_labels()[0]:
        axes.legend(loc="upper left", bbox_to_anchor=(0.0, -0.06), ncols=3, fontsize=7, frameon=False)


def _draw_holds(axes: Any, scene: Scene, scale: float) -> None:
    """Clamps, screws with the ring that is kept free, and pieces that come loose."""
    from matplotlib.patches import Circle, Rectangle

    for clamp in scene.clamps:
        size = ((clamp.x_max - clamp.x_min) / scale, (clamp.y_max - clamp.y_min) / scale)
        corner = (clamp.x_min / scale, clamp.y_min / scale)
        axes.add_patch(
            Rectangle(corner, *size, facecolor=palette.YELLOW, edgecolor="black", alpha=0.8, zorder=4)
        )
    for screw in scene.screws:
        at = (screw.x_mm / scale, screw.y_mm / scale)
        axes.add_patch(
            Circle(at, screw.head_mm / scale, facecolor=palette.YELLOW, edgecolor="black", zorder=4)
        )
        axes.add_patch(
            Circle(at, screw.keep_mm / scale, fill=False, edgecolor=palette.VERMILION, ls="--", zorder=4)
        )
    for piece in scene.loose:
        at = (piece.x_mm / scale, piece.y_mm / scale)
        axes.annotate(piece.text, at, fontsize=7, ha="center", zorder=6, weight="bold", color="black",
                      bbox={"facecolor": "white", "edgecolor": palette.PURPLE, "pad": 1.5})  # fmt: skip


def _draw_marks(axes: Any, scene: Scene, scale: float) -> None:
    """The findings, each with a line to its place."""
    unit = 0.018 * scene.width_mm
    for mark in scene.marks:
        x = (mark.x_mm + mark.aside[0] * unit) / scale
        y = (mark.y_mm + mark.aside[1] * unit) / scale
        axes.plot([mark.x_mm / scale, x], [mark.y_mm / scale, y], color="black", lw=0.7, zorder=5)
        big = mark.severity == "warning"
        axes.plot(
            x, y, MARKER[mark.severity], ms=19 if big else 14, mfc=FILL[mark.severity], mec="black", zorder=6
        )
        axes.annotate(str(mark.number), (x, y), (0, -2.5 if big else 0), textcoords="offset points",
                      fontsize=7, ha="center", va="center", weight="bold", zorder=7)  # fmt: skip


def _draw_strip(axes: Any, strip: Strip, timeline: Timeline, inch: bool, *, last: bool) -> None:
    factor, unit = shown_unit(strip.unit, inch)
    moments = np.linspace(0.0, timeline.total, len(strip.bands.low) + 1)[:-1]
    low, high = strip.bands.low * factor, strip.bands.high * factor
    axes.fill_between(moments, low, high, step="post", color=palette.SKY, lw=0)
    axes.step(moments, high, where="post", color=palette.BLUE, lw=0.8)
    top = strip.top * factor
    axes.set_ylim(0, top)
    for limit in strip.limits:
        values = limit.values * factor
        if np.isfinite(values).any() and np.nanmin(values) <= top:
            dash = ":" if limit.smallest or limit.reference else "--"
            axes.step(moments, values, where="post", ls=dash, lw=1, label=limit.title,
                      color="#5d5d5d" if limit.reference else palette.VERMILION)  # fmt: skip
    if strip.over.any():
        axes.fill_between(moments, 0, 0.06 * top, where=strip.over, step="post", color=palette.VERMILION,
                          label="over a limit")  # fmt: skip
    axes.set_ylabel(f"{strip.title}\n{unit}", fontsize=7, rotation=0, ha="right", va="center")
    axes.tick_params(labelsize=7, labelbottom=last)
    axes.set_xlim(0, timeline.total)
    axes.spines[["top", "right"]].set_visible(False)
    if axes.get_legend_handles_labels()[0]:
        axes.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), fontsize=6.5, frameon=False)
    if last and timeline.unit == "s":
        axes.xaxis.set_major_formatter(lambda value, _: clock(max(value, 0.0)))
    elif last:
        axes.set_xlabel("way of the tool, mm", fontsize=8)


def map_picture(found: OperatingMap, units: str = "mm", form: Format = "png") -> bytes:
    """An operating map as a picture.

    found: The map.
    units: ``mm`` or ``in``.
    form: ``png`` or ``svg``.
    Returns: The file.
    """
    from matplotlib.figure import Figure

    scale = 25.4 if units == "in" else 1.0
    figure = Figure(figsize=(8.6, 5.2), layout="constrained", facecolor="white")
    axes = figure.add_subplot()
    ceiling = found.ceiling_mm / scale
    axes.fill_between(found.speeds_rpm, 0, ceiling, where=ceiling > 0, color=palette.GREEN, alpha=0.25, lw=0,
                      label="every limit holds")  # fmt: skip
    top = found.top_mm * (1 - 1e-9)
    shown = [t for t in found.governing() if (found.depths_mm[t] < top).any()][:7]
    for dash, title in zip(DASHES, shown, strict=False):
        axes.plot(
            found.speeds_rpm, found.depths_mm[title] / scale, color="black", ls=dash, lw=1.5, label=title
        )
    for name, speed in found.verticals:
        axes.axvline(speed, color=palette.VERMILION, lw=1.2, ls="-.")
        axes.text(
            speed, 0.99 * found.top_mm / scale, f" {name}", rotation=90, va="top", ha="right", fontsize=7
        )
    if found.points:
        xs, ys = zip(*found.points, strict=True)
        axes.plot(xs, [y / scale for y in ys], "D", ms=8, mfc=palette.ORANGE, mec="black", label="your cut",
                  ls="none", zorder=5)  # fmt: skip
    axes.set_xlim(found.speeds_rpm[0], found.speeds_rpm[-1])
    axes.set_ylim(0, found.top_mm / scale)
    axes.set_xlabel("spindle speed, rev/min", fontsize=9)
    axes.set_ylabel(f"depth of cut, {units}", fontsize=9)
    axes.tick_params(labelsize=8)
    title = _plain(found.title, 90) + "\n" + _plain(found.cut, 110)
    if found.holds_always:
        title += "\n" + found.holds_always
    axes.set_title(title, fontsize=9, loc="left")
    axes.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), fontsize=8, frameon=False)
    return _file(figure, form)


def _file(figure: Figure, form: Format) -> bytes:
    import matplotlib

    file = io.BytesIO()
    mark = {"Software": "millcalc"} if form == "png" else {"Creator": "millcalc", "Date": None}
    with matplotlib.rc_context({"svg.hashsalt": "millcalc", "svg.fonttype": "none"}):
        figure.savefig(file, format=form, dpi=130, metadata=mark)
    return file.getvalue()
