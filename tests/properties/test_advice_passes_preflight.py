"""Advice and checks stand on the same mechanics: what follows the advice passes, what leaves it is caught.

The program holds a slot and a closed outline in a plate with screws, both entered on ramps, written from the advice
for a machine, a material and a cutter. It must raise no stop and no warning. Then every feed times three, or every
depth times seven, or a screw moved into the path must be caught, every time.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.advise.advice import advise
from millcalc.advise.result import Settings
from millcalc.check.prepare import CheckOptions, make_context
from millcalc.errors import InputError
from millcalc.job import build_setup
from millcalc.job.read import parse_job
from millcalc.job.setup import Setup
from millcalc.limits.fitted import tooling_for
from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.preflight import run_rules
from millcalc.tables import list_names, load_cutter, load_material

MACHINES = tuple(list_names("machines"))
MATERIALS = tuple(n for n in list_names("materials") if load_material(n).suitability != "not recommended")
CUTTERS = tuple(
    name
    for name in list_names("cutters")
    if (cutter := load_cutter(name)).kind in ("flat", "bull-nose")
    and cutter.centre_cutting
    and 1.0 <= cutter.diameter_mm <= 8.0
)
PLATE = (160.0, 110.0)
SCREWS = ((8.0, 8.0), (152.0, 8.0), (152.0, 102.0), (8.0, 102.0))
SLOT = ((45.0, 80.0), (115.0, 80.0))
RING = ((40.0, 30.0), (120.0, 30.0), (120.0, 60.0), (40.0, 60.0))
SHORTEST = 30.0  # mm; shortest straight piece of both
NARROW = 1.4  # diameters; deeper slots are doubtful at any depth of pass, which DEPTH-05 says of its own
# what a tripled feed or depth may be caught by: chip, force, power, what the axes can do
FEED_CODES = {"FEED-02", "FEED-03", "FEED-06", "DEPTH-01", "FORCE-01", "FORCE-02", "FORCE-03", "FORCE-04"}
DEPTH_CODES = {"DEPTH-01", "BED-01", "BED-02", "HOLDER-02"}


@dataclass(frozen=True)
class Ready:
    """A combination the advice has settings for, without a doubt of its own about the cutter."""

    settings: Settings
    tooling: Tooling
    job: dict[str, object]
    setup: Setup
    levels: int

    @property
    def spin_up_s(self) -> float:
        """Time the spindle needs [s]."""
        return self.tooling.machine.spindle.spin_up_s


@cache
def ready(machine: str, material: str, cutter: str) -> Ready | None:
    """Settings and job of a combination, or None where the advice itself says that it does not go."""
    screws = [
        {"x": x, "y": y, "head_diameter": "8 mm", "shank_diameter": "4 mm", "head_height": "3 mm",
         "placed": "measured"}
        for x, y in SCREWS
    ]  # fmt: skip
    job: dict[str, object] = {
        "machine": machine,
        "material": material,
        "grade_known": True,
        "stock": {"size_x": f"{PLATE[0]} mm", "size_y": f"{PLATE[1]} mm", "thickness": "12 mm",
                  "thickness_spread": "0 mm"},
        "zero": {"xy": "front-left", "z": "stock top", "work_offset": "G54"},
        "bed": {"spoilboard": "12 mm", "below": "wood", "flatness": "0 mm"},
        "screws": screws,
        "clamps": "none",
        "cutters": {"T1": {"cutter": cutter}},
        "cooling": "air",
        "controller": {"arcs": True, "tool_changer": False, "dwell_unit": "s"},
    }  # fmt: skip
    try:
        tooling = tooling_for(build_setup(parse_job(yaml.safe_dump(job))), 1)
        advice = advise(tooling, CutRequest("slot", segment_mm=SHORTEST), buys=False)
    except InputError:
        return None
    spindle, fitted = tooling.machine.spindle, tooling.cutter
    doubtful = fitted.shank_mm > spindle.largest_shank_mm or fitted.flutes > tooling.material.max_flutes_slot
    if not advice.fits or doubtful:  # the advice names both doubts in its notes
        return None
    depth = advice.settings.axial_depth_mm
    levels = 2 if 2 * depth <= min(fitted.flute_length_mm, NARROW * fitted.diameter_mm) else 1
    if tooling.uses_dial:
        job["spindle"] = {"rpm": advice.settings.speed_rpm}
    job["stock"] = {**job["stock"], "thickness": f"{max(12.0, 1.25 * levels * depth + 1):.2f} mm"}  # type: ignore[dict-item]
    return Ready(advice.settings, tooling, job, build_setup(parse_job(yaml.safe_dump(job))), levels)


def program(case: Ready, *, feed_times: float = 1.0, depth_times: float = 1.0) -> str:
    """The slot and the outline, level by level; each level is ridden down on ramps along the path."""
    got, spin_up_s = case.settings, case.spin_up_s
    lines = [
        "G21 G90 G17 G94 G54",
        "T1 M6",
        "G0 Z15",
        f"S{got.speed_rpm:.0f} M3",
        f"G4 P{math.ceil(spin_up_s) + 2}",
    ]
    depth = got.axial_depth_mm * depth_times
    for path in (SLOT, RING):
        lines += [f"G0 X{path[0][0]} Y{path[0][1]}", "G0 Z2", f"G1 Z0 F{got.plunge_feed_mm_min:g}"]
        for level in range(case.levels):
            lines += _down(path, -depth * level, -depth * (level + 1), got, feed_times)
            around = [*path[1:], path[0]]
            first = f" F{got.feed_mm_min * feed_times:.3f}"
            for x, y in around:
                lines.append(f"G1 X{x:.4f} Y{y:.4f}{first}")
                first = ""
        lines.append("G0 Z15")
    return "\n".join([*lines, "M5", "M30", ""])


def _down(
    path: tuple[tuple[float, float], ...], top: float, bottom: float, got: Settings, feed_times: float
) -> list[str]:
    """Ramps to and fro on the first side of the path, back at its start at the bottom."""
    (x0, y0), (x1, y1) = path[:2]
    side = math.dist((x0, y0), (x1, y1))
    run = (top - bottom) / math.tan(math.radians(got.ramp_angle_deg * 0.99))
    legs = max(2, 2 * math.ceil(run / side / 2))
    reach = (
        max(run / legs, min(SHORTEST, side)) / side
    )  # no shorter than the segments the advice was asked for
    first, lines = f" F{got.ramp_feed_mm_min * feed_times:.3f}", []
    for leg in range(legs):
        share = reach if leg % 2 == 0 else 0.0
        z = top + (bottom - top) * (leg + 1) / legs
        lines.append(f"G1 X{x0 + share * (x1 - x0):.4f} Y{y0 + share * (y1 - y0):.4f} Z{z:.4f}{first}")
        first = ""
    return lines


def found(text: str, setup: Setup) -> list[str]:
    """Stops and warnings."""
    options = CheckOptions(cell_mm=max(0.1, setup.cutters[1].cutter.diameter_mm / 16))
    outcome = run_rules(make_context(text.encode(), "advised.nc", setup, options))
    return [f"{f.code} {f.fact}" for f in outcome.findings if f.severity.word != "note"]


def codes(text: str, setup: Setup) -> set[str]:
    return {line.split()[0] for line in found(text, setup)}


def within_every_limit(case: Ready, feed_times: float) -> bool:
    """Whether the advice itself, asked to judge the faster feed at full limits, finds nothing wrong with it.

    A first cut keeps so much in reserve that in some plastics even three times its feed is within the band.
    """
    got = case.settings
    request = CutRequest(
        "slot",
        axial_depth_mm=got.axial_depth_mm,
        feed_mm_min=got.feed_mm_min * feed_times,
        speed_rpm=got.speed_rpm,
        segment_mm=SHORTEST,
        proven=True,
    )
    return (
        advise(case.tooling, request, buys=False).limits[0].used <= 1.05
    )  # as far as the checks keep quiet, too


COMBINATIONS = st.tuples(st.sampled_from(MACHINES), st.sampled_from(MATERIALS), st.sampled_from(CUTTERS))
FEW = settings(max_examples=14, deadline=None, database=None, derandomize=True)


def test_enough_is_sampled() -> None:
    assert len(MACHINES) >= 5 and len(MATERIALS) >= 15 and len(CUTTERS) >= 15


@FEW
@given(COMBINATIONS)
def test_the_advice_passes_and_what_goes_far_beyond_is_caught(names: tuple[str, str, str]) -> None:
    case = ready(*names)
    if case is None:
        return
    assert not found(program(case), case.setup), names
    fast = codes(program(case, feed_times=3.0), case.setup)
    assert fast & FEED_CODES or within_every_limit(case, 3.0), (names, fast)
    deep = codes(program(case, depth_times=7.0), case.setup)
    assert deep & DEPTH_CODES, (names, deep)


@FEW
@given(COMBINATIONS, st.sampled_from(range(4)), st.floats(0.0, 1.0), st.sampled_from([SLOT, RING]))
def test_a_screw_moved_into_the_path_is_caught(
    names: tuple[str, str, str], which: int, share: float, path: tuple[tuple[float, float], ...]
) -> None:
    case = ready(*names)
    if case is None:
        return
    (x0, y0), (x1, y1) = path[:2]
    screws = [dict(screw) for screw in case.job["screws"]]  # type: ignore[attr-defined]
    screws[which] |= {"x": x0 + share * (x1 - x0), "y": y0 + share * (y1 - y0)}
    setup = build_setup(parse_job(yaml.safe_dump({**case.job, "screws": screws})))
    assert "SCREW-01" in codes(program(case), setup), names


@pytest.mark.parametrize("step", [0])
def test_many_combinations_have_settings(step: int) -> None:
    """The property would be empty if the advice had settings for few combinations only."""
    tried = [(m, MATERIALS[k % len(MATERIALS)], CUTTERS[(3 * k) % len(CUTTERS)])
             for k, m in enumerate(MACHINES * 3, step)]  # fmt: skip
    assert sum(ready(*names) is not None for names in tried) >= len(tried) / 2
