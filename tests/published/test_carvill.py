"""J. Carvill, Mechanical Engineer's Data Handbook, page 192: power constants of milling k_M in J/mm3.

P[kW] = k_M w d f / 60 000, w and d in mm and f in mm/min: the power through the function that runs, for the material
tables that are shipped, must lie about it. The page gives one constant for all aluminium and one for all brass.
"""

from __future__ import annotations

import pytest

from millcalc.limits.build import make_tooling
from millcalc.limits.request import CutRequest
from millcalc.limits.state import State
from millcalc.tables import load_cutter, load_machine, load_material

MILLING = {  # k_M [J/mm3]
    "al-6082-t6": 0.9,
    "al-6061-t6": 0.9,
    "brass-cartridge": 1.6,
    "steel-mild": 2.7,
}


def energy_j_mm3(material: str, which: int, chip_mm: float = 0.1) -> float:
    """Energy a volume of a half-width side cut of a 10 mm deep-fluted cutter: power over removal rate [J/mm3]."""
    tooling = make_tooling(
        load_machine("bench-mill-small"), load_material(material), load_cutter("flat-8mm-3f")
    )
    speed, depth, width = 4000.0, 2.0, 4.0
    state = State(tooling, CutRequest("side", proven=True), speed, chip_mm, depth, width)
    removal_mm3_s = depth * width * chip_mm * 3 * speed / 60.0
    return float(state.power_w(which)) / removal_mm3_s


@pytest.mark.parametrize("material", MILLING)
def test_the_constant_lies_in_the_range_that_is_told(material: str) -> None:
    """Page 192: within 15 % of the range between the least and the greatest set at a chip of 0.1 mm a tooth."""
    low, high = energy_j_mm3(material, 0), energy_j_mm3(material, 2)
    assert 0.85 * low <= MILLING[material] <= 1.15 * high, (low, high)


def test_order_of_materials() -> None:
    """Page 192: aluminium, brass and mild steel take rising power."""
    found = [energy_j_mm3(name, 1) for name in ("al-6061-t6", "brass-cartridge", "steel-mild")]
    assert found == sorted(found)
