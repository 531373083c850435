"""One limit is one row: a row that is incomplete does not load, and a new one appears everywhere."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from millcalc.check.prepare import CheckOptions, make_context
from millcalc.limits import table
from millcalc.limits.build import make_tooling
from millcalc.limits.learned_words import LIMIT_WORDS
from millcalc.limits.request import CutRequest
from millcalc.limits.row import Limit, Need
from millcalc.limits.state import State
from millcalc.limits.table import LIMITS, keys_holding
from millcalc.limits.tooling import Margins
from millcalc.preflight import run_rules
from millcalc.report.words import find_word
from millcalc.tables import load_cutter, load_machine, load_material
from tests.helpers.command import run
from tests.practice.chain import WORKS, job_of, program_of


def toy(state: State) -> Need:
    return Need(np.asarray(state.depth_mm), 0.3, "a toy of the tests", "common practice, no source")


TOY = Limit(
    key="toy", title="toy limit", unit="mm", holds="depth", learns=None, reserve=False, chance=None,
    smallest=0.05, function=toy,
)  # fmt: skip


def test_an_incomplete_row_does_not_load() -> None:
    with pytest.raises(ValueError, match="title"):
        replace(TOY, title="")
    with pytest.raises(ValueError, match="what it holds back"):
        replace(TOY, holds="nothing")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="keeps a reserve"):
        replace(TOY, reserve=True)
    with pytest.raises(TypeError, match="learns"):
        Limit(key="toy", title="t", unit="mm", holds="depth")  # type: ignore[call-arg]


@pytest.mark.parametrize("limit", LIMITS, ids=lambda limit: limit.key)
def test_every_row_is_explained_and_what_it_learns_is_a_margin(limit: Limit) -> None:
    assert find_word(limit.key)
    tooling = make_tooling(
        load_machine("gantry-800w"), load_material("al-6082-t6"), load_cutter("flat-6mm-1f")
    )
    if limit.learns is not None:
        assert limit.learns in LIMIT_WORDS and hasattr(tooling.margins, limit.learns)
    assert 0 < limit.budget(CutRequest("slot"), tooling) <= 1


@pytest.mark.parametrize("kind", ["deflection", "power", "thrust", "chip_high", "chip_low"])
def test_a_margin_moves_the_limits_whose_rows_learn_it_and_no_other(kind: str) -> None:
    """Half of a margin halves the limit of those rows; two rows speak only after a chatter heard, or a failure."""
    bare = make_tooling(load_machine("gantry-800w"), load_material("al-6082-t6"), load_cutter("flat-6mm-1f"))
    factor = 1.5 if kind == "chip_high" else 0.5  # the greatest chip never falls below the band's start
    learned = replace(bare, margins=Margins(**{kind: factor}))
    for limit in LIMITS:
        if limit.key in ("chatter", "failed-here"):
            continue
        was, now = (
            float(limit.function(State(each, CutRequest("slot", proven=True), 18000.0, 0.03, 0.5, 6.0)).limit)
            for each in (bare, learned)
        )
        assert now / was == pytest.approx(factor if limit.learns == kind else 1.0), limit.key


def test_a_toy_limit_appears_in_settings_json_alternatives_adjust_and_check(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(table, "LIMITS", (*LIMITS, TOY))
    monkeypatch.setitem(table.TITLES, "toy", "toy limit")
    assert "toy" in keys_holding("depth")
    what = ["--machine", "gantry-800w", "--material", "6082", "--cutter", "flat-6mm-1f"]
    assert "toy limit" in run(["settings", *what], tmp_path).stdout
    found = json.loads(run(["settings", *what, "--json"], tmp_path).stdout)
    assert next(row for row in found["limits"] if row["key"] == "toy")["share"] == pytest.approx(1.0)
    assert "toy limit" in run(["alternatives", *what], tmp_path).stdout
    from millcalc.job import build_setup
    from millcalc.job.read import parse_job

    cut = WORKS[0]
    setup = build_setup(parse_job(job_of(cut), "job.yaml"))
    outcome = run_rules(make_context(program_of(cut).encode(), "cut.nc", setup, CheckOptions()))
    deep = next(f for f in outcome.findings if f.code == "DEPTH-01")
    assert "toy limit" in deep.fact
