"""Density from weight and size: the handbook example, worst cases by hand, and properties."""

from __future__ import annotations

import math
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.mechanics.weighing import (
    bar_volumes_mm3,
    box_volumes_mm3,
    density_kg_m3,
    density_range_kg_m3,
    displaced_volumes_mm3,
)

SIDE = st.floats(2, 500)


def test_plate_by_hand() -> None:
    """200 x 100 x 6 mm are 120 cm3: 324 g of aluminium, 209 g of magnesium (exact arithmetic)."""
    least, read, most = box_volumes_mm3((200, 100, 6), 0.1)
    assert (least, read, most) == pytest.approx((199.9 * 99.9 * 5.9, 120_000, 200.1 * 100.1 * 6.1))
    assert density_kg_m3(0.324, read) == pytest.approx(2700)
    assert density_kg_m3(0.209, read) == pytest.approx(1741.67, abs=0.01)


def test_bar_and_water_by_hand() -> None:
    assert bar_volumes_mm3(20, 100, 0)[1] == pytest.approx(math.pi * 100 * 100)
    least, read, most = displaced_volumes_mm3(0.0998, 0.001)
    assert read == pytest.approx(99_980, rel=1e-3), "99.8 g of water at 20 deg C are 100 cm3"
    assert least < 99_000 and most > 101_000


@settings(deadline=None, max_examples=80)
@given(
    sides=st.tuples(SIDE, SIDE, SIDE),
    error=st.floats(0, 1),
    density=st.floats(1500, 12_000),
    scale=st.floats(0, 0.002),
    off=st.tuples(*(st.floats(-1, 1) for _ in range(4))),
)
def test_the_true_density_always_lies_in_the_range(
    sides: tuple[float, float, float],
    error: float,
    density: float,
    scale: float,
    off: tuple[float, float, float, float],
) -> None:
    """Any readings within the stated errors of the true piece give a range that holds the true density."""
    mass = density * math.prod(sides) * 1e-9
    read_mass = mass + off[3] * scale
    read = [side + part * error for side, part in zip(sides, off, strict=False)]
    if read_mass <= scale or min(read) <= error:
        return
    low, middle, high = density_range_kg_m3(read_mass, scale, box_volumes_mm3(read, error))
    assert low * (1 - 1e-9) <= density <= high * (1 + 1e-9)
    assert low <= middle <= high


def test_the_range_is_the_worst_corner() -> None:
    """Against every combination of readings at the ends of their errors."""
    low, _, high = density_range_kg_m3(0.3, 0.002, box_volumes_mm3((80, 50, 10), 0.2))
    corners = [
        1e9 * (0.3 + m * 0.002) / ((80 + a * 0.2) * (50 + b * 0.2) * (10 + c * 0.2))
        for m, a, b, c in product((-1, 1), repeat=4)
    ]
    assert (low, high) == pytest.approx((min(corners), max(corners)))


def test_impossible_readings_are_refused() -> None:
    for call in (
        lambda: density_kg_m3(0, 1),
        lambda: density_kg_m3(1, float("nan")),
        lambda: box_volumes_mm3((1, 2), 0),
        lambda: box_volumes_mm3((10, 10, 0.1), 0.1),
        lambda: box_volumes_mm3((10, -10, 1), 0.1),
        lambda: displaced_volumes_mm3(0.001, 0.001),
        lambda: density_range_kg_m3(0.001, 0.002, (1, 1, 1)),
    ):
        with pytest.raises(ValueError):
            call()
