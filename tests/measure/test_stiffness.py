"""Pulls to stiffness: the truth is recovered within the stated uncertainty; wrong readings are named."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.errors import InputError
from millcalc.measure.drop import DropPoint, fit_drop_law
from millcalc.measure.line import fit_line
from millcalc.measure.readings import Run, run_from_text
from millcalc.measure.readings_csv import runs_from_csv
from millcalc.measure.stiffness import rod_give_um_n, stiffness_from
from millcalc.tables import load_machine

PULLS_KG = (0, 2, 4, 6, 8, 10, 8, 6, 4, 2, 0)


def series(
    um_n: float,
    draw: np.random.Generator,
    *,
    noise: float = 0.003,
    friction: float = 0.008,
    play: float = 0.02,
) -> Run:
    """Pulls up and down with play that the first pull takes up, friction on the way back, and noise."""
    forces = np.array(PULLS_KG) * 9.80665
    falling = np.arange(len(forces)) > 5
    dial = um_n * forces / 1000 + np.where(forces > 0, play, 0.0) + friction * falling
    return Run("x", 120.0, tuple(forces), tuple(dial + noise * draw.standard_normal(len(dial))), "test")


def test_slope_lies_within_the_stated_uncertainty_as_often_as_it_should() -> None:
    """200 machines of known stiffness: about 95 % within two standard uncertainties (exact: synthetic truth)."""
    draw = np.random.default_rng(3)
    inside = 0
    for _ in range(200):
        truth = float(np.exp(draw.uniform(np.log(0.5), np.log(8.0))))
        line = fit_line((series(truth, draw), series(truth, draw)), resolution_mm=0.001)
        inside += abs(line.um_n - truth) <= 2 * line.um_n_sd
        assert abs(line.um_n - truth) <= 6 * line.um_n_sd
    assert 0.88 <= inside / 200 <= 0.99


def test_slope_agrees_with_an_ordinary_regression() -> None:
    """One rising series is SciPy's line through the same points (independent reckoning)."""
    from scipy.stats import linregress

    draw = np.random.default_rng(11)
    forces = np.array([2, 4, 6, 8, 10]) * 9.80665
    dial = 1.3 * forces / 1000 + 0.002 * draw.standard_normal(5)
    line = fit_line((Run("y", 100.0, tuple(forces), tuple(dial), "test"),), resolution_mm=1e-6)
    plain = linregress(forces[1:], dial[1:])
    assert line.um_n == pytest.approx(1000 * plain.slope, rel=1e-9)
    assert line.um_n_sd == pytest.approx(1000 * plain.stderr, rel=1e-6)


def test_friction_and_play_are_seen_and_do_not_soften_the_machine() -> None:
    draw = np.random.default_rng(5)
    line = fit_line((series(1.0, draw, noise=1e-4, friction=0.012, play=0.05),))
    assert line.um_n == pytest.approx(1.0, rel=0.01)
    assert line.hysteresis_mm == pytest.approx(0.012, abs=5e-4)
    both = run_from_text("x@120: 2=0.06 4=0.08 6=0.1 8=0.12 -2=-0.02 -4=-0.04 -6=-0.06 -8=-0.08")
    assert fit_line((both,)).play_mm == pytest.approx(0.04, abs=1e-6)


def test_a_bad_reading_is_named_and_left_out() -> None:
    draw = np.random.default_rng(2)
    run = series(1.0, draw, noise=0.002)
    dial = list(run.dial_mm)
    dial[4] += 0.11
    line = fit_line((Run("x", 120.0, run.force_n, tuple(dial), "test"),))
    assert [bad.number for bad in line.bad] == [5]
    assert line.bad[0].expected_mm == pytest.approx(run.dial_mm[4], abs=0.01)
    assert line.um_n == pytest.approx(1.0, rel=0.05)


def test_clean_series_have_no_bad_readings() -> None:
    draw = np.random.default_rng(8)
    bad = sum(len(fit_line((series(1.0, draw),)).bad) for _ in range(100))
    assert bad <= 1


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("x@120: 2=0.02 4=0.04", "at least 4 readings"),
        ("x@120: 2=0.08 4=0.06 6=0.04 8=0.02 10=0", "grow with the pull"),
        ("x@120: 2=0 4=0.5 6=0.1 8=0.7 10=0.3 8=0.9 6=0.6 4=0.2", "off the line|scatter"),
        ("x@120: 2=0.0001 4=0.0002 6=0.0003 8=0.0004 10=0.0005", "uncertain to"),
        ("x@120: 2=20 4=40 6=60 8=80 10=100", "check the units"),
        ("q@120: 2=0.1", "axis@drop"),
        ("x@120: 2:0.1", "axis@drop|pull=reading"),
        ("x@120: 2=abc", "dial reading"),
        ("x@120: 200=0.1 300=0.2", "at most 500 N"),
        ("x@-4: 2=0.1", "drop"),
        ("x@120: nan=0.1", "pull"),
    ],
)
def test_impossible_readings_say_what_is_wrong(text: str, part: str) -> None:
    with pytest.raises(InputError, match=part):
        stiffness_from((run_from_text(text),), load_machine("gantry-800w"))


def test_units_of_scale_and_dial() -> None:
    kilos = run_from_text("y@4 in: 2=10 4=20", "kg", "um")
    newtons = run_from_text("y@101.6: 19.6133=0.01 39.2266=0.02", "n", "mm")
    assert kilos.drop_mm == pytest.approx(newtons.drop_mm)
    assert kilos.force_n == pytest.approx(newtons.force_n)
    assert kilos.dial_mm == pytest.approx(newtons.dial_mm)
    assert run_from_text("x: 2=1 4=2", "lbf", "thou").dial_mm == pytest.approx((0.0254, 0.0508))


def test_csv_gives_the_same_as_the_option(tmp_path: Path) -> None:
    path = tmp_path / "pulls.csv"
    path.write_text(
        "axis,drop_mm,pull_kg,dial_mm\nx,120,2,0.02\nx,120,4,0.04\nx,120,-4,-0.04\n", encoding="utf-8"
    )
    assert runs_from_csv(path)[0].force_n == run_from_text("x@120: 2=0.02 4=0.04 -4=-0.04").force_n
    for text, line in (
        ("axis,pull_kg\nx,2\n", 1),
        ("axis,drop_mm,pull_kg,dial_mm\nx,120,2,0.02\nw,1,2,3\n", 3),
    ):
        path.write_text(text, encoding="utf-8")
        with pytest.raises(InputError) as caught:
            runs_from_csv(path)
        assert caught.value.line == line
    with pytest.raises(InputError):
        runs_from_csv(tmp_path / "absent.csv")


def test_rod_and_spindle_are_taken_off() -> None:
    machine = load_machine("gantry-800w")
    spindle = 1 / machine.spindle.stiffness_n_um.value
    rod = rod_give_um_n(8.0, 20.0)
    assert rod == pytest.approx(1000 * 20.0**3 / (3 * 205_000 * np.pi * 8.0**4 / 64), rel=1e-9)
    draw = np.random.default_rng(1)
    runs = tuple(
        Run(axis, 120.0, r.force_n, r.dial_mm, "test")
        for axis in "xy"
        for r in (series(1.2 + rod + spindle, draw, noise=1e-4),)
    )
    found = stiffness_from(runs, machine, rod_um_n=rod)
    assert 1 / found.stiffness_n_um["x"] == pytest.approx(1.2, rel=0.01)
    with pytest.raises(InputError, match="most of the give"):
        stiffness_from(runs, machine, rod_um_n=1.1)


@settings(max_examples=25, deadline=None, database=None)
@given(
    base=st.floats(0.05, 0.9), share=st.floats(0.0, 1.0), c0=st.floats(0.1, 5.0), ratio=st.floats(0.6, 1.6)
)
def test_exact_points_give_the_exact_law(base: float, share: float, c0: float, ratio: float) -> None:
    """Three drops, two axes, no noise: base, rotation and bending come back (closed form)."""
    rotary, bending = (1 - base) * share, (1 - base) * (1 - share)
    points = tuple(
        DropPoint(
            axis, drop, k * c0 * (base + rotary * (drop / 100) ** 2 + bending * (drop / 100) ** 3), 1e-4
        )
        for axis, k in (("x", 1.0), ("y", ratio))
        for drop in (50.0, 75.0, 100.0, 130.0)
    )
    law = fit_drop_law(points, 100.0)
    assert (law.base, law.rotary, law.bending) == pytest.approx((base, rotary, bending), abs=0.02)
    assert law.um_n["y"] / law.um_n["x"] == pytest.approx(ratio, rel=1e-3)
    assert law.base + law.rotary + law.bending == pytest.approx(1.0, abs=1e-9)


def test_the_law_of_the_reference_from_noisy_points_within_its_uncertainty() -> None:
    """C = 0.25 + 0.75 (h/120)^2: half the drop must come out within three stated uncertainties."""
    draw = np.random.default_rng(4)
    for _ in range(10):
        points = tuple(
            DropPoint(axis, drop, c * (1 + 0.04 * draw.standard_normal()), 0.04 * c)
            for axis in "xy"
            for drop in (60.0, 120.0, 160.0)
            for c in (0.25 + 0.75 * (drop / 120) ** 2,)
        )
        law = fit_drop_law(points, 120.0)
        truth = 0.25 + 0.75 * 0.25
        assert law.ratio(0.5) == pytest.approx(truth, rel=3 * np.hypot(law.half_sd, 0.04))


def test_drops_too_near_are_refused() -> None:
    with pytest.raises(InputError, match="two drops"):
        fit_drop_law((DropPoint("x", 100.0, 1.0, 0.1), DropPoint("x", 105.0, 1.05, 0.1)), 100.0)
