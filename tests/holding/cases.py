"""Small jobs of the weather station, made here: a plate, and programs that cut pieces out of it."""

from __future__ import annotations

from typing import Any

import numpy as np
import yaml

from millcalc.check.prepare import CheckOptions, make_context
from millcalc.job import build_setup
from millcalc.job.read import parse_job
from millcalc.preflight.context import Context

HEAD = ["G21 G90 G17 G94 G54", "T1 M6", "G0 Z20", "S15000 M3", "G4 P6"]
TAIL = ["G0 Z20", "M5", "M30"]


def plate(**changes: Any) -> dict[str, Any]:
    """A job as its file would read: an aluminium plate of 160 by 110 by 6 mm on a board of 12 mm."""
    job: dict[str, Any] = {
        "machine": "gantry-800w",
        "material": "al-6082-t6",
        "stock": {"size_x": "160 mm", "size_y": "110 mm", "thickness": "6 mm"},
        "zero": {"xy": "front-left", "z": "stock top", "work_offset": "G54"},
        "bed": {"spoilboard": "12 mm", "below": "metal", "drop": "80 mm", "wood_density": "680 kg/m3"},
        "screws": "none",
        "clamps": "none",
        "cutters": {"T1": {"cutter": "flat-6mm-1f", "stickout": "22 mm"}},
        "spindle": {"set_by": "program"},
        "controller": {"arcs": True, "dwell_unit": "s"},
    }
    return {**job, **changes}


def screw(x: float, y: float, **more: Any) -> dict[str, Any]:
    """A measured wood screw as a job file words it."""
    return {"x": f"{x} mm", "y": f"{y} mm", "size": "wood 4.0 round", "depth_in_bed": "10 mm",
            "placed": "measured", **more}  # fmt: skip


def ring(x: float, y: float, radius: float, depth: float, step: float = 0.5) -> list[str]:
    """A circle cut down to a depth."""
    lines = ["G0 Z8", f"G0 X{x + radius} Y{y}", "G0 Z1", "G1 Z0 F300"]
    for z in np.append(np.arange(-step, -depth, -step), -depth):
        lines.append(f"G3 X{x + radius} Y{y} I{-radius} J0 Z{z:.3f} F600")
    return [*lines, f"G3 X{x + radius} Y{y} I{-radius} J0 F600"]


def rectangle(x0: float, y0: float, x1: float, y1: float, depth: float, step: float = 0.5) -> list[str]:
    """A rectangle cut down to a depth."""
    lines = ["G0 Z8", f"G0 X{x0} Y{y0}", "G0 Z1"]
    for z in np.append(np.arange(-step, -depth, -step), -depth):
        lines += [f"G1 Z{z:.3f} F150", f"G1 X{x1} F600", f"G1 Y{y1}", f"G1 X{x0}", f"G1 Y{y0}"]
    return lines


def program(*parts: list[str]) -> str:
    """A whole program of some parts."""
    return "\n".join([*HEAD, *(line for part in parts for line in part), *TAIL]) + "\n"


def context(text: str, job: dict[str, Any] | None = None, *, cell_mm: float | None = 0.25) -> Context:
    """Read, placed and simulated."""
    setup = build_setup(parse_job(yaml.safe_dump(job or plate())))
    return make_context(text.encode(), "part.nc", setup, CheckOptions(cell_mm=cell_mm))
