"""The entry model: what it takes, refuses and computes."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
from cuts import cut
from pydantic import ValidationError

from millcalc.cutlog.models import LIMIT_KINDS, SYMPTOMS
from millcalc.cutlog.rows import entry_from
from millcalc.errors import InputError, ManyErrors
from millcalc.mechanics.chip import max_chip_mm


def test_chip_load_uses_the_override() -> None:
    entry = cut(feed_mm_min=720.0, speed_rpm=18_000.0, flutes=2, override_percent=50.0)
    assert entry.feed_per_tooth_mm == pytest.approx(720 * 0.5 / (2 * 18_000), rel=1e-12)  # exact


@pytest.mark.parametrize("width", [0.3, 1.0, 2.9, 3.0, 6.0])
def test_largest_chip_agrees_with_the_mechanics(width: float) -> None:
    entry = cut(radial_width_mm=width)
    fz = entry.feed_per_tooth_mm
    assert fz is not None
    assert entry.largest_chip_mm == pytest.approx(max_chip_mm(fz, width, 6.0), rel=1e-12)


def test_time_is_kept_as_utc() -> None:
    local = datetime(2025, 7, 1, 12, 0, tzinfo=timezone(timedelta(hours=2)))
    assert cut(when=local).when == datetime(2025, 7, 1, 10, 0, tzinfo=UTC)
    assert cut(when=local).when.tzinfo == UTC


@pytest.mark.parametrize(
    "fields",
    [
        {"diameter_mm": -6.0},
        {"diameter_mm": 0.0},
        {"diameter_mm": float("nan")},
        {"feed_mm_min": float("inf")},
        {"flutes": 0},
        {"flutes": 1.5},
        {"radial_width_mm": 6.5},
        {"outcome": "fine"},
        {"symptoms": ["humming"]},
        {"shares": {"cutter strength": 0.5}},
        {"shares": {"deflection": 0.0}},
        {"machine": "  "},
        {"notes": "a\x00b"},
        {"notes": "\ud800"},
        {"uid": "x"},
        {"when": datetime(1066, 10, 14, tzinfo=UTC)},
        {"colour": "red"},
    ],
)
def test_impossible_values_are_refused(fields: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        cut(**fields)


def test_every_problem_is_named_with_its_field() -> None:
    with pytest.raises(ManyErrors) as caught:
        entry_from({**cut().model_dump(), "flutes": 0, "outcome": "fine"}, "cuts.csv", 7)
    text = str(caught.value)
    assert "cuts.csv:7: flutes" in text
    assert "outcome" in text and "'good', 'acceptable' or 'failed'" in text


def test_missing_field_is_named() -> None:
    with pytest.raises(InputError, match="machine: found nothing"):
        entry_from({"when": "2025-01-01", "cutter": "a", "material": "b", "outcome": "good"})


def test_symptoms_are_kept_once_each_in_order() -> None:
    assert cut(symptoms=["poor-wall", "chatter", "poor-wall"]).symptoms == ("poor-wall", "chatter")


def test_hard_limits_are_not_among_the_learned_ones() -> None:
    assert not {"cutter_strength", "cutter-strength", "speed", "travel"} & set(LIMIT_KINDS)
    assert len(set(SYMPTOMS)) == len(SYMPTOMS)
