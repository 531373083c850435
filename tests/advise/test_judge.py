"""Limits for a fitted cutter, as the preflight asks for them."""

from __future__ import annotations

import numpy as np
import pytest

from millcalc.advise.advice import advise
from millcalc.limits.build import make_tooling
from millcalc.limits.judge import deepest_mm, depth_uses
from millcalc.limits.request import CutRequest
from millcalc.tables import list_names, load_cutter, load_machine, load_material


@pytest.mark.parametrize("machine", list_names("machines"))
def test_advised_depth_lies_below_the_deepest_that_holds(machine: str) -> None:
    tooling = make_tooling(load_machine(machine), load_material("al-6082-t6"), load_cutter("flat-6mm-1f"))
    settings = advise(tooling, CutRequest("slot"), buys=False).settings
    assert settings.axial_depth_mm <= deepest_mm(tooling, settings.speed_rpm, settings.feed_mm_min)


def test_uses_are_arrays_and_grow_with_the_depth() -> None:
    tooling = make_tooling(
        load_machine("gantry-800w"), load_material("al-6082-t6"), load_cutter("flat-6mm-1f")
    )
    depth = np.array([0.2, 0.4, 0.8])
    uses = depth_uses(tooling, CutRequest("slot", proven=True), 15000.0, 0.03, depth, 6.0)
    for values in uses.values():
        assert values.shape == (3,)
        assert (np.diff(values) > 0).all()
        # a shallow cut is linear in its depth; the lag of the helix bends the line by a few per cent at most
        assert values[1] == pytest.approx(2 * values[0], rel=0.03)
