"""The JSON Schema of a job file, for editors that show fields and errors while a person types."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, Final

from millcalc.files import new_file
from millcalc.job.fields import NOTES, QUANTITY_SUFFIXES, UNKNOWN_WORDS, written_name
from millcalc.job.models import Job

_GROUPS: Final = {
    "Bed": "bed", "Clamp": "clamps", "Controller": "controller", "Hold": "hold", "JobCutter": "cutters", "Nose": "nose",
    "Position": "position", "Quieted": "quiet", "Screw": "screws", "SpindleSetting": "spindle", "Stock": "stock",
    "Tolerance": "tolerance", "Zero": "zero",
}  # fmt: skip
_TEXT: Final[dict[str, Any]] = {"type": ["string", "number"]}
_YES_NO: Final[dict[str, Any]] = {"enum": [True, False, "yes", "no"]}


def job_schema() -> dict[str, Any]:
    """Give the JSON Schema of a job file as a person writes it.

    Returns: Schema (draft 2020-12): lengths as numbers or texts with a unit, with or without ``_mm`` in the
      name; ``unknown`` where a field may be unknown.

    Note: It accepts a field in its usual spelling; :func:`millcalc.job.load_job` also takes unusual ones,
      such as a whole number in quotes. It cannot see all that loading refuses: units inside texts, and
      values that contradict each other.
    """
    schema = Job.model_json_schema()
    _describe(schema, "")
    for name, group in schema["$defs"].items():
        _describe(group, _GROUPS[name] + ".")
    properties = schema["properties"]
    properties["cutters"] = {
        "description": NOTES["cutters"],
        "type": ["object", "null"],
        "patternProperties": {
            "^[Tt]?[0-9]{1,6}$": {"anyOf": [{"$ref": "#/$defs/JobCutter"}, {"type": "string"}]}
        },
        "additionalProperties": False,
    }
    for name in ("screws", "clamps", "hold"):
        properties[name]["anyOf"].append({"const": "none"})
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    schema["title"] = "millcalc job file"
    schema["description"] = (
        "What is known about a set-up; every field left out turns its checks into 'not checked'."
    )
    return schema


def _describe(group: dict[str, Any], prefix: str) -> None:
    """Give the fields of a group their notes, their written names and the values people may write."""
    group.pop("description", None)
    if prefix:
        group["description"] = NOTES[prefix.rstrip(".")]
    required = set(group.get("required", ()))
    result: dict[str, Any] = {}
    for name, field in group["properties"].items():
        quantity = name.endswith(QUANTITY_SUFFIXES) or name == "rpm"
        plain = {key: value for key, value in field.items() if key not in ("title", "default")}
        if quantity:
            plain = {"type": ["number", "string", "null"]}
        elif plain.get("type") == "boolean":
            plain = _YES_NO
        elif "$ref" in plain:
            plain = {"anyOf": [plain, {"type": "null"}]}
        if name not in required and not quantity:
            plain = _or_unknown(plain, field)
        plain = _TEXT if plain == {"type": "string"} else plain
        plain = dict(plain)
        plain["description"] = NOTES[prefix + name]
        result[name] = plain
        if written_name(name) != name:
            result[written_name(name)] = dict(plain)
    group["properties"] = result
    short = sorted(name for name in required if written_name(name) != name)
    if short:
        group["required"] = sorted(required - set(short))
        group["allOf"] = [{"anyOf": [{"required": [n]}, {"required": [written_name(n)]}]} for n in short]
        if not group["required"]:
            del group["required"]


def _or_unknown(plain: dict[str, Any], field: dict[str, Any]) -> dict[str, Any]:
    """A field that may be left open: null and, where the model's default is None, the word unknown."""
    options = list(plain["anyOf"]) if "anyOf" in plain else [plain]
    options = [_YES_NO if option == {"type": "boolean"} else option for option in options]
    options = [_TEXT if option == {"type": "string"} else option for option in options]
    if {"type": "null"} not in options:
        options.append({"type": "null"})
    if "default" in field and field["default"] is None and _TEXT not in options:
        options.append({"enum": list(UNKNOWN_WORDS)})
    return {"anyOf": options}


def schema_text() -> str:
    """Give the schema as the text that is shipped.

    Returns: JSON, indented by two, with a line end.
    """
    return json.dumps(job_schema(), indent=2, ensure_ascii=False) + "\n"


def write_schema(path: Path) -> None:
    """Write the schema to a file, as ``materials/job.schema.json`` is made.

    path: File to write; replaced as a whole.
    """
    with new_file(path, replace=True) as part:
        part.write_text(schema_text(), encoding="utf-8", newline="\n")
