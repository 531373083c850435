"""The derived reserve and the sampled chances: against each other, and against brute-force sampling."""

from __future__ import annotations

import os
import time
from dataclasses import replace

import numpy as np
import pytest

from millcalc.advise.advice import advise
from millcalc.advise.solve import find
from millcalc.limits.build import make_tooling
from millcalc.limits.chances import chances
from millcalc.limits.forces import axis_thrust, cutter_strength, deflection
from millcalc.limits.request import CutRequest
from millcalc.limits.spread import first_cut_budgets, spreads_of
from millcalc.limits.state import State
from millcalc.limits.table import LIMITS
from millcalc.limits.tooling import Tooling
from millcalc.limits.tuning import (
    FIRST_CUT_CHANCE,
    FIRST_CUT_SMALLEST,
    THRUST_SHARE,
    WEAR_LN_MEAN,
    WEAR_LN_SD,
)
from millcalc.tables import list_names, load_cutter, load_machine, load_material
from millcalc.tables.models import Machine


def tooling(machine: str | Machine = "gantry-800w", cutter: str = "flat-6mm-1f", **changes: float) -> Tooling:
    row = load_machine(machine) if isinstance(machine, str) else machine
    return make_tooling(row, load_material("al-6082-t6"), load_cutter(cutter), **changes)  # type: ignore[arg-type]


def measured(machine: Machine, spread: float = 1.06) -> Machine:
    """The same machine with the same numbers, but measured."""
    stiffness = machine.stiffness_n_um.model_copy(
        update={"source": "own-measurement", "confidence": "measured"}
    )
    return machine.model_copy(
        update={"stiffness_n_um": stiffness, "stiffness_spread": spread, "typical": False}
    )


def state_at(built: Tooling, depth_mm: float, speed: float = 13000.0, chip: float = 0.03) -> State:
    return State(
        built, CutRequest("slot"), np.array([speed]), np.array([chip]), np.array([depth_mm]), np.array([6.0])
    )


@pytest.mark.parametrize("name", list_names("machines"))
@pytest.mark.parametrize("rule", [deflection, axis_thrust, cutter_strength])
def test_a_first_cut_at_its_budget_holds_with_the_target_chance(name: str, rule) -> None:  # type: ignore[no-untyped-def]
    """The closed-form reserve and the sampling are two ways to the same number."""
    key = {deflection: "deflection", axis_thrust: "axis-thrust", cutter_strength: "cutter-strength"}[rule]
    built = tooling(name)
    speed = min(max(13000.0, built.lowest_rpm), built.highest_rpm)
    at_one = float(rule(state_at(built, 1.0, speed)).share.item())
    budget = first_cut_budgets(built)[key]
    assert 0.3 < budget < 1.0
    found = chances(state_at(built, budget / at_one, speed)).by_key[key]
    assert found == pytest.approx(FIRST_CUT_CHANCE[key], abs=0.025)


def test_chances_agree_with_independent_brute_force() -> None:
    """Whole machines and materials drawn one by one through the real limit function; 400 draws, 3 sigma."""
    built = tooling("gantry-1500w", "flat-6mm-2f")
    spread = spreads_of(built)
    draw = np.random.default_rng(7)
    depth, count, held = 0.45, 400, {"deflection": 0, "axis-thrust": 0}
    material = built.material
    nominal = material.edge_sets[0]
    for _ in range(count):
        frame, spindle, thrust, z = (draw.standard_normal() for _ in range(4))
        force = np.exp(
            (spread.force_above if z > 0 else spread.force_below) * z
            + WEAR_LN_MEAN
            + WEAR_LN_SD * draw.standard_normal()
        )
        axes = built.machine.stiffness_n_um
        stiff = axes.model_copy(update={a: getattr(axes, a) * np.exp(spread.frame * frame) for a in "xyz"})
        head = built.machine.spindle
        value = head.stiffness_n_um
        head = head.model_copy(
            update={
                "stiffness_n_um": value.model_copy(
                    update={"value": value.value * np.exp(spread.spindle * spindle)}
                )
            }
        )
        push = built.machine.thrust_n
        pushed = push.model_copy(update={a: getattr(push, a) * np.exp(spread.thrust * thrust) for a in "xyz"})
        machine = built.machine.model_copy(
            update={"stiffness_n_um": stiff, "spindle": head, "thrust_n": pushed}
        )
        edge = nominal.model_copy(
            update={
                field: getattr(nominal, field) * force
                for field in (
                    "ktc_n_mm2",
                    "krc_n_mm2",
                    "kac_n_mm2",
                    "kte_n_mm",
                    "kre_n_mm",
                    "kae_n_mm",
                )
            }
        )
        drawn = replace(built, machine=machine, material=material.model_copy(update={"edge_sets": (edge,)}))
        state = state_at(drawn, depth)
        held["deflection"] += float(state.deflection_mm(1).item()) <= state.deflection_allowed_mm
        limit = min(pushed.x, pushed.y) * THRUST_SHARE
        held["axis-thrust"] += float(state.loads(1).mean_n.item()) <= limit
    sampled = chances(state_at(built, depth))
    for key, number in held.items():
        chance = sampled.by_key[key]
        error = 3 * np.sqrt(max(chance * (1 - chance), 0.01) / count) + 0.01
        assert number / count == pytest.approx(chance, abs=error), key


def test_sampling_is_seeded_quick_and_falls_with_depth() -> None:
    built = tooling()
    started = time.perf_counter()
    first = chances(state_at(built, 0.6))
    assert time.perf_counter() - started < 0.5
    assert first.samples == 10_000
    assert chances(state_at(built, 0.6)) == first
    deeper = chances(state_at(built, 0.9))
    for key in ("deflection", "spindle-power", "axis-thrust", "cutter-strength"):
        assert deeper.by_key[key] <= first.by_key[key]
    assert first.together <= min(first.by_key.values())
    low, middle, high = first.deflection_mm
    assert low < middle < high


def test_measuring_the_machine_buys_depth_with_the_same_stiffness() -> None:
    """The very same numbers, once as a class value and once as measured: the reserve is smaller."""
    typical = load_machine("belt-small-trim-router")
    before = advise(tooling(typical), CutRequest("slot"), buys=False)
    after = advise(tooling(measured(typical)), CutRequest("slot"), buys=False)
    assert (
        first_cut_budgets(after.tooling)["deflection"] > 1.2 * first_cut_budgets(before.tooling)["deflection"]
    )
    assert after.settings.axial_depth_mm > before.settings.axial_depth_mm
    assert before.holds["depth"] == "deflection"


def test_moving_far_from_the_measured_drop_costs_certainty() -> None:
    machine = measured(load_machine("gantry-800w"))
    here, away = spreads_of(tooling(machine)), spreads_of(tooling(machine, drop_mm=60.0))
    assert away.frame > 1.5 * here.frame


def test_a_proven_cut_keeps_no_reserve_and_every_budget_is_bounded() -> None:
    for name in list_names("machines"):
        built = tooling(name)
        for limit in LIMITS:
            assert limit.budget(CutRequest("slot", proven=True), built) == limit.budget_most
            for cut in ("slot", "side", "face", "helix"):
                assert FIRST_CUT_SMALLEST <= limit.budget(CutRequest(cut), built) <= 1.0  # type: ignore[arg-type]


def test_every_material_has_chances() -> None:
    for name in list_names("materials")[:: 1 if os.environ.get("MILLCALC_ALL") else 3]:
        built = make_tooling(load_machine("gantry-800w"), load_material(name), load_cutter("flat-6mm-2f"))
        point, _ = find(built, CutRequest("slot"))
        found = chances(point.state(built, CutRequest("slot")), samples=500)
        assert all(0.0 <= value <= 1.0 for value in found.by_key.values())
