"""The demo on tape: what its README promises, with the tape, with too little of it, with none, and untold."""

from __future__ import annotations

import re
from functools import cache

import pytest

from millcalc.findings import Severity
from millcalc.job import build_setup
from millcalc.job.read import parse_job
from millcalc.preflight import run_rules
from millcalc.tables.locate import demo_root
from tests.preflight.test_cases import RULES, CheckOptions, make_context

HERE = demo_root() / "window_taped"
JOB = (HERE / "job.yaml").read_text(encoding="utf-8")


@cache
def outcome(hold: str):
    text = re.sub(r"hold:.*\n.*\n", f"hold: {hold}\n", JOB)
    setup = build_setup(parse_job(text, "job.yaml"))
    ctx = make_context((HERE / "good.nc").read_bytes(), "good.nc", setup, CheckOptions(cell_mm=0.4))
    return run_rules(ctx, rules=(RULES["FORCE-06"], RULES["LOOSE-01"]))


def said(hold: str) -> dict[str, Severity]:
    return {f.code: f.severity for f in outcome(hold).findings if f.code in ("FORCE-06", "LOOSE-01")}


def test_tape_holds_the_window_to_the_end():
    assert said("[{kind: tape, area: 80 cm2}]") == {"LOOSE-01": Severity.NOTE}
    (piece,) = outcome("[{kind: tape, area: 80 cm2}]").findings
    assert (
        "a piece of 90" in piece.fact and "of what tape under all of it may be counted on for" in piece.fact
    )
    assert piece.measured == pytest.approx(90 * 60 - (4 - 3.14159) * 8**2 - 4 * 3.14159 * 2.25**2, rel=0.01)


def test_too_little_tape_is_a_warning_with_what_is_needed_and_goes_with_it():
    found = said("[{kind: tape, area: 15 cm2}]")
    assert found == {"LOOSE-01": Severity.NOTE, "FORCE-06": Severity.WARNING}
    force = next(f for f in outcome("[{kind: tape, area: 15 cm2}]").findings if f.code == "FORCE-06")
    needed = re.search(r"(\d+) cm2 of tape", force.action)
    assert needed and "FORCE-06" not in said(f"[{{kind: tape, area: {needed.group(1)} cm2}}]")


@pytest.mark.parametrize("hold", ["unknown", "[{kind: unknown}]"])
def test_unknown_is_one_question_and_no_stop(hold):
    assert said(hold) == {"LOOSE-01": Severity.WARNING}
    (piece,) = outcome(hold).findings
    assert "what holds it is unknown" in piece.fact and "write under hold" in piece.action
    assert [n.what for n in outcome(hold).not_checked] == ["how is it held?"]


def test_nothing_is_two_stops():
    assert said("none") == {"LOOSE-01": Severity.STOP, "FORCE-06": Severity.STOP}
