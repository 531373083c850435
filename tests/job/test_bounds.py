"""Numbers no workshop has are refused at their field, at once; exact bounds of our own (pinned)."""

from __future__ import annotations

from pathlib import Path

import pytest

from millcalc.errors import InputError, JobError
from millcalc.job import load_job, parse_job
from millcalc.job.tuning import MOST_ENTRIES

FIELDS = {
    "stock.size_x": "stock: {{size_x: {}}}",
    "stock.thickness": "stock: {{thickness: {}}}",
    "zero.offset_x": "zero: {{xy: centre, offset_x: {}}}",
    "bed.drop": "bed: {{drop: {}}}",
    "screws[1].x": "screws: [{{x: {}, y: 0}}]",
    "clamps[1].x_max": "clamps: [{{x_min: 0, x_max: {}, y_min: 0, y_max: 5}}]",
    "position.z": "position: {{z: {}}}",
}


@pytest.mark.parametrize("field", FIELDS)
@pytest.mark.parametrize(
    ("value", "accepted"),
    [
        ("1.0e+30", "from -100000 to 100000 mm"),
        ("-1.0e+308", "from -100000 to 100000 mm"),
        ("100000.1", "from -100000 to 100000 mm"),
        ("101 m", "from -100000 to 100000 mm"),
        ("5.0e-324", "0, or a size of at least 1e-06 mm"),
    ],
)
def test_a_size_beyond_any_workshop_is_refused_at_its_field(field: str, value: str, accepted: str) -> None:
    with pytest.raises(JobError) as caught:
        parse_job(FIELDS[field].format(value))
    assert caught.value.field == field
    assert caught.value.accepted == accepted
    assert caught.value.line == 1


def test_the_bound_itself_and_zero_are_read() -> None:
    job = parse_job("screws: [{x: 100000, y: -100000}]\nzero: {offset_x: 0}\n")
    assert job.screws is not None
    assert (job.screws[0].x_mm, job.screws[0].y_mm) == (1e5, -1e5)


@pytest.mark.parametrize("text", ["hold: [{kind: vice, force: 1e30 N}]", "spindle: {rpm: 1.0e+30}"])
def test_forces_and_speeds_have_bounds_too(text: str) -> None:
    with pytest.raises(JobError, match=r"1e\+30 (N|rev/min)"):
        parse_job(text)


def test_more_screws_than_the_bound_are_one_error_that_names_the_list() -> None:
    with pytest.raises(JobError, match=f"found 1001 screws.*at most {MOST_ENTRIES}") as caught:
        parse_job("screws:\n" + "- {x: 1, y: 2}\n" * (MOST_ENTRIES + 1))
    assert caught.value.field == "screws"
    many = parse_job("screws:\n" + "- {x: 1, y: 2}\n" * MOST_ENTRIES).screws
    assert many is not None and len(many) == MOST_ENTRIES


def test_two_hundred_thousand_screws_are_refused_before_they_are_read(tmp_path: Path) -> None:
    file = tmp_path / "job.yaml"
    file.write_text("screws:\n" + "- {x: 1, y: 2}\n" * 200_000, encoding="utf-8")
    with pytest.raises(InputError, match="a file of 3000008 bytes; accepted: at most 1000000 bytes"):
        load_job(file)
