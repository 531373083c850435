"""Sloped cuts are judged by their local depth and width, whatever the slope; what was not judged is said."""

from __future__ import annotations

import math

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.check.prepare import CheckOptions, make_context
from millcalc.job import build_setup
from millcalc.job.read import parse_job
from millcalc.preflight import run_rules
from millcalc.preflight.uses import cut_uses
from tests.practice.chain import Cut, job_of

HEAD = "G21 G90 G17 G94 G54\nT1 M6\nS18000 M3\nG4 P10\nG0 Z15\n"
TAIL = "\nG0 Z15\nM5\nM30\n"
PLATE = Cut("", "al-6061-t6", "flat-6mm-1f", "gantry-800w", "slot", 18000, 600, 6.0, 0, "practice")
SETUP = build_setup(parse_job(job_of(PLATE), "job.yaml"))


def context(moves: str, setup=SETUP):
    return make_context((HEAD + moves + TAIL).encode(), "slope.nc", setup, CheckOptions(cell_mm=0.2))


def found(moves: str):
    return {f.code: f for f in run_rules(context(moves)).findings}


def test_a_long_slope_into_solid_aluminium_is_stopped() -> None:
    """The depth is 6 mm at its end, whatever the slope of 3.6 degrees; passes are named."""
    got = found("G0 X12 Y40\nG0 Z1\nG1 Z0 F150\nG1 X107 Z-6 F600")
    depth = got["DEPTH-01"]
    assert depth.severity.word == "stop"
    assert depth.measured == pytest.approx(6.0, abs=0.05)
    assert depth.line == 9 and "passes of" in depth.action


@pytest.mark.parametrize(
    "moves",
    [
        "G0 X12 Y40\nG0 Z1\nG1 Z-3 F100\nG1 X107 Z-6 F600",
        "G0 X-8 Y40\nG0 Z-6\nG1 X20 Z-5.8 F600\nG1 X40 Z-6.2\nG1 X60 Z-5.8",
        "G0 X30 Y40\nG0 Z1\nG1 Z0 F150\nG2 X70 Y40 Z-6 I20 J0 F600",
        "G0 X-3 Y40\nG0 Z-6\nG1 X60 Z-2 F600",
    ],
    ids=["from 3 to 6", "wavy", "arc down", "rising"],
)
def test_other_slopes_six_deep_are_stopped(moves: str) -> None:
    got = found(moves)
    assert got["DEPTH-01"].severity.word == "stop"
    assert got["DEPTH-01"].measured == pytest.approx(6.0, abs=0.25)


@pytest.mark.parametrize("rise_deg", [0.0, 0.4, 0.6, 20.0, 44.0, 46.0, 70.0])
def test_a_rising_cut_is_judged_at_any_angle(rise_deg: float) -> None:
    """From Z-6 upwards in solid metal: the depth at its start is 6 mm at each of these angles."""
    run = 30.0 if rise_deg < 1 else min(30.0, 5.9 / math.tan(math.radians(rise_deg)))
    end = -6 + run * math.tan(math.radians(rise_deg))
    depth = found(f"G0 X-8 Y40\nG0 Z-6\nG1 X20 F600\nG1 X{20 + run:.3f} Z{end:.3f}")["DEPTH-01"]
    assert depth.severity.word == "stop" and depth.measured == pytest.approx(6.0, abs=0.05)
    ctx = context(f"G0 X-8 Y40\nG0 Z-6\nG1 X20 F600\nG1 X{20 + run:.3f} Z{end:.3f}")
    done, left = cut_uses(ctx)
    assert len(done[0].rows) == 2 and not left
    assert done[0].depth_mm[1] == pytest.approx(6.0, abs=0.35)


def test_a_surface_finished_with_a_ball_is_judged_and_passes() -> None:
    """Passes 0.4 mm apart over a 10 degree slope that was roughed to within 0.3 mm."""
    rough = "\n".join(
        f"G1 X{20 + i * 1.7:.2f} Z{-0.3 * (i + 1) + 0.3:.2f} F400\nG1 Y44 F500\nG1 Y40" for i in range(3)
    )
    ctx = context(f"G0 X20 Y40\nG0 Z1\n{rough}")
    done, left = cut_uses(ctx)
    assert done and not left
    length = ctx.facts.motions.length_mm[done[0].rows].sum()
    sideways = ctx.facts.cutting & (ctx.facts.plan_mm > 1e-6)
    assert length == pytest.approx(ctx.facts.motions.length_mm[sideways].sum())


def test_the_share_that_was_not_judged_is_said() -> None:
    """50 mm along X at one level, then 10 mm along and 20 mm up: steeper than 45 degrees."""
    outcome = run_rules(context("G0 X-8 Y40\nG0 Z-0.5\nG1 X50 F600\nG1 X51 Z-2.0"))
    said = {n.code: n.because for n in outcome.not_checked}
    assert "steeper than 45 degrees, as plunges do" in said["DEPTH-01"] and "judged: 97 %" in said["DEPTH-01"]
    assert "DEPTH-01" not in outcome.checked


def test_without_a_simulated_cut_a_ramp_counts_from_the_level_above() -> None:
    """Levels -1 and -2, each entered on a ramp: no cut is deeper than 1 mm, though the second ramp ends at -2."""
    job = yaml.safe_load(job_of(PLATE))
    del job["stock"]["size_x"], job["stock"]["size_y"]
    setup = build_setup(parse_job(yaml.safe_dump(job), "job.yaml"))
    ctx = context(
        "G0 X20 Y40\nG0 Z1\nG1 Z0 F100\nG1 X60 Z-1 F300\nG1 X20 F500\nG1 X60 Z-2 F300\nG1 X20 F500", setup
    )
    assert ctx.removal is None
    depth = ctx.facts.depth_mm[-5:-1]
    assert depth == pytest.approx([1.0, 1.0, 1.0, 1.0], abs=1e-6)


def worst_use(start_mm: float, angle_deg: float) -> float:
    end = start_mm + 40 * math.tan(math.radians(angle_deg))
    ctx = context(f"G0 X-8 Y40\nG0 Z{-start_mm:.5f}\nG1 X0 F600\nG1 X40 Z{-end:.5f}")
    return max(float(cut.worst()[0].max()) for cut in cut_uses(ctx)[0])


@settings(max_examples=15, deadline=None)
@given(st.floats(0.3, 3.0), st.floats(-0.6, 1.5))
def test_tilting_a_cut_a_little_changes_no_verdict_abruptly(start_mm: float, angle_deg: float) -> None:
    one, other = worst_use(start_mm, angle_deg), worst_use(start_mm, angle_deg + 0.02)
    # 0.02 degrees over 40 mm are 0.014 mm of depth; the rest is the simulation's cell
    assert other == pytest.approx(one, rel=0.03 + 0.02 / start_mm)


@pytest.mark.parametrize(
    "moves, share",
    [
        ("G0 X-8 Y40\nG0 Z-0.5\nG1 X70 F600", 1.0),
        # 72 mm in the stock at F600, then 30 mm at F0
        ("G0 X-3 Y40\nG0 Z-0.5\nG1 X69 F600\nG0 Z5\nG0 X80 Y10\nG1 Z-0.5 F100\nG1 Y40 F0", 0.72),
    ],
)
def test_the_report_says_what_share_of_the_cutting_was_judged(moves: str, share: float) -> None:
    from millcalc.check.build import build_report
    from tests.report.test_check_report import page

    ctx = context(moves)
    report = build_report(ctx, run_rules(ctx))
    assert report.cut.judged_share == pytest.approx(share, abs=0.02)
    assert f"{100 * report.cut.judged_share:.0f} % of the cutting length held against limits" in page(
        report, 100, everything=True
    )


def test_a_job_without_a_material_has_judged_nothing() -> None:
    from millcalc.check.build import build_report

    job = yaml.safe_load(job_of(PLATE))
    del job["material"]
    ctx = context(
        "G0 X-8 Y40\nG0 Z-0.5\nG1 X70 F600", build_setup(parse_job(yaml.safe_dump(job), "job.yaml"))
    )
    assert build_report(ctx, run_rules(ctx)).cut.judged_share == 0.0
