"""The closed form along the helical edge against a plain sum over thin discs, one tooth and one position at a time."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.mechanics.forces import turn_loads
from millcalc.mechanics.linear_edge import EdgeCoefficients

K6082 = EdgeCoefficients(631.0, 99.0, 273.0, 13.0, 10.0, 2.8)


def plain(
    k: EdgeCoefficients, diameter: float, flutes: int, helix: float, feed: float, arc: float, depth: float,
    discs: int = 150, steps: int = 240,
) -> tuple[float, float, float, float]:  # fmt: skip
    """Mean and peak across the axis, peak along it, mean tangential force [N]."""
    lag = 2.0 * math.tan(math.radians(helix)) / diameter
    sums = [0.0, 0.0, 0.0]
    peak = axial = 0.0
    for step in range(steps):
        x = y = z = t = 0.0
        for tooth in range(flutes):
            for disc in range(discs):
                height = (disc + 0.5) / discs * depth
                phi = 2.0 * math.pi * ((step + 0.5) / steps - tooth / flutes) - lag * height
                phi %= 2.0 * math.pi
                if not math.pi - arc <= phi <= math.pi:
                    continue
                thick, chip = depth / discs, feed * math.sin(phi)
                ft = thick * (k.ktc_n_mm2 * chip + k.kte_n_mm)
                fr = thick * (k.krc_n_mm2 * chip + k.kre_n_mm)
                x += -ft * math.cos(phi) - fr * math.sin(phi)
                y += ft * math.sin(phi) - fr * math.cos(phi)
                z += thick * (k.kac_n_mm2 * chip + k.kae_n_mm)
                t += ft
        peak, axial = max(peak, math.hypot(x, y)), max(axial, z)
        sums = [sums[0] + x, sums[1] + y, sums[2] + t]
    return math.hypot(sums[0], sums[1]) / steps, peak, axial, sums[2] / steps


@settings(max_examples=12, deadline=None)
@given(
    st.sampled_from([1.0, 3.175, 6.0, 8.0]), st.integers(1, 4), st.sampled_from([25.0, 30.0, 45.0]),
    st.floats(0.008, 0.08), st.floats(0.5, math.pi), st.floats(0.2, 2.0),
)  # fmt: skip
def test_against_the_plain_twin(
    diameter: float, flutes: int, helix: float, feed: float, arc: float, deep: float
) -> None:
    depth = deep * diameter
    expected = plain(K6082, diameter, flutes, helix, feed, arc, depth)
    got = turn_loads(K6082, diameter, flutes, helix, feed, arc, depth)
    found = tuple(float(v) for v in (got.mean_n, got.peak_n, got.axial_n, got.tangential_n))
    assert found == pytest.approx(expected, rel=0.03, abs=0.01 * expected[1])


@pytest.mark.parametrize(
    ("depth", "width", "helix", "peak", "straight"),
    [(6.0, 0.6, 25.0, 118.8, 243.6), (9.0, 0.3, 25.0, 73.0, 304.1)],
)
def test_the_lag_of_the_helix_takes_load_off_a_narrow_cut(
    depth: float, width: float, helix: float, peak: float, straight: float
) -> None:
    """6 mm, one flute, 6082, 0.067 mm a tooth: all of the edge in at one moment would be 2.1 and 4.2 times as much."""
    arc = math.acos(1 - 2 * width / 6.0)
    assert float(turn_loads(K6082, 6.0, 1, helix, 0.067, arc, depth).peak_n) == pytest.approx(peak, abs=0.2)
    assert float(turn_loads(K6082, 6.0, 1, 0.0, 0.067, arc, depth).peak_n) == pytest.approx(straight, abs=0.2)
