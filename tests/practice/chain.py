"""From a row of the table to a program, a job and the check's report: the whole chain that a person runs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from millcalc.check.prepare import CheckOptions
from millcalc.check.run import look_over
from millcalc.job import build_setup
from millcalc.job.read import parse_job
from millcalc.tables import load_cutter, load_machine

TABLE = Path(__file__).with_name("cuts.yaml")
SIZE_X, SIZE_Y = 120.0, 80.0
FLAT_PITCH_MM, STEEP_PITCH_MM = 0.5, 3.0


@dataclass(frozen=True)
class Cut:
    """One row: lengths [mm], speed [rev/min], feed [mm/min]."""

    name: str
    material: str
    cutter: str
    machine: str
    kind: str
    rpm: float
    feed: float
    depth: float
    width: float
    source: str
    because: tuple[str, ...] = ()


def _rows(kind: str) -> tuple[Cut, ...]:
    data = yaml.safe_load(TABLE.read_text(encoding="utf-8"))
    rows = [Cut(*row[:10], tuple(row[10]) if len(row) > 10 else ()) for row in data[kind]]
    unknown = {row.source for row in rows} - set(data["sources"])
    assert not unknown, f"sources that are not listed: {unknown}"
    return tuple(rows)


WORKS, ABSURD = _rows("works"), _rows("absurd")


def job_of(cut: Cut) -> str:
    """The job: a blank screwed to the bed by measured wood screws, zero front left on top."""
    machine = load_machine(cut.machine)
    job: dict[str, Any] = {
        "machine": cut.machine,
        "material": cut.material,
        "grade_known": True,
        "stock": {"size_x": SIZE_X, "size_y": SIZE_Y, "thickness": max(12.0, cut.depth + 6), "thickness_spread": 0},
        "zero": {"xy": "front-left", "z": "stock top", "work_offset": "G54"},
        "bed": {"spoilboard": "18 mm", "below": "wood", "flatness": "0 mm"},
        "screws": [
            {"x": x, "y": y, "size": "wood 5.0 round", "placed": "measured", "depth_in_bed": "16 mm"}
            for x in (6, SIZE_X - 6) for y in (60, SIZE_Y - 6)
        ],
        "clamps": "none",
        "cutters": {"T1": {"cutter": cut.cutter}},
        "cooling": "air",
        "controller": {"arcs": True, "canned_cycles": True, "tool_changer": False, "dwell_unit": "s"},
    }  # fmt: skip
    if machine.spindle.speed_set_by != "program":
        job["spindle"] = {"rpm": cut.rpm}
    return yaml.safe_dump(job)


def _moves(cut: Cut, diameter: float) -> list[str]:
    feed, z, y = f"F{cut.feed:g}", -cut.depth, 40.0
    beside = f"G0 X{-diameter / 2 - 4:.3f} Y{y:g}"
    match cut.kind:
        case "slot":  # from beside the stock, the first diameter at half the feed
            return [beside, f"G0 Z{z:g}", f"G1 X{diameter:.3f} F{cut.feed / 2:g}", f"G1 X70 {feed}"]
        case "side" | "face":  # climb along the front edge: M3, the material on the right
            line = -diameter / 2 + cut.width
            return [f"G0 X{SIZE_X + diameter / 2 + 4:.3f} Y{line:.3f}", f"G0 Z{z:g}", f"G1 X20 {feed}"]
        case "ramp":
            run = cut.depth / math.tan(math.radians(cut.width))
            return [
                f"G0 X20 Y{y:g}",
                "G0 Z1",
                f"G1 Z0 F{cut.feed / 4:g}",
                f"G1 X{20 + run:.3f} Z{z:g} {feed}",
            ]
        case "slope":  # one long line that goes down all the way
            return [
                f"G0 X12 Y{y:g}",
                "G0 Z1",
                f"G1 Z0 F{cut.feed / 4:g}",
                f"G1 X{12 + cut.width:g} Z{z:g} {feed}",
            ]
        case "helix" | "helix-steep":
            radius = (cut.width - diameter) / 2
            pitch = FLAT_PITCH_MM if cut.kind == "helix" else STEEP_PITCH_MM
            turns = round(cut.depth / pitch)
            start = [f"G0 X{50 + radius:.3f} Y{y:g}", "G0 Z1", f"G1 Z0 F{cut.feed / 4:g}"]
            turn = f"G3 X{50 + radius:.3f} Y{y:g} Z{{:g}} I{-radius:.3f} J0 {feed}"
            return start + [turn.format(-pitch * (n + 1)) for n in range(turns)]
        case "drill":
            return [f"G0 X50 Y{y:g}", "G0 Z3", f"G83 X50 Y{y:g} Z{z:g} R2 Q{cut.width:g} {feed}", "G80"]
        case "plunge":
            return [f"G0 X50 Y{y:g}", "G0 Z1", f"G1 Z{z:g} {feed}"]
    raise ValueError(cut.kind)


def program_of(cut: Cut) -> str:
    """The program: head, dwell for the spindle, the cut, up and end."""
    diameter = load_cutter(cut.cutter).diameter_mm
    head = ["G21 G90 G17 G94 G54", "T1 M6", f"S{cut.rpm:g} M3", "G4 P10", "G0 Z15"]
    return "\n".join([*head, *_moves(cut, diameter), "G0 Z15", "M5", "M30", ""])


def check(cut: Cut):
    """The report of the check."""
    setup = build_setup(parse_job(job_of(cut), "job.yaml"))
    cell = 0.1 if "1mm" in cut.cutter else 0.2
    return look_over(program_of(cut).encode(), "cut.nc", setup, CheckOptions(cell_mm=cell)).report
