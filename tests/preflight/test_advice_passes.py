"""A program that follows the advice raises no stop and no warning; the same spoilt three ways is caught.

The program is a long slot, level by level, entered on ramps, written from the advice for a machine, a material and
a cutter. Then: every feed times three, the depth of a pass times three, and a screw moved into the path.
"""

from __future__ import annotations

import math
import os
from functools import cache

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.advise.advice import advise
from millcalc.check.prepare import CheckOptions, make_context
from millcalc.errors import InputError
from millcalc.job import build_setup
from millcalc.job.read import parse_job
from millcalc.limits.fitted import tooling_for
from millcalc.limits.request import CutRequest
from millcalc.preflight import run_rules

MACHINES = ("belt-small-trim-router", "screw-desktop-300w", "gantry-800w", "gantry-2200w", "bench-mill-small")
MATERIALS = ("al-6082-t6", "al-7075-t6", "softwood", "mdf", "acrylic-cast", "acetal", "brass-free-machining")
CUTTERS = ("flat-2mm-1f", "flat-3mm-1f", "flat-4mm-2f", "flat-6mm-1f", "flat-6mm-2f")
LENGTH = 100.0
LEVELS = 3


def job_text(machine: str, material: str, cutter: str, dialled: float | None, screw_y: float = 5.0) -> str:
    screws = [
        {
            "x": x,
            "y": y,
            "head_diameter": "8 mm",
            "shank_diameter": "4 mm",
            "head_height": "3 mm",
            "placed": "measured",
        }
        for x, y in ((5, screw_y), (145, 5), (145, 75), (5, 75))
    ]
    if screw_y != 5.0:
        screws[0]["x"] = 75.0
    job = {
        "machine": machine,
        "material": material,
        "grade_known": True,
        "stock": {"size_x": "150 mm", "size_y": "80 mm", "thickness": "25 mm", "thickness_spread": "0 mm"},
        "zero": {"xy": "front-left", "z": "stock top", "work_offset": "G54"},
        "bed": {"spoilboard": "12 mm", "below": "wood", "flatness": "0 mm"},
        "screws": screws,
        "clamps": "none",
        "cutters": {"T1": {"cutter": cutter}},
        "cooling": "air",
        "controller": {"arcs": True, "tool_changer": False, "dwell_unit": "s"},
    }
    if dialled:
        job["spindle"] = {"rpm": dialled}
    return yaml.safe_dump(job)


def program(got, diameter, *, feed_times=1.0, depth_times=1.0) -> str:
    """A slot from X25 to X125 at Y40, each level entered on a ramp along the slot; no deeper than 1.4 diameters."""
    rpm, feed, depth = got.speed_rpm, got.feed_mm_min, got.axial_depth_mm
    ramp_deg, ramp_feed = got.ramp_angle_deg, got.ramp_feed_mm_min
    levels = max(1, min(LEVELS, int(1.4 * diameter / depth)))
    lines = ["G21 G90 G17 G94 G54", f"S{rpm:.0f} M3", "G4 P8", "G0 Z10", "G0 X25 Y40", "G0 Z1",
             f"G1 Z0 F{ramp_feed * 0.3:.1f}"]  # fmt: skip
    x, z = 25.0, 0.0
    run = depth * depth_times / math.tan(math.radians(ramp_deg * 0.98))
    for _ in range(levels):
        left = depth * depth_times
        while left > 1e-9:  # down in zigzag where the slot is shorter than the ramp
            share = min(1.0, LENGTH / run * depth * depth_times / left)
            step = left * share
            dx = min(LENGTH, run * step / (depth * depth_times))
            x = x + dx if x + dx <= 125.0 + 1e-9 else x - dx
            z -= step
            left -= step
            lines.append(f"G1 X{x:.4f} Z{z:.4f} F{ramp_feed * feed_times:.1f}")
        lines += [f"G1 X125 F{feed * feed_times:.1f}", "G1 X25"]
        x = 25.0
    return "\n".join([*lines, "G0 Z10", "M5", "M30", ""])


@cache
def prepared(machine: str, material: str, cutter: str):
    """Settings and setup for a combination, or None where the advice itself says that it does not go."""
    try:
        setup = build_setup(parse_job(job_text(machine, material, cutter, None)))
        tooling = tooling_for(setup, 1)
        advice = advise(tooling, CutRequest("slot", segment_mm=LENGTH))
    except InputError:
        return None
    if not advice.fits:
        return None
    got = advice.settings
    dialled = got.speed_rpm if tooling.uses_dial else None
    text = job_text(machine, material, cutter, dialled)
    return got, build_setup(parse_job(text))


def outcome(text: str, setup):
    return run_rules(make_context(text.encode(), "slot.nc", setup, CheckOptions(cell_mm=0.2)))


def bad(result) -> list[str]:
    return [f"{f.code} {f.severity.word}: {f.fact}" for f in result.findings if f.severity.word != "note"]


combinations = st.tuples(st.sampled_from(MACHINES), st.sampled_from(MATERIALS), st.sampled_from(CUTTERS))


@settings(max_examples=12, deadline=None, database=None)
@given(combinations)
def test_the_advice_passes_its_own_check(combination):
    ready = prepared(*combination)
    if ready is None:
        return
    got, setup = ready
    result = outcome(program(got, setup.cutters[1].cutter.diameter_mm), setup)
    assert not bad(result), combination


@settings(max_examples=6, deadline=None, database=None)
@given(combinations)
def test_three_times_the_feed_is_caught(combination):
    ready = prepared(*combination)
    if ready is None:
        return
    got, setup = ready
    result = outcome(program(got, setup.cutters[1].cutter.diameter_mm, feed_times=3.0), setup)
    assert {f.code for f in result.findings if f.severity.word != "note"} & {
        "FEED-02",
        "FEED-03",
        "FEED-06",
        "DEPTH-01",
    }


@settings(max_examples=6, deadline=None, database=None)
@given(combinations)
def test_six_times_the_depth_is_caught(combination):
    ready = prepared(*combination)
    if ready is None:
        return
    got, setup = ready
    result = outcome(program(got, setup.cutters[1].cutter.diameter_mm, depth_times=6.0), setup)
    assert {f.code for f in result.findings if f.severity.word != "note"} & {"DEPTH-01", "BED-01"}


@settings(max_examples=5, deadline=None, database=None)
@given(combinations, st.floats(36.0, 44.0))
def test_a_screw_in_the_path_is_caught(combination, screw_y):
    ready = prepared(*combination)
    if ready is None:
        return
    got, _ = ready
    dialled = got.speed_rpm if combination[0].startswith("belt") else None
    setup = build_setup(parse_job(job_text(*combination, dialled, screw_y)))
    result = outcome(program(got, setup.cutters[1].cutter.diameter_mm), setup)
    hits = [f for f in result.findings if f.code == "SCREW-01"]
    assert hits and hits[0].severity.word == "stop"


@pytest.mark.slow
@pytest.mark.skipif("MILLCALC_ALL" not in os.environ, reason="two minutes; set MILLCALC_ALL to run it")
def test_every_combination_passes():
    """All 175 of them, with what was wrong for each."""
    wrong = {}
    for machine in MACHINES:
        for material in MATERIALS:
            for cutter in CUTTERS:
                ready = prepared(machine, material, cutter)
                if ready is None:
                    continue
                got, setup = ready
                found = bad(outcome(program(got, setup.cutters[1].cutter.diameter_mm), setup))
                if found:
                    wrong[machine, material, cutter] = found
    assert not wrong
