"""Quantities as people write them: what is read, and what is refused with which words."""

from __future__ import annotations

import pytest

from millcalc import units

# expected numbers: exact, from 1 in = 25.4 mm (international yard and pound agreement, 1959)
LENGTHS = [
    ("6", 6.0),
    (6, 6.0),
    (6.5, 6.5),
    ("6 mm", 6.0),
    ("6mm", 6.0),
    (" 6 MM ", 6.0),
    ("+6 mm", 6.0),
    ("0.6 cm", 6.0),
    ("0.006 m", 6.0),
    ("5 µm", 0.005),
    ("1/4 in", 6.35),
    ('1/4"', 6.35),
    ("1/4″", 6.35),
    ("1 1/2 in", 38.1),
    ("1-1/2 in", 38.1),
    ("1½ in", 38.1),
    ("0.25in", 6.35),
    ("6 in.", 152.4),
    ('0.002"', 0.0508),
    ("2 thou", 0.0508),
    (".5 inch", 12.7),
    ("1.5e-1 mm", 0.15),
    ("12 000 mm", 12000.0),
]


@pytest.mark.parametrize(("text", "expected"), LENGTHS)
def test_lengths_are_read(text: object, expected: float) -> None:
    assert units.length_mm(text) == expected


def test_bare_numbers_take_the_default_unit() -> None:
    assert units.length_mm(0.25, "in") == 6.35
    assert units.length_mm("1/4", "in") == 6.35
    assert units.feed_mm_min(35, "in/min") == 889.0


REFUSED = [
    ("2,5", "write 2.5"),
    ("12,000", "12000"),
    ("1/4", "without a unit"),
    ("1/0 in", "division by zero"),
    ("", "found nothing"),
    ("   ", "found nothing"),
    (None, "found nothing"),
    (True, "found True"),
    ([6], "write a number"),
    (float("nan"), "finite"),
    (float("inf"), "finite"),
    (10**400, "finite"),
    ("nan", "not a number"),
    ("inf mm", "not a number"),
    ("1e400", "too large"),
    ("6..2", "not a number"),
    ("1.5/2 in", "not a number"),
    ("1 1 in", "not a number"),
    ("1200 000", "not a number"),
    ("١ mm", "not a number"),
    ("mm", "not a number"),
    ("6 furlong", "accepted units: mm"),
    ("6 mm/min", "accepted units: mm"),
    (-3, "below zero"),
    ("-3 mm", "below zero"),
    ("9" * 100_000, "100000 characters"),
]


@pytest.mark.parametrize(("text", "says"), REFUSED)
def test_what_cannot_be_read_is_refused_in_words(text: object, says: str) -> None:
    with pytest.raises(ValueError) as caught:
        units.length_mm(text, what="thickness")
    message = str(caught.value)
    assert message.startswith("thickness: found")
    assert says in message
    assert len(message) < 250


def test_coordinates_may_be_below_zero() -> None:
    assert units.length_mm("-1/4 in", negative=True) == -6.35
    assert units.length_mm("−3 mm", negative=True) == -3.0


def test_other_quantities() -> None:
    assert units.feed_mm_min("900 mm/min") == 900.0
    assert units.feed_mm_min("35 in/min") == 889.0
    assert units.feed_mm_min("15 mm/s") == 900.0
    assert units.feed_mm_min("1 m/min") == 1000.0
    assert units.speed_rpm("12000 rpm") == 12000.0
    assert units.speed_rpm("12 000 1/min") == 12000.0
    assert units.angle_deg("3 deg") == 3.0
    assert units.angle_deg("-3°", negative=True) == -3.0
    assert units.mass_kg("2.5 kg") == 2.5
    assert units.mass_kg("800 g") == 0.8
    assert units.time_s("500 ms") == 0.5
    assert units.power_w("1.5 kW") == 1500.0
    assert units.acceleration_mm_s2("0.3 m/s^2") == 300.0
    assert units.density_kg_m3("2.7 g/cm3") == pytest.approx(2700.0, rel=1e-15)
    assert units.chip_load_mm("0.001 in") == 0.0254
    assert units.cutting_speed_m_min("1000 ft/min") == 304.8


def test_conversion_factors_against_nist() -> None:
    """NIST SP 811 (2008), appendix B.8: pound-force 4.448 222 N, kilogram-force 9.806 65 N, horsepower
    (550 ft lbf/s) 745.6999 W, pound per cubic foot 16.018 46 kg/m3, foot per minute 0.005 08 m/s.

    Tolerance: one unit in the last printed digit.
    """
    assert units.force_n("1 lbf") == pytest.approx(4.448222, abs=1e-6)
    assert units.force_n("1 kgf") == pytest.approx(9.80665, abs=1e-9)
    assert units.power_w("1 hp") == pytest.approx(745.6999, abs=1e-4)
    assert units.density_kg_m3("1 lb/ft3") == pytest.approx(16.01846, abs=1e-5)
    assert units.cutting_speed_m_min("1 ft/min") / 60 == pytest.approx(0.00508, abs=1e-9)
