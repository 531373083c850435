"""Numbers as a person sets them: rounded down to a step, no false digits.

Expected values are exact, by the rule.
"""

from __future__ import annotations

import pytest

from millcalc import units


@pytest.mark.parametrize(
    ("feed", "mm", "inch"),
    [
        (97.6, "97 mm/min", "3.8 in/min"),
        (100.0, "100 mm/min", "3.9 in/min"),
        (199.0, "195 mm/min", "7.8 in/min"),
        (19.9, "19.5 mm/min", "0.78 in/min"),
        (49.9, "49 mm/min", "1.95 in/min"),
        (547.3, "540 mm/min", "21 in/min"),
        (499.0, "490 mm/min", "19.5 in/min"),
        (1999.0, "1980 mm/min", "78 in/min"),
        (2049.0, "2000 mm/min", "80 in/min"),
        (889.0, "880 mm/min", "35 in/min"),
        (3.21, "3.2 mm/min", "0.12 in/min"),
        (0.0, "0 mm/min", "0 in/min"),
    ],
)
def test_feeds_round_down(feed: float, mm: str, inch: str) -> None:
    assert units.show_feed(feed) == mm
    assert units.show_feed(feed, "in") == inch


@pytest.mark.parametrize(
    ("feed", "mm", "inch"),
    [
        (66.1, 67.0, 2.7),
        (70.0, 70.0, 2.8),
        (99.7, 100.0, 4.0),
        (178.3, 180.0, 7.1),
        (3.21, 3.3, 0.13),
        (0.0, 0.0, 0.0),
    ],
)
def test_a_feed_that_must_not_be_slower_rounds_up_to_what_is_shown(
    feed: float, mm: float, inch: float
) -> None:
    up = units.feed_to_set_mm_min(feed, rounding="up"), units.feed_to_set_mm_min(feed, "in", "up")
    assert up == pytest.approx((mm, 25.4 * inch))
    assert (units.show_feed(up[0]), units.show_feed(up[1], "in")) == (f"{mm:g} mm/min", f"{inch:g} in/min")


@pytest.mark.parametrize(
    ("feed", "mm", "inch"),
    [
        (347.0, "347 mm/min", "13.7 in/min"),
        (12.5, "12.5 mm/min", "0.492 in/min"),
        (0.0, "0 mm/min", "0 in/min"),
    ],
)
def test_a_feed_that_was_given_is_shown_as_it_is(feed: float, mm: str, inch: str) -> None:
    assert (units.show_feed_as_is(feed), units.show_feed_as_is(feed, "in")) == (mm, inch)


def test_no_step_of_a_feed_is_more_than_a_twentieth_of_it() -> None:
    """So that a feed stands between the chip that rubs and the start of the band, a twentieth above it."""
    for k in range(2000):
        feed = 2.0 * 1.004**k
        for system, least in (("mm", 2.0), ("in", 0.2 * 25.4)):
            if least <= feed < 6000:
                up = units.feed_to_set_mm_min(feed, system, "up")  # type: ignore[arg-type]
                assert feed <= up <= 1.05 * feed, (feed, system)
                assert units.show_feed_as_is(up, system) == units.show_feed(up, system)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("depth", "mm", "inch"),
    [
        (0.547, "0.5 mm", "0.02 in"),
        (0.487, "0.48 mm", "0.019 in"),
        (0.45, "0.45 mm", "0.0175 in"),
        (0.3, "0.3 mm", "0.0115 in"),
        (0.187, "0.18 mm", "0.007 in"),
        (0.2, "0.2 mm", "0.0075 in"),
        (0.0042, "0.0042 mm", "0.00016 in"),
        (6.35, "6.35 mm", "0.25 in"),
        (0.0, "0 mm", "0 in"),
    ],
)
def test_depths_round_down(depth: float, mm: str, inch: str) -> None:
    assert units.show_depth(depth) == mm
    assert units.show_depth(depth, "in") == inch


def test_speeds_round_to_what_a_dial_or_word_sets() -> None:
    assert units.show_speed(18_337) == "18300 rpm"
    assert units.show_speed(9_996) == "10000 rpm"
    assert units.show_speed(8_004) == "8000 rpm"
    assert units.speed_to_set_rpm(18_399, "down") == 18_300
    assert units.speed_to_set_rpm(18_301, "up") == 18_400
    assert units.speed_to_set_rpm(18_300, "up") == 18_300


def test_other_quantities_are_shown_without_false_digits() -> None:
    assert units.show_chip_load(0.0309) == "0.031 mm/tooth"
    assert units.show_chip_load(0.0309, "in") == "0.0012 in/tooth"
    assert units.show_length(6.0) == "6 mm"
    assert units.show_length(6.35, "in") == "0.25 in"
    assert units.show_length(-0.004) == "0 mm"
    assert units.show_length(12.3456, step=0.1) == "12.3 mm"
    assert units.show_angle(2.53) == "2.5 deg"
    assert units.show_angle(29.6) == "30 deg"
    assert units.show_force(33.7) == "34 N"
    assert units.show_force(33.7, "in") == "7.6 lbf"
    assert units.show_power(44.61) == "45 W"
    assert units.show_number(0.000123456) == "0.00012"
    assert units.show_number(123456.0) == "120000"
    assert units.show_number(-99.6) == "-100"


def test_missing_values_are_called_unknown() -> None:
    for show in (
        units.show_feed,
        units.show_depth,
        units.show_length,
        units.show_chip_load,
        units.show_speed,
        units.show_angle,
        units.show_force,
        units.show_power,
        units.show_number,
        units.show_cutting_speed,
    ):
        assert show(None) == "unknown"
        assert show(float("nan")) == "unknown"


@pytest.mark.parametrize("value", [-1.0, float("nan"), float("inf")])
def test_nothing_below_zero_is_rounded_to_be_set(value: float) -> None:
    for to_set in (units.feed_to_set_mm_min, units.depth_to_set_mm, units.speed_to_set_rpm):
        with pytest.raises(ValueError, match="finite number not below zero"):
            to_set(value)
