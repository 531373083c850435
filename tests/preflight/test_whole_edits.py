"""Remedies are whole edits: done as they say on whole programs, the finding is gone and no other has come."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from millcalc.check.prepare import CheckOptions, make_context
from millcalc.job import build_setup, load_job
from millcalc.job.read import parse_job
from millcalc.job.setup import Setup
from millcalc.job.write import job_text
from millcalc.preflight.run import Outcome, run_rules
from tests.ordinary.programs import ordinary
from tests.ordinary.table import job_for

DEMOS = Path(__file__).parents[2] / "demo_jobs"
OVER = re.compile(
    r"write G0 Z (?P<up>[\d.]+) (mm|in) before line (?P<first>\d+)"
    r"(; after line (?P<last>\d+) write G1 Z (?P<down>-?[\d.]+) (mm|in) F (?P<feed>[\d.]+) (mm|in)/min)?"
    r"(, and F (?P<own>[\d.]+) (mm|in)/min again in the next cut)?"
)
PLACE = re.compile(r"for example to X (-?[\d.]+) mm, Y (-?[\d.]+) mm")


def look(lines: list[str], setup: Setup) -> Outcome:
    return run_rules(make_context("\n".join(lines).encode(), "p.nc", setup, CheckOptions(cell_mm=0.5)))


def codes(outcome: Outcome) -> set[str]:
    """What a person would have to act on."""
    return {f.code for f in outcome.findings if f.severity.word != "note"}


def demo(name: str) -> tuple[list[str], Setup]:
    """A program without a fault, and its job."""
    if name == "ordinary":
        usual = next(p for p in ordinary() if p.name.startswith("plain-mm/") and b"G1 X" in p.data)
        return usual.data.decode("ascii").splitlines(), job_for(usual)
    job = DEMOS / name / "job.yaml"
    program = (DEMOS / name / "good.nc").read_text(encoding="utf-8")
    return program.splitlines(), build_setup(load_job(job), job)


def without_a_lift(lines: list[str], nth: int) -> list[str]:
    """One of the lifts between two cuts is lost: the rapid after it stays down."""
    lifts = [k for k in range(1, len(lines) - 1)
             if re.fullmatch(r"G0 Z\d[\d.]*", lines[k]) and re.match(r"G[123]|X", lines[k - 1])]  # fmt: skip
    at = lifts[nth % (len(lifts) - 1)]
    return lines[:at] + lines[at + 1 :]


def lifted(lines: list[str], action: str) -> list[str]:
    """Do what a finding on a rapid says, word for word."""
    edit = OVER.fullmatch(action)
    assert edit is not None, action
    out = list(lines)
    if edit["last"]:
        at = int(edit["last"])
        if edit["own"]:
            after = next(k for k in range(at, len(out)) if re.match(r"G[123] ", out[k]))
            assert "F" not in out[after]
            out[after] += f" F{edit['own']}"
        out.insert(at, f"G1 Z{edit['down']} F{edit['feed']}")
    out.insert(int(edit["first"]) - 1, f"G0 Z{edit['up']}")
    return out


@pytest.mark.parametrize("name", ["sensor_plate", "box", "window", "window_taped", "ordinary"])
@pytest.mark.parametrize("nth", [0, 1])
def test_a_lost_lift_is_mended_by_the_edit_that_is_named(name: str, nth: int) -> None:
    lines, setup = demo(name)
    sound = codes(look(lines, setup))
    broken = without_a_lift(lines, nth)
    for _ in range(3):
        hits = [f for f in look(broken, setup).findings if f.code == "RAPID-01"]
        if not hits:
            break
        broken = lifted(broken, hits[0].action)
    mended = codes(look(broken, setup))
    assert not hits and mended <= sound, mended - sound


@pytest.mark.parametrize("name", ["sensor_plate", "window"])
def test_a_screw_in_the_path_is_mended_by_the_place_that_is_named(name: str) -> None:
    lines, setup = demo(name)
    sound = look(lines, setup)
    ctx = make_context("\n".join(lines).encode(), "p.nc", setup, CheckOptions(simulate=False))
    row = int(ctx.facts.first_cut)
    x, y = (float(v) for v in ctx.program.motions.end_mm[row + 40, :2])
    job = setup.job
    assert job.screws
    screws = [job.screws[0].model_copy(update={"x_mm": x, "y_mm": y}), *job.screws[1:]]
    for _ in range(3):
        moved = build_setup(parse_job(job_text(job.model_copy(update={"screws": screws}))), setup.path)
        found = look(lines, moved)
        hits = [f for f in found.findings if f.code in ("SCREW-01", "SCREW-02", "SCREW-03")]
        if not hits:
            break
        place = PLACE.search(hits[0].action)
        assert place, hits[0].action
        screws[0] = screws[0].model_copy(update={"x_mm": float(place[1]), "y_mm": float(place[2])})
    assert not hits and codes(found) <= codes(sound), codes(found) - codes(sound)
