"""A tool maker's catalogues: turning 2017 p. 558 and boring 2022 p. 111, kc1 and mc by ISO 513 / VDI 3323 group.

Address: https://docs.steelcam.org/iscar/katalog-tokarnyj-instrument-2017-page558

kc1 is printed as the force on a chip of 1 mm2; mc as the slope of log kc over log h. Both are read back from the
curve, and the curve is compared with the product taken by hand at 0.1 mm.
"""

from __future__ import annotations

import math

import pytest

from millcalc.mechanics.kienzle import specific_force_n_mm2

ROWS = {  # VDI group: kc1 [N/mm2], mc, kc at 0.1 mm worked out by logarithms [N/mm2]
    "aluminium wrought, not hardenable (21)": (700.0, 0.25, 1245.0),
    "aluminium wrought, cured (22)": (800.0, 0.25, 1423.0),
    "aluminium cast, up to 12 % Si (23)": (700.0, 0.25, 1245.0),
    "aluminium cast, above 12 % Si (25)": (750.0, 0.25, 1334.0),
    "brass (27)": (700.0, 0.27, 1303.0),
    "electrolytic copper (28)": (700.0, 0.27, 1303.0),
    "steel below 0.25 % C (1)": (1350.0, 0.21, 2189.0),
    "steel from 0.25 % C (2)": (1500.0, 0.22, 2489.0),
    "grey cast iron (15)": (1150.0, 0.20, 1823.0),
    "austenitic stainless (14)": (2150.0, 0.20, 3407.0),
}


@pytest.mark.parametrize("name", ROWS)
def test_curve_of_group(name: str) -> None:
    """P. 558: value at 1 mm, slope, and the value at 0.1 mm (rounded to 1 N/mm2)."""
    kc1, mc, at_tenth = ROWS[name]
    assert specific_force_n_mm2(kc1, mc, 1.0) == pytest.approx(kc1)
    slope = math.log10(specific_force_n_mm2(kc1, mc, 0.1) / specific_force_n_mm2(kc1, mc, 1.0))
    assert slope == pytest.approx(mc)
    assert specific_force_n_mm2(kc1, mc, 0.1) == pytest.approx(at_tenth, abs=0.6)
