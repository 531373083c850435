"""The JSON Schema for editors: current, and of one mind with the loader."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from millcalc.errors import InputError
from millcalc.job import Job, job_schema, job_text, parse_job
from millcalc.job.fields import NOTES
from millcalc.job.schema import schema_text
from millcalc.tables.locate import data_root, demo_root
from millcalc.tables.yaml_lines import parse_marked

VALIDATOR = jsonschema.Draft202012Validator(job_schema())


def as_json(text: str) -> Any:
    data, _ = parse_marked(text, "job.yaml")
    return json.loads(json.dumps(data))


def test_the_shipped_schema_is_current() -> None:
    """Made by ``millcalc.job.schema.write_schema``."""
    assert (data_root() / "job.schema.json").read_text(encoding="utf-8") == schema_text()


def test_it_is_a_valid_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(job_schema())


def test_every_field_has_its_note() -> None:
    """The notes name every field of the models and nothing else."""
    names = set()
    for name, info in Job.model_fields.items():
        names.add(name)
        text = str(info.annotation)
        for part in Job.model_json_schema()["$defs"]:
            if f".{part}" in text:
                names |= {f"{name}.{field}" for field in Job.model_json_schema()["$defs"][part]["properties"]}
    assert names == set(NOTES)


@pytest.mark.parametrize("name", sorted(path.name for path in demo_root().iterdir() if path.is_dir()))
def test_demo_jobs_fit(name: str) -> None:
    path: Path = demo_root() / name / "job.yaml"
    VALIDATOR.validate(as_json(path.read_text(encoding="utf-8")))


@pytest.mark.parametrize(
    "text",
    [
        "title: a",
        "stock: {thickness: 1/4 in, size_x_mm: 6}\nzero:\nscrews: none\nclamps: unknown",
        "screws: [{x: 1, y_mm: 2}]\ncutters: {T1: flat, 2: {cutter: b, stickout: 20}}",
        "material: 6082\nquiet: [{code: A-1, reason: known}]",
        "grade_known: yes\nproven: no\ncutters: {1: {cutter: 6, centre_cutting: true}}",
        job_text(Job()),
    ],
)
def test_what_loads_fits(text: str) -> None:
    parse_job(text)
    VALIDATOR.validate(as_json(text))


@pytest.mark.parametrize(
    "text",
    [
        "stok: {thickness: 3}",
        "units: furlong",
        "zero: {xy: left}",
        "cutters: {x: a}",
        "cutters: {1: {stickout: 4}}",
        "screws: [{x: 1}]",
        "screws: 4",
        "proven: perhaps",
        "stock: {thickness: [6]}",
    ],
)
def test_what_the_schema_refuses_does_not_load(text: str) -> None:
    assert not VALIDATOR.is_valid(as_json(text))
    with pytest.raises(InputError):
        parse_job(text)
