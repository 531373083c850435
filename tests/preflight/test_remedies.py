"""A remedy is a complete edit: done as it says, the finding is gone and nothing new stands in its place."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml

from millcalc.check.prepare import CheckOptions
from millcalc.check.run import look_at
from millcalc.job import build_setup
from millcalc.job.read import parse_job
from millcalc.preflight import run_rules
from millcalc.tables import demo_root
from tests.practice.chain import job_of
from tests.preflight.test_slopes import HEAD, PLATE, TAIL, context


def findings(moves: str, setup=None):
    ctx = context(moves, setup) if setup is not None else context(moves)
    return run_rules(ctx).findings


def told(moves: str, code: str, setup=None):
    return [f for f in findings(moves, setup) if f.code == code]


def test_a_rapid_through_the_stock_goes_over_it_and_down_again() -> None:
    """Line 9 is a rapid at Z-1 to the next slot; lifted only, the slot in line 10 would be cut in the air."""
    moves = "G0 X20 Y20\nG0 Z1\nG1 Z-1 F100\nG0 X60\nG1 X80 F600"
    (hit,) = told(moves, "RAPID-01")
    edit = re.fullmatch(
        r"write G0 Z (\d+) mm before line 9; after line 9 write G1 Z (-[\d.]+) mm F (\d+) mm/min", hit.action
    )
    assert edit is not None, hit.action
    mended = moves.replace("G0 X60\n", f"G0 Z{edit[1]}\nG0 X60\nG1 Z{edit[2]} F{edit[3]}\n")
    codes = {f.code for f in findings(mended)}
    assert not codes & {"RAPID-01", "RAPID-02", "PLUNGE-01"}
    assert context(mended).facts.depth_mm[-2] == pytest.approx(1.0, abs=0.02)


def test_the_cut_after_a_rapid_keeps_its_own_feed() -> None:
    moves = "G0 X20 Y20\nG0 Z1\nG1 Z-1 F100\nG1 X30 F600\nG0 X60\nG1 X80"
    (hit,) = told(moves, "RAPID-01")
    assert hit.action.endswith(", and F 600 mm/min again in the next cut")


def test_a_rapid_plunge_names_the_whole_way_down() -> None:
    moves = "G0 X20 Y20\nG0 Z-1\nG1 X80 F600"
    (hit,) = told(moves, "RAPID-02")
    edit = re.fullmatch(r"in line 7 rapid to Z 1 mm, then write G1 Z -1 mm F (\d+) mm/min", hit.action)
    assert edit is not None, hit.action
    mended = moves.replace("G0 Z-1\n", f"G0 Z1\nG1 Z-1 F{edit[1]}\n")
    assert not {f.code for f in findings(mended)} & {"RAPID-02", "PLUNGE-01"}


def job(**changes):
    return build_setup(parse_job(yaml.safe_dump(yaml.safe_load(job_of(PLATE)) | changes), "job.yaml"))


def test_a_bare_tool_word_that_the_job_does_not_know_is_said() -> None:
    from millcalc.check.prepare import CheckOptions, make_context

    setup = job(cutters={"T2": {"cutter": "flat-6mm-1f"}})
    text = HEAD.replace("T1 M6", "T1") + "G0 X20 Y20\nG0 Z1\nG1 Z-0.5 F100\nG1 X60 F600" + TAIL
    outcome = run_rules(make_context(text.encode(), "x.nc", setup, CheckOptions(cell_mm=0.3)))
    (said,) = [f for f in outcome.findings if f.code == "TOOL-01"]
    assert said.fact == "the program asks for T1, the job knows T2; everything is judged with T2"
    assert said.line == 2 and said.severity.word == "warning"
    same = make_context(text.replace("T1", "T2").encode(), "x.nc", setup, CheckOptions(cell_mm=0.3))
    assert not [f for f in run_rules(same).findings if f.code == "TOOL-01"]


def test_a_material_word_for_several_sorts_names_the_one_that_is_taken() -> None:
    (said,) = told("G0 X20 Y20", "STOCK-07", job(material="brass"))
    assert "brass-free-machining" in said.fact and "brass-cartridge" in said.fact
    assert not told("G0 X20 Y20", "STOCK-07", job(material="brass-cartridge"))


WOOD_SCREW = {"size": "wood 5.0 round", "placed": "measured", "depth_in_bed": "16 mm"}
RING = "G0 X15 Y-8\nG0 Z-1\nG1 Y70 F600\nG1 X100\nG1 Y10"


def test_a_moved_screw_stands_in_the_stock_clear_of_the_whole_path() -> None:
    """A screw near the left edge is cut at its right; straight away from the cut its head would stand over the edge."""
    far = {"x": 110.0, "y": 40.0, **WOOD_SCREW}
    setup = job(screws=[{"x": 9.0, "y": 40.0, **WOOD_SCREW}, far])
    edge = setup.screws[0].head_radius_mm + 1
    ring = RING.replace("X15", "X12")
    (hit,) = told(ring, "SCREW-01", setup)
    assert hit.measured is not None and hit.limit is not None
    assert 9.0 - (hit.limit - hit.measured) < edge, "straight away would be over the edge"
    edit = re.fullmatch(
        r"move screw 1 [\d.]+ mm or more away from the path, "
        r"for example to X ([\d.]+) mm, Y ([\d.]+) mm, or lift over it",
        hit.action,
    )
    assert edit is not None, hit.action
    place = {"x": float(edit[1]), "y": float(edit[2])}
    assert edge <= place["x"] <= 120 - edge and edge <= place["y"] <= 80 - edge
    moved = job(screws=[{**place, **WOOD_SCREW}, far])
    assert not {f.code for f in findings(ring, moved)} & {"SCREW-01", "SCREW-02", "SCREW-06"}


def test_two_screws_do_not_get_the_same_place() -> None:
    near = [{"x": 14.0, "y": y, **WOOD_SCREW} for y in (40.0, 44.0)]
    hits = told(RING, "SCREW-01", job(screws=near))
    places = [re.search(r"for example to X ([\d.]+) mm, Y ([\d.]+) mm", f.action) for f in hits]
    (ax, ay), (bx, by) = [(float(p[1]), float(p[2])) for p in places if p]
    head = 2 * 5.0  # about twice the head's radius
    assert ((ax - bx) ** 2 + (ay - by) ** 2) ** 0.5 >= head


def test_where_no_place_is_left_waste_a_clamp_or_a_larger_blank_is_offered() -> None:
    """The whole blank is cleared: no screw can stand anywhere."""
    rows = "\n".join(f"G1 X{120 if k % 2 == 0 else 0} F600\nG1 Y{4 + 4 * k}" for k in range(20))
    (hit,) = told(
        f"G0 X-8 Y0\nG0 Z-1\n{rows}", "SCREW-01", job(screws=[{"x": 60.0, "y": 40.0, **WOOD_SCREW}])
    )
    assert hit.action.startswith(
        "no place near screw 1 stands in the stock and clear of the path: leave more waste"
    )
    assert "clamp or tape" in hit.action and "larger blank" in hit.action


@pytest.mark.parametrize("rpm", [10000, 13200, 18000])
def test_a_plunge_gets_the_feed_that_settings_give(rpm: int) -> None:
    """Six millimetres, one flute, 6061 on the 800 W gantry: one number, whichever command is asked."""
    from millcalc.advise.advice import advise
    from millcalc.limits.request import CutRequest
    from millcalc.preflight.limits import tooling

    moves = "G0 X20 Y40\nG0 Z1\nG1 Z-1 F2000"
    ctx = context(moves)
    found = tooling(ctx, 1)
    assert not isinstance(found, str)
    advice = advise(found, CutRequest("slot", speed_rpm=rpm))
    text = (HEAD.replace("S18000", f"S{rpm}") + moves + TAIL).encode()
    from millcalc.check.prepare import CheckOptions, make_context

    outcome = run_rules(make_context(text, "x.nc", ctx.setup, CheckOptions(cell_mm=0.3)))
    (fast,) = [f for f in outcome.findings if f.code == "PLUNGE-01"]
    told_feed = re.match(r"F (\d+) mm/min, or go in on a ramp", fast.action)
    assert told_feed is not None
    assert float(told_feed[1]) == pytest.approx(advice.settings.plunge_feed_mm_min, rel=0.1, abs=5)
    assert fast.severity.word == "stop" and fast.measured == 2000
    assert fast.limit is not None and fast.limit >= float(told_feed[1])


@pytest.mark.parametrize(
    "depth, severity", [(20.0, None), (23.0, "warning"), (25.5, "warning"), (28.0, "stop")]
)
def test_a_shank_a_diameter_deep_in_the_work_is_a_stop(depth: float, severity: str | None) -> None:
    """Flutes of 20 mm on a 6 mm cutter with a 6 mm shank, in one pass through a thick block."""
    setup = job(stock={"size_x": 120, "size_y": 80, "thickness": 40, "thickness_spread": 0})
    flutes = setup.cutters[1].cutter.flute_length_mm
    hits = told(f"G0 X-8 Y40\nG0 Z-{depth + flutes - 20}\nG1 X70 F600", "HOLDER-02", setup)
    assert [f.severity.word for f in hits] == ([severity] if severity else [])


@pytest.mark.parametrize("to_x, told_zero", [(40, False), (60, False), (-40, True)])
def test_a_way_in_from_beside_the_stock_is_no_wrong_zero(to_x: int, told_zero: bool) -> None:
    """From X-8 into the stock, 12 to 17 % of the path beside it; but all beside it is a wrong corner."""
    codes = {f.code for f in findings(f"G0 X-8 Y30\nG0 Z-0.5\nG1 X{to_x} F600")}
    assert ("ZERO-02" in codes) is told_zero


def test_travel_too_low_over_stock_and_screws_gets_one_height(tmp_path: Path) -> None:
    """Over the stock alone 3 mm would do; over the screws, whose heads end at 2.8 mm, it takes 4.8 mm."""
    program = tmp_path / "low.nc"
    program.write_text(
        "G21 G90 G54\nT1\nS13200 M3\nG4 P5\nG0 Z1\nG0 X40 Y40\nG0 X100\nG0 Z12\nM5\nM30\n", encoding="utf-8"
    )
    report = look_at(program, demo_root() / "sensor_plate" / "job.yaml", CheckOptions()).report
    told = {finding.code: finding.action for finding in report.findings}
    assert told["RAPID-08"] == told["SCREW-04"] == "travel at Z 4.8 mm or higher"
