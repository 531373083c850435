"""Checks of demo jobs and of small programs, for the tests of the pictures."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from millcalc.check.build import build_report
from millcalc.check.prepare import CheckOptions, make_context
from millcalc.check.run import Looked, judge, look_at
from millcalc.job import build_setup, load_job
from millcalc.tables import demo_root

JOB = """
title: mast bracket of the weather station
machine: gantry-800w
material: al-6082-t6
stock: {size_x: 60, size_y: 40, thickness: 6}
zero: {xy: front-left, z: stock top}
bed: {spoilboard: 12, below: wood, drop: 80}
screws:
  - {x: 5, y: 5, size: wood 4.0 round, depth_in_bed: 15, placed: measured}
  - {x: 55, y: 35, size: wood 4.0 round, depth_in_bed: 15, placed: measured}
clamps: none
cutters:
  T1: {cutter: flat-6mm-1f, stickout: 22}
"""

SLOTS = """(Weather station: two slots in the mast bracket)
G21 G90 G17 G94 G54
T1 M6
S13200 M3
G4 P6
G0 Z10
G0 X15 Y12
G1 Z0.5 F75
G1 X45 Z-0.5 F190
G1 X15 F390
G0 Z10
G0 X15 Y28
G1 Z0.5 F75
G1 X45 Z-0.5 F190
G1 X15 F390
G0 Z10
M5
M2
"""


@cache
def demo(name: str, program: str = "good") -> Looked:
    """Check of a shipped job."""
    folder = demo_root() / name
    return look_at(folder / f"{program}.nc", folder / "job.yaml")


def looked(
    folder: Path,
    text: str = SLOTS,
    job: str | None = JOB,
    options: CheckOptions | None = None,
    name: str = "slots.nc",
) -> Looked:
    """Check of a program's text."""
    options = options or CheckOptions()
    setup = None
    if job is not None:
        path = folder / "job.yaml"
        path.write_text(job, encoding="utf-8")
        setup = build_setup(load_job(path), path)
    ctx = make_context(text.encode("utf-8"), name, setup, options)
    return Looked(ctx, build_report(ctx, judge(ctx, options)))
