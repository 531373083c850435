"""A. Ghosh, A. K. Mallik, Manufacturing Science, chapter 4, worked examples 4.5 and 4.16, and table 4.14.

The examples were read in the Scilab Textbook Companion 3250 (FOSSEE). The book rounds in between, so its results are
met within 0.6 %. Table 4.14 (unit powers of milling) was read in a public transcription of a scan.
"""

from __future__ import annotations

import numpy as np
import pytest

from millcalc.mechanics.chip import max_chip_mm
from millcalc.mechanics.kienzle import specific_force_n_mm2
from tests.published.test_carvill import energy_j_mm3

U0_MILD_STEEL = 1400.0  # N/mm2, U = U0 t^-0.4


def test_cutting_force() -> None:
    """Example 4.5: chip 0.25 x 2.5 mm, U0 = 1.4 J/mm3 gives 1517 N."""
    force = specific_force_n_mm2(U0_MILD_STEEL, 0.4, 0.25) * 0.25 * 2.5
    assert force == pytest.approx(1517.0, rel=0.006)


def test_specific_energy_of_slab_milling() -> None:
    """Example 4.16: a mean chip of 0.043 mm gives 4.93 J/mm3."""
    assert specific_force_n_mm2(U0_MILD_STEEL, 0.4, 0.043) / 1000.0 == pytest.approx(4.93, abs=0.005)


def test_short_form_agrees_with_the_exact_chip() -> None:
    """Equation of example 4.15: leaves out sqrt(1 - t/D), here 3.4 %."""
    exact = max_chip_mm(100.0 / 600.0, 5.0, 75.0)
    assert exact == pytest.approx(0.0861 * np.sqrt(1.0 - 5.0 / 75.0), abs=5e-5)


@pytest.mark.parametrize("material", ["al-6061-t6", "al-6082-t6", "al-cast-plate", "al-5083"])
def test_unit_power_of_aluminium(material: str) -> None:
    """Table 4.14, milling: aluminium 0.6 to 1.0 J/mm3; the nominal power lies there at chips of 0.1 and 0.15 mm."""
    assert all(0.6 <= energy_j_mm3(material, 1, chip) <= 1.0 for chip in (0.1, 0.15))


def test_unit_power_of_soft_steel() -> None:
    """Table 4.14, milling: steel of 100 BHN 3.5 J/mm3; met by the range at the thin chips of 0.05 mm that we mill."""
    assert energy_j_mm3("steel-mild", 0, 0.05) < 3.5 < energy_j_mm3("steel-mild", 2, 0.05)
