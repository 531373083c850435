"""Like cuts: the grid search against a plain search, and what the distance means."""

from __future__ import annotations

import itertools
import math
import random
from pathlib import Path

import pytest
from cuts import START, cut, days
from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.cutlog import tuning
from millcalc.cutlog.cells import REACH, STEP_UNITS, cell_of_values, cells_around
from millcalc.cutlog.query import Query
from millcalc.cutlog.similar import PlannedCut, distance, similar_cuts, support_words
from millcalc.cutlog.store import Log
from millcalc.cutlog.tuning import (
    SIMILAR_CHIP_FACTOR,
    SIMILAR_CLOSE,
    SIMILAR_COMPLIANCE_FACTOR,
    SIMILAR_DEPTH_FACTOR,
    SIMILAR_DIAMETER_FACTOR,
    SIMILAR_FORCE_FACTOR,
    SIMILAR_OTHER_MACHINE,
    SIMILAR_OTHER_MATERIAL,
    SIMILAR_RELATED,
    SIMILAR_UNKNOWN,
)

PLAN = PlannedCut.of(cut())


def test_the_same_cut_is_at_distance_zero() -> None:
    assert distance(PLAN, PLAN) == 0


@pytest.mark.parametrize(
    ("fields", "units"),
    [
        ({"axial_depth_mm": 0.6 * SIMILAR_DEPTH_FACTOR}, 1.0),
        ({"axial_depth_mm": 0.6 / SIMILAR_DEPTH_FACTOR**2}, 2.0),
        ({"kc11_n_mm2": 800 * SIMILAR_FORCE_FACTOR}, 1.0),
        ({"feed_mm_min": 720 * SIMILAR_CHIP_FACTOR}, 1.0),
        ({"stickout_mm": 20 * SIMILAR_COMPLIANCE_FACTOR ** (1 / 3)}, 1.0),
        ({"stickout_mm": None}, SIMILAR_UNKNOWN),
        ({"material": "other plate"}, SIMILAR_OTHER_MATERIAL),
        ({"machine": "bench mill"}, SIMILAR_OTHER_MACHINE),
        ({"speed_rpm": 9000.0, "feed_mm_min": 360.0}, 0.0),  # the same chip at another speed
    ],
)
def test_one_unit_is_the_stated_factor(fields: dict[str, object], units: float) -> None:
    assert distance(PLAN, PlannedCut.of(cut(**fields))) == pytest.approx(units, abs=1e-9)


def test_thin_chips_count_as_what_they_are() -> None:
    """A side cut with twice the feed per tooth but thinned to the same chip is near in chip thickness."""
    share = 0.05
    thinned = 2 * math.sqrt(share * (1 - share))
    side = cut(radial_width_mm=6 * share, feed_mm_min=720 / thinned)
    assert side.largest_chip_mm == pytest.approx(cut().largest_chip_mm, rel=1e-12)


VALUES = st.tuples(st.floats(0.2, 30.0), st.floats(5.0, 4000.0), st.floats(0.02, 20.0), st.floats(0.001, 0.5))
NEAR = st.tuples(*(st.floats(-3.0, 3.0) for _ in range(4)))


@settings(max_examples=150, deadline=None, database=None)
@given(values=VALUES, steps=NEAR)
def test_no_near_cut_lies_outside_the_searched_cells(
    values: tuple[float, ...], steps: tuple[float, ...]
) -> None:
    factors = (
        SIMILAR_DIAMETER_FACTOR,
        SIMILAR_FORCE_FACTOR,
        SIMILAR_DEPTH_FACTOR,
        SIMILAR_CHIP_FACTOR,
    )
    other = [value * factor**step for value, factor, step in zip(values, factors, steps, strict=True)]
    away = math.hypot(*steps)
    bounds = {cell: bound for bound, cell in cells_around(*values)}
    cell = cell_of_values(*other)
    if away <= REACH * STEP_UNITS - 1e-6:
        assert cell in bounds
    if cell in bounds:
        assert bounds[cell] <= away + 1e-6


def _many(log: Log, number: int, seed: int) -> None:
    rng = random.Random(seed)

    def spread(value: float, factor: float) -> float:
        return value * factor ** rng.uniform(-2.5, 2.5)

    log.add_many(
        cut(
            when=START + days(i),
            machine=rng.choice(("shed gantry", "bench mill")),
            material=rng.choice(("aluminium plate", "acrylic")),
            origin=rng.choice(("own", "own", "somebody")),
            cooling=rng.choice(("none", "brush", None)),
            diameter_mm=spread(6.0, 1.25),
            kc11_n_mm2=rng.choice((spread(800.0, 1.4), None)) if i % 9 == 0 else spread(800.0, 1.4),
            axial_depth_mm=spread(0.6, 1.5),
            radial_width_mm=spread(1.0, 1.3) if i % 2 else None,
            feed_mm_min=spread(720.0, 1.5),
            outcome=rng.choice(("good", "acceptable", "failed")),
        )
        for i in range(number)
    )


@pytest.mark.parametrize(("seed", "only"), [(1, False), (2, True), (3, False)])
def test_grid_search_agrees_with_looking_at_every_cut(log: Log, seed: int, only: bool) -> None:
    _many(log, 400, seed)
    every = [s for s in log.iterate(Query(limit=-1)) if not only or s.entry.machine == PLAN.machine]
    ranked = sorted(
        (distance(PLAN, PlannedCut.of(s.entry), s.entry.origin), -s.entry.when.timestamp(), s.number)
        for s in every
    )
    wanted = [number for away, _, number in ranked[:6] if away <= SIMILAR_RELATED]
    found = similar_cuts(log, PLAN, 6, only_machine=only)
    assert [n.stored.number for n in found[: len(wanted)]] == wanted
    near_failures = [
        number
        for away, _, number in ranked
        if away <= SIMILAR_CLOSE and log.get(number).entry.outcome == "failed"
    ][:2]
    assert set(near_failures) <= {n.stored.number for n in found}


def test_plan_with_unknowns_still_finds_cuts(log: Log) -> None:
    log.add(cut())
    found = similar_cuts(log, PlannedCut(material="aluminium plate", diameter_mm=6.0))
    assert [n.distance for n in found] == [0.0]


def test_unlike_and_removed_cuts_are_not_shown(log: Log) -> None:
    log.add(cut(diameter_mm=25.0, radial_width_mm=20.0, axial_depth_mm=4.0))
    gone = log.add(cut())
    log.remove(gone.number)
    assert similar_cuts(log, PLAN) == []
    assert support_words([]) == "computed only"


def test_a_close_failure_is_shown_beside_good_cuts(log: Log) -> None:
    log.add_many([cut(when=START + days(i)) for i in range(8)])
    failed = log.add(cut(axial_depth_mm=0.8, outcome="failed", symptoms=["chatter"]))
    found = similar_cuts(log, PLAN, 3)
    assert failed.number in [n.stored.number for n in found]
    assert found[0].word == "nearly the same" and found[0].differences() == ()
    assert found[-1].differences() == ("ap 0.8, not 0.6 mm",)
    assert found[-1].differences("in") == ("ap 0.0315, not 0.0236 in",)
    assert support_words(found) == "3 own good cuts nearly the same, 1 failed close"
    assert [n.stored.entry.when for n in found[:3]] == [START + days(7 - i) for i in range(3)]


def test_somebodys_recipe_is_named_as_such(log: Log) -> None:
    log.add(cut(origin="somebody"))
    assert support_words(similar_cuts(log, PLAN)) == "somebody's recipe only"


def test_a_full_cell_gives_its_newest(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tuning, "SIMILAR_PER_CELL", 10)
    with Log(tmp_path / "full.db") as log:
        log.add_many([cut(when=START + days(i)) for i in range(50)])
        found = similar_cuts(log, PLAN, 4)
    assert [n.stored.number for n in found] == [50, 49, 48, 47]


def test_cells_are_ordered_and_unique() -> None:
    cells = cells_around(6.0, 800.0, 0.6, 0.04)
    assert len({cell for _, cell in cells}) == len(cells) == 5**4
    assert all(a[0] <= b[0] for a, b in itertools.pairwise(cells))
    assert cells[0] == (0.0, cell_of_values(6.0, 800.0, 0.6, 0.04))
    assert cell_of_values(6.0, None, 0.6, 0.04) is None
