"""A remedy is a complete edit: done as it says, the finding is gone and nothing new stands in its place."""

from __future__ import annotations

import re

import pytest
import yaml

from millcalc.job import build_setup
from millcalc.job.read import parse_job
from millcalc.preflight import run_rules
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
    from millcalc.report.pipeline import CheckOptions, make_context

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
