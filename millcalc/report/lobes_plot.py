"""The chatter limit over spindle speed: as PNG or SVG by matplotlib."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from millcalc.advise.lobes import Stability
from millcalc.errors import InputError
from millcalc.files import new_file
from millcalc.units_show import System, show_length

Array = NDArray[np.float64]


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
