"""Writing a job and reading it again is the identity; any text at all gives a job or an input error."""

from __future__ import annotations

import contextlib
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.errors import InputError
from millcalc.job import Job, job_text, parse_job
from millcalc.job.fields import UNKNOWN_WORDS

quick = settings(deadline=None, max_examples=60, database=None)
length = st.floats(min_value=1e-6, max_value=3e4, allow_nan=False)
place = st.floats(min_value=1e-6, max_value=1e5) | st.floats(min_value=-1e5, max_value=-1e-6) | st.just(0.0)
text = st.text(max_size=30)
name = st.text(min_size=1, max_size=30).filter(lambda word: word.strip().lower() not in UNKNOWN_WORDS)


def maybe(values: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | values


screw = st.fixed_dictionaries(
    {
        "x_mm": place,
        "y_mm": place,
        "head_diameter_mm": maybe(st.just(9.5)),
        "head_height_mm": maybe(st.just(0.0)),
    },
    optional={
        "size": st.sampled_from(["M4 pan", "wood 4.0"]),
        "placed": st.sampled_from(["measured", "guessed"]),
        "holds": st.booleans(),
        "name": text,
        "depth_in_bed_mm": length,
    },
)
clamp = st.fixed_dictionaries(
    {
        "x_min_mm": st.just(0.0) | st.floats(-99, -1e-6),
        "x_max_mm": st.floats(1, 99),
        "y_min_mm": st.just(-1.0),
        "y_max_mm": st.just(2.5),
    },
    optional={"height_mm": maybe(length), "name": text},
)
hold = st.fixed_dictionaries(
    {"kind": st.just("vacuum")},
    optional={
        "area_mm2": length,
        "pressure_n_mm2": st.floats(1e-6, 0.1),
        "friction": st.just(0.3),
        "source": name,
    },
)
cutter = st.fixed_dictionaries(
    {"cutter": name},
    optional={"stickout_mm": length, "flutes": st.integers(1, 12), "centre_cutting": st.booleans()},
)
jobs = st.builds(
    Job.model_validate,
    st.fixed_dictionaries(
        {"units": st.sampled_from(["mm", "in"]), "title": text, "notes": text},
        optional={
            "machine": maybe(name),
            "material": maybe(name),
            "grade_known": maybe(st.booleans()),
            "program": maybe(name),
            "stock": st.fixed_dictionaries({"size_x_mm": maybe(length), "thickness_mm": maybe(length)}),
            "zero": st.fixed_dictionaries(
                {
                    "xy": maybe(st.sampled_from(["front-left", "centre"])),
                    "offset_x_mm": place,
                    "offset_z_mm": place,
                }
            ),
            "bed": st.fixed_dictionaries({"allowance_mm": length, "wood_density_kg_m3": maybe(length)}),
            "screws": maybe(st.lists(screw, max_size=3)),
            "clamps": maybe(st.lists(clamp, max_size=2)),
            "hold": maybe(st.lists(hold, max_size=2)),
            "cutters": st.dictionaries(st.integers(0, 999_999), cutter, max_size=3),
            "spindle": st.fixed_dictionaries({"dial_mark": maybe(name), "rpm": maybe(length)}),
            "cooling": maybe(st.sampled_from(["none", "air", "brush"])),
            "proven": st.booleans(),
            "quiet": st.lists(
                st.fixed_dictionaries({"code": text, "reason": st.text(min_size=3, max_size=9)}), max_size=2
            ),
        },
    ),
)


@quick
@given(jobs)
def test_write_then_read_is_the_identity(job: Job) -> None:
    assert parse_job(job_text(job)) == job


@quick
@given(st.text(max_size=200) | st.text(alphabet="abstock:{}[]-&*!'\"\n 0123.,xz", max_size=120))
def test_any_text_gives_a_job_or_an_input_error(written: str) -> None:
    with contextlib.suppress(InputError):
        parse_job(written)
