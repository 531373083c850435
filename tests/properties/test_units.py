"""Properties of the units: rounding never passes a limit, and what is shown can be read back."""

from __future__ import annotations

import contextlib

from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc import units

sizes = st.floats(min_value=1e-5, max_value=1e5, allow_nan=False)
systems = st.sampled_from(["mm", "in"])
quick = settings(deadline=None, max_examples=150, database=None)


@quick
@given(sizes, systems)
def test_set_values_never_pass_the_given_one(value: float, system: units.System) -> None:
    for to_set in (units.feed_to_set_mm_min, units.depth_to_set_mm):
        rounded = to_set(value, system)
        assert 0 < rounded <= value * (1 + 1e-9)
        assert rounded >= value * 0.45  # at worst just under two of the smallest steps


@quick
@given(sizes, systems)
def test_rounding_twice_changes_nothing(value: float, system: units.System) -> None:
    for to_set in (units.feed_to_set_mm_min, units.depth_to_set_mm):
        once = to_set(value, system)
        assert abs(to_set(once, system) - once) <= 1e-9 * once


@quick
@given(sizes, systems)
def test_what_is_shown_is_what_is_set(value: float, system: units.System) -> None:
    assert abs(units.length_mm(units.show_depth(value, system)) - units.depth_to_set_mm(value, system)) < 1e-6
    shown = units.feed_mm_min(units.show_feed(value, system))
    assert abs(shown - units.feed_to_set_mm_min(value, system)) < 1e-6


@quick
@given(st.floats(min_value=-1e4, max_value=1e4), systems)
def test_shown_lengths_lie_within_half_a_step(value: float, system: units.System) -> None:
    half_step_in = 0.00025 if abs(value) < 25.4 else 0.0005
    half_step_mm = 0.005 if system == "mm" else half_step_in * 25.4
    back = units.length_mm(units.show_length(value, system), negative=True)
    assert abs(back - value) <= half_step_mm * 1.001


@quick
@given(st.integers(0, 200), st.integers(1, 64), st.integers(0, 40))
def test_fractions_are_exact(top: int, bottom: int, whole: int) -> None:
    assert units.length_mm(f"{top}/{bottom} in") == (top * 254) / (bottom * 10)
    assert units.length_mm(f"{whole} {top}/{bottom} in") == ((whole * bottom + top) * 254) / (bottom * 10)


@quick
@given(st.text(max_size=80) | st.text(alphabet='0123456789./-+e "inmc,½', max_size=20))
def test_any_text_gives_a_number_or_a_value_error(text: str) -> None:
    with contextlib.suppress(ValueError):
        assert units.length_mm(text) >= 0
