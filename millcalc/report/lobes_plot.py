"""The chatter limit over spindle speed: in characters for the terminal, as PNG or SVG by matplotlib."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from millcalc.advise.lobes import Stability
from millcalc.errors import InputError
from millcalc.files import new_file
from millcalc.units_show import System, show_depth, show_length, show_speed

Array = NDArray[np.float64]
_ROWS = 12


def stability_lines(found: Stability, units: System = "mm") -> list[str]:
    """The limit, the pockets and the frame's margin in words.

    found: The chatter limit.
    units: ``mm`` or ``in``.
    Returns: Lines.
    """
    tooling, mode = found.tooling, found.mode
    known = (
        f"tapped at {mode.frequency_hz:.0f} Hz, damping {mode.damping_ratio:.3f}"
        if found.tapped
        else f"not tapped; damping {mode.damping_ratio:g} taken"
    )
    lines = [
        f"{tooling.cutter.title} in {tooling.material.title}, {found.request.cut}",
        f"mode of cutter, collet and spindle: {known}, stiffness {mode.stiffness_n_um:.2g} N/µm",
        f"quiet at any speed up to a depth of {show_depth(found.bound_mm, units)}",
    ]
    if found.why_not:
        lines.append(found.why_not)
    elif not found.pockets:
        lines.append(
            f"no pocket worth using between {show_speed(tooling.lowest_rpm)} and "
            f"{show_speed(tooling.highest_rpm)} within the cutting-speed band: stay at or below that depth"
        )
    else:
        lines.append("pockets worth using, errors of speed and frequency allowed for:")
        lines += [
            f"  {show_speed(p.best_rpm):>10}  ({p.low_rpm:.0f}-{p.high_rpm:.0f})  "
            + (
                f"quiet up to {show_depth(p.depth_mm, units)}, {p.gain:.1f} times the depth of any speed"
                if np.isfinite(p.depth_mm)
                else "this mode sets no limit there"
            )
            for p in found.pockets[:5]
        ]
        lines.append(
            "  only chatter is meant here: deflection and the other limits hold as millcalc settings says"
        )
    frame = found.frame
    lines.append(
        f"frame, a relative figure and no promise: its mode at {frame.frequency_hz:.0f} Hz "
        f"({'measured' if frame.measured else 'derived from typical stiffness'}) is passed {frame.passes:.1f} times "
        f"over at {show_speed(found.at_rpm)}; margin for {show_depth(found.at_depth_mm, units)} deep: "
        f"{frame.words} ({frame.times:.1f}). Twice the stiffness or half the flutes double it"
    )
    return lines


def character_plot(
    x: Array,
    y: Array,
    *,
    width: int = 72,
    fancy: bool = True,
    x_label: str = "",
    y_label: str = "",
    top: float = 0.0,
) -> list[str]:
    """A filled curve in characters.

    x, y: Points, x rising; any units.
    width: Columns of the picture [-].
    fancy: Block characters instead of ``#``.
    x_label, y_label: Names with units.
    top: Upper end of the y axis; 0 takes the largest finite value [unit of y].
    Returns: Lines, the y axis at the left.
    """
    finite = y[np.isfinite(y)]
    highest = top or (float(finite.max()) if finite.size else 1.0)
    columns = np.interp(
        np.linspace(x[0], x[-1], width), x, np.minimum(np.where(np.isfinite(y), y, highest), highest)
    )
    blocks = " ▁▂▃▄▅▆▇█" if fancy else "   ...###"
    lines = [y_label]
    for row in range(_ROWS, 0, -1):
        fill = np.clip(columns / highest * _ROWS - (row - 1), 0.0, 1.0)
        body = "".join(blocks[round(8 * float(part))] for part in fill)
        mark = f"{highest * row / _ROWS:8.2f} |" if row % 3 == 0 else "         |"
        lines.append(mark + body.rstrip())
    lines.append("         +" + "-" * width)
    low, middle, high = f"{x[0]:.0f}", f"{(x[0] + x[-1]) / 2:.0f}", f"{x[-1]:.0f}"
    gap = max(width - len(low) - len(middle) - len(high), 2)
    lines.append("          " + low + " " * (gap // 2) + middle + " " * (gap - gap // 2) + high)
    lines.append("          " + x_label)
    return lines


def plot_top_mm(found: Stability) -> float:
    """Upper end of the depth axis: what is of use, not the tip of the highest lobe.

    found: The chatter limit.
    Returns: Depth [mm].
    """
    bound = found.bound_mm if np.isfinite(found.bound_mm) else _NO_BOUND_MM
    useful = max((pocket.depth_mm for pocket in found.pockets), default=3.0 * bound)
    return float(1.3 * max(min(useful, 20.0 * bound), 2.0 * bound))


_NO_BOUND_MM = 10.0  # height of a picture without a limit; estimate


def save_plot(found: Stability, path: Path, units: System = "mm", *, force: bool = False) -> None:
    """Draw the limit as PNG or SVG.

    found: The chatter limit of a tapped cutter.
    path: File; its ending decides the format.
    units: ``mm`` or ``in``.
    force: Whether a file that is there may be replaced.
    Raises InputError: With another ending, without a tapped mode, over a file that is there, or where the folder
      cannot be written to.
    """
    if path.suffix.lower() not in (".png", ".svg"):
        raise InputError(path.suffix or "no ending", ".png or .svg", file=str(path))
    if not found.tapped:
        raise InputError(
            "no tapped mode", "a frequency to draw the pockets from", found.why_not, file=str(path)
        )
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    scale = 1 / 25.4 if units == "in" else 1.0
    figure = Figure(figsize=(8.0, 4.2), layout="constrained")
    (FigureCanvasSVG if path.suffix.lower() == ".svg" else FigureCanvasAgg)(figure)
    axes = figure.add_subplot()
    top = plot_top_mm(found)
    shown = np.minimum(found.depth_mm, 10 * top) * scale
    axes.fill_between(found.speed_rpm, shown, 10 * top * scale, color="0.85", label="chatters")
    axes.plot(found.speed_rpm, shown, color="0.2", linewidth=1.2, label="limit")
    axes.plot(
        found.speed_rpm,
        np.minimum(found.sure_mm, 10 * top) * scale,
        color="0.2",
        linewidth=0.9,
        linestyle="--",
        label="with errors of speed and frequency",
    )
    axes.axhline(
        found.bound_mm * scale, color="0.5", linewidth=0.8, linestyle=":", label="quiet at any speed"
    )
    for pocket in found.pockets[:5]:
        axes.axvspan(pocket.low_rpm, pocket.high_rpm, color="tab:green", alpha=0.15)
    axes.set_ylim(0, top * scale)
    axes.set_xlim(float(found.speed_rpm[0]), float(found.speed_rpm[-1]))
    axes.set_xlabel("spindle speed [rpm]")
    axes.set_ylabel(f"depth of cut [{units}]")
    axes.set_title(
        f"{found.tooling.cutter.title}, stickout {show_length(found.tooling.stickout_mm, units)}, "
        f"{found.tooling.material.title}: chatter only",
        fontsize=9,
    )
    axes.legend(fontsize=8, loc="upper left")
    with new_file(path, replace=force) as part:
        figure.savefig(part, format=path.suffix.lower()[1:], dpi=120)
