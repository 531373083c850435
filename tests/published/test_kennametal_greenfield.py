"""Kennametal Greenfield, technical tips on drilling: the first two diameters can be drilled before the first peck."""

from __future__ import annotations

import pytest

from millcalc.mechanics.drilling import peck_count


@pytest.mark.parametrize(("diameters", "strokes"), [(0.5, 1), (2.0, 1), (2.1, 2), (3.0, 2), (5.0, 4)])
def test_first_peck(diameters: float, strokes: int) -> None:
    """Technical tips: one stroke to two diameters, then more."""
    assert peck_count(diameters * 3.0, 3.0) == strokes
