"""The chatter limit over spindle speed in characters, for a terminal."""

from __future__ import annotations

import numpy as np

from millcalc.advise.lobes import Stability
from millcalc.report.lobes_plot import Array
from millcalc.units_show import System, show_depth, show_speed, show_stiffness

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
        f"mode of cutter, collet and spindle: {known}, stiffness {show_stiffness(mode.stiffness_n_um, units)}",
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
    width: int = 68,
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
    lines, digits = [y_label], 2 if highest >= 0.5 else 3
    for row in range(_ROWS, 0, -1):
        fill = np.clip(columns / highest * _ROWS - (row - 1), 0.0, 1.0)
        body = "".join(blocks[round(8 * float(part))] for part in fill)
        mark = f"{highest * row / _ROWS:8.{digits}f} |" if row % 3 == 0 else "         |"
        lines.append(mark + body.rstrip())
    lines.append("         +" + "-" * width)
    low, middle, high = (
        f"{value:.0f}" if x[-1] >= 100 else f"{value:.3g}" for value in (x[0], (x[0] + x[-1]) / 2, x[-1])
    )
    gap = max(width - len(low) - len(middle) - len(high), 2)
    lines.append("          " + low + " " * (gap // 2) + middle + " " * (gap - gap // 2) + high)
    lines.append("          " + x_label)
    return lines
