"""Programs on a plate of the weather station, ready for rewriting."""

from __future__ import annotations

import re
from functools import cache

import yaml

from millcalc.check.prepare import CheckOptions, context_of, read_for
from millcalc.gcode.machine import Observer
from millcalc.gcode.program import Program
from millcalc.job import build_setup
from millcalc.job.read import parse_job
from millcalc.job.setup import Setup
from millcalc.preflight.context import Context
from millcalc.rewrite.desk import Desk

HEAD = "G21 G90 G17 G94 G54\nT1 M6\nG0 Z12\nS13200 M3\nG4 P6\n"
TAIL = "G0 Z12\nM5\nM30\n"


def plate(**changes: object) -> Setup:
    """The sensor plate: 6 mm of aluminium, 120 x 80, four screws at its corners, a 6 mm cutter."""
    screws = [{"x": x, "y": y, "size": "wood 4.0 round", "depth_in_bed": "10 mm", "placed": "measured"}
              for x in (8, 112) for y in (8, 72)]  # fmt: skip
    job = {
        "machine": "gantry-800w",
        "material": "al-6082-t6",
        "grade_known": True,
        "stock": {"size_x": "120 mm", "size_y": "80 mm", "thickness": "6 mm", "thickness_spread": "0 mm"},
        "zero": {"xy": "front-left", "z": "stock top", "work_offset": "G54"},
        "bed": {"spoilboard": "12 mm", "below": "wood", "flatness": "0 mm", "drop": "80 mm",
                "wood_density": "680 kg/m3"},
        "screws": screws,
        "clamps": "none",
        "cutters": {"T1": {"cutter": "flat-6mm-1f", "stickout": "22 mm"}},
        "position": {"x": "120 mm", "y": "90 mm", "z": "60 mm"},
        "controller": {"arcs": True, "tool_changer": False, "dwell_unit": "s"},
        "cooling": "air",
    }  # fmt: skip
    return _setup(yaml.safe_dump({**job, **changes}))


@cache
def _setup(text: str) -> Setup:
    return build_setup(parse_job(text))


def desk(text: str | bytes, setup: Setup | None = None, **options: object) -> Desk:
    """A desk with a program."""
    data = text.encode() if isinstance(text, str) else text
    wish = CheckOptions(cell_mm=0.2, **options)  # type: ignore[arg-type]

    def read(program: bytes, observe: Observer | None) -> Program:
        return read_for(program, "p.nc", setup, wish, observe)

    def place(program: Program) -> Context:
        return context_of(program, setup, wish)

    return Desk(data, "p.nc", setup, read, place)


def slot(feed: float = 380, ramp: float = 190, depth: float = 0.35, levels: int = 2) -> str:
    """A slot from X30 to X90 at Y40, level by level, each entered on a ramp."""
    lines = ["G0 X30 Y40", "G0 Z1", "G1 Z0 F70"]
    for level in range(levels):
        lines += [f"G1 X50 Z{-depth * (level + 1):.3f} F{ramp:g}", "G1 X30", f"G1 X90 F{feed:g}", "G1 X30"]
    return HEAD + "\n".join(lines) + "\n" + TAIL


def bare(data: bytes) -> bytes:
    """A program without its F and S words and the blanks before them; comments stay."""
    parts = re.split(rb"(\([^)]*\)|;[^\r\n]*)", data)
    parts[::2] = [
        re.sub(rb"(?i)[ \t]*[FS][ \t]*(\[[^\]]*\]|#<[^>]*>|#?\d*\.?\d*)", b"", part) for part in parts[::2]
    ]
    return b"".join(parts)
