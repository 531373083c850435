"""One margin for screws and clamps: the rule, the report, the page's data and the planner show the same number."""

from __future__ import annotations

import json

import pytest
import yaml

from millcalc.check.build import build_report
from millcalc.check.prepare import CheckOptions, make_context
from millcalc.holding.judge import Bench
from millcalc.job import build_setup
from millcalc.job.read import parse_job
from millcalc.preflight import run_rules
from millcalc.preflight.clearances import clearances
from millcalc.preflight.keepouts import holder_bodies
from millcalc.preflight.tuning import HOLDER_MARGIN_MM
from millcalc.report.check_json import check_json
from tests.preflight.test_cases import HEAD, jobs

PASS = (
    HEAD.replace(" / ", "\n") + "\nG1 Z-1 F100\nG1 X100 F600\nG0 Z5\nM5\nM30\n"
)  # along Y20 with a 6 mm cutter


def checked(**hold):
    job = yaml.safe_load(yaml.safe_dump(jobs()["plate"]))
    job.pop("screws", None)
    job.pop("clamps", None)
    job["cutters"]["T1"] = {"cutter": "flat-6mm-1f", "stickout": "30 mm"}
    setup = build_setup(parse_job(yaml.safe_dump(job | hold), "job.yaml"))
    ctx = make_context(PASS.encode(), "x.nc", setup, CheckOptions(simulate=False))
    outcome = run_rules(ctx)
    return ctx, outcome, build_report(ctx, outcome)


SCREW = {"x": 60, "y": 29, "head_diameter": 8, "head_height": 3, "shank_diameter": 4}
CLAMP = {"x_min": 50, "x_max": 70, "y_min": 25, "y_max": 40, "height": 12}


@pytest.mark.parametrize("placed, kept", [("measured", 1.0), ("guessed", 3.0)])
def test_a_screw_keeps_the_same_distance_everywhere(placed: str, kept: float) -> None:
    """Path at Y20, radius 3, screw at Y29 with a head of radius 4: 9 - 3 - 4 = 2 mm."""
    ctx, outcome, report = checked(screws=[{**SCREW, "placed": placed}])
    (gap,) = [g for g in clearances(ctx) if g.body == "cutter"]
    assert (gap.gap_mm, gap.kept_mm) == pytest.approx((2.0, kept))
    told = [f for f in outcome.findings if f.code == "SCREW-01"]
    assert bool(told) is (kept > 2.0)
    for finding in told:
        assert (finding.measured, finding.limit) == pytest.approx((gap.gap_mm, gap.kept_mm))
        assert finding.severity.word == "warning" and finding.action.startswith(
            "move screw 1 1 mm or more away"
        )
    (shown,) = [c for c in report.clearances if c.name == "screw 1"]
    shown_json = json.loads(check_json(report))["clearances"][0]
    nearest = min((g for g in clearances(ctx)), key=lambda g: g.gap_mm)
    assert (shown.body, shown.gap_mm, shown.kept_mm) == (
        nearest.body,
        round(nearest.gap_mm, 3),
        nearest.kept_mm,
    )
    assert (shown_json["gap_mm"], shown_json["kept_mm"]) == (shown.gap_mm, shown.kept_mm)
    screw = ctx.setup.screws[0]
    planner = Bench(ctx).of_screw(screw)
    assert planner.cutter_margin_mm == gap.kept_mm


@pytest.mark.parametrize("placed, kept", [("measured", 1.0), ("guessed", 3.0)])
def test_a_clamp_too(placed: str, kept: float) -> None:
    """Clamp from Y25: 25 - 20 - 3 = 2 mm; the report once said that 1 mm is kept, whatever the rule kept."""
    ctx, outcome, report = checked(clamps=[{**CLAMP, "placed": placed}])
    told = [f for f in outcome.findings if f.code == "SCREW-03" and "the cutter" in f.fact]
    assert bool(told) is (kept > 2.0)
    gap = next(g for g in clearances(ctx) if g.body == "cutter")
    assert (gap.gap_mm, gap.kept_mm) == pytest.approx((2.0, kept))
    (shown,) = report.clearances
    worst = min(clearances(ctx), key=lambda g: g.gap_mm)
    assert (shown.body, shown.kept_mm) == (worst.body, kept if worst.body == "cutter" else HOLDER_MARGIN_MM)


def test_gaps_are_measured_once(monkeypatch: pytest.MonkeyPatch) -> None:
    import millcalc.preflight.clearances as module

    calls = []
    true = module.screw_gap
    monkeypatch.setattr(module, "screw_gap", lambda *a: calls.append(a) or true(*a))
    ctx, _, _ = checked(screws=[SCREW])
    bodies = {g.body for g in clearances(ctx)}
    assert len(calls) >= len(bodies) and len({(c[1].name, c[2].name) for c in calls}) == len(calls)


@pytest.mark.parametrize(("other", "place"), [
    ((52, 36), (62.0, 28.5)), ((68, 36), (58.0, 28.5)), ((56, 36), (66.0, 28.5)), ((64, 36), (54.0, 28.5)),
])  # fmt: skip
def test_a_screw_gives_way_to_the_side_that_is_free(other, place) -> None:
    """3 mm straight away from the path a second head is too near: first 30, then 60 degrees to its far side."""
    screws = [{**SCREW, "x": x, "y": y, "placed": "measured"} for x, y in ((60, 25), other)]
    _, outcome, _ = checked(screws=screws)
    (hit,) = [f for f in outcome.findings if f.code == "SCREW-01"]
    assert hit.action.endswith(f"for example to X {place[0]:g} mm, Y {place[1]:g} mm, or lift over it")


def test_the_job_s_own_spindle_body_counts_not_the_machine_s() -> None:
    """80 mm measured on the spindle instead of the table's 65: 40 mm to each side of the cutter."""
    ctx, _, _ = checked(nose={"body_diameter": "80 mm"})
    body = {one.name: one for one in holder_bodies(ctx)}["spindle body"]
    assert ctx.setup.machine.spindle.body_diameter_mm != 80.0 and body.radius_mm[-1] == 40.0


@pytest.mark.parametrize(("way", "at", "place"), [
    (("X20 Y68", "X100"), (60, 75), "X 60 mm, Y 58 mm"), (("X20 Y12", "X100"), (60, 5), "X 60 mm, Y 22 mm"),
    (("X12 Y10", "Y70"), (5, 40), "X 22 mm, Y 40 mm"), (("X88 Y10", "Y70"), (95, 40), "X 78 mm, Y 40 mm"),
])  # fmt: skip
def test_a_screw_that_cannot_go_outwards_goes_across_the_path(way, at, place, monkeypatch) -> None:
    """Its head stands a millimetre off the edge of 100 by 80 mm already: 7 + 3 + 4 + 3 mm, to the other side."""
    program = PASS.replace("X20 Y20", way[0]).replace("X100", way[1])
    monkeypatch.setattr(f"{__name__}.PASS", program)
    _, outcome, _ = checked(screws=[{**SCREW, "x": at[0], "y": at[1], "placed": "measured"}])
    (hit,) = [f for f in outcome.findings if f.code == "SCREW-01"]
    assert hit.action.endswith(f"for example to {place}, or lift over it")
