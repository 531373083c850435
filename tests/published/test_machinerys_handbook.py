"""Machinery's Handbook, 31st edition, chapter on machining power, page 1147.

The handbook's constants are rounded to three figures.
"""

from __future__ import annotations

import pytest

from millcalc.limits.build import make_tooling
from millcalc.limits.request import CutRequest
from millcalc.limits.state import State
from millcalc.tables import load_cutter, load_machine, load_material


@pytest.mark.parametrize("kp", [1.72, 1.80, 2.02])
def test_unit_power_of_steel(kp: float) -> None:
    """Table 1b, p. 1147: Kp of plain carbon steel, 80-100, 100-120 and 140-160 HB, at 0.30 mm a tooth [J/mm3].

    Through the function that runs: mean tangential force times cutting speed over the removal rate, between the least
    and the greatest set of mild steel.
    """
    tooling = make_tooling(
        load_machine("bench-mill-small"), load_material("steel-mild"), load_cutter("flat-8mm-4f")
    )
    state = State(tooling, CutRequest("slot", proven=True), 3000.0, 0.30, 1.0, 8.0)
    removal_mm3_s = 1.0 * 8.0 * 0.30 * 4 * 3000.0 / 60.0
    least, most = (float(state.power_w(which)) / removal_mm3_s for which in (0, 2))
    assert least <= kp <= 1.05 * most
