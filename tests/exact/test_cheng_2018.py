"""Cheng et al., International Journal of Advanced Manufacturing Technology 97 (2018) 3119, abstract.

Smallest chip over edge radius: 0.14 to 0.43 over many materials; 0.60 to 0.68 in micro-milling of brass C26000.
"""

from __future__ import annotations

import pytest

from millcalc.mechanics.chip import least_chip_mm


@pytest.mark.parametrize(("ratio", "microns"), [(0.14, 0.7), (0.43, 2.15), (0.60, 3.0), (0.68, 3.4)])
def test_sharp_carbide_edge(ratio: float, microns: float) -> None:
    """Abstract: an edge of 5 um cuts chips down to 0.7 to 3.4 um, by material."""
    assert 1000.0 * least_chip_mm(5.0, ratio) == pytest.approx(microns)
