"""Write a job as a commented file: every field with its meaning, the unknown ones commented out."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

import yaml
from pydantic import BaseModel

from millcalc import units
from millcalc.errors import JobError
from millcalc.files import new_file
from millcalc.job.fields import NOTES, written_name
from millcalc.job.models import Clamp, Hold, Job, JobCutter, Part, Quieted, Screw

_HEAD: Final = """\
# What is known about this set-up. A line that starts with # is a field still unknown: its checks are then
# reported as "not checked". Lengths carry their unit: 6 mm, 1/4 in. The guide is docs/job-file.md.
"""
_LISTS: Final[dict[str, type[Part]]] = {"screws": Screw, "clamps": Clamp, "hold": Hold, "quiet": Quieted}

_UNITS: Final = {"_kg_m3": "kg/m3", "rpm": "rpm", "_n_mm2": "N/mm2", "_mm2": "mm2", "_n": "N"}


def write_job(job: Job, path: Path | str) -> None:
    """Write a job to a new file.

    job: The job.
    path: File to write; it must not exist yet.
    Raises JobError: If the file exists, or its folder cannot be written to.
    """
    file = Path(path)
    if file.exists() or file.is_symlink():
        raise JobError(
            "a file that exists already", "a new name", "choose another, or remove it", file=str(path)
        )
    try:
        with new_file(file, kind=JobError) as part:
            part.write_text(job_text(job), encoding="utf-8", newline="\n")
    except OSError as problem:
        found = f"a place that cannot be written to ({problem.strerror})"
        raise JobError(found, "a writable folder", "choose another", file=str(path)) from None


def job_text(job: Job) -> str:
    """Give a job as the text of a commented file.

    job: The job.
    Returns: YAML that reads back as the same job.
    """
    lines = [_HEAD]
    for name in Job.model_fields:
        value = getattr(job, name)
        if name in _LISTS:
            lines += ["", *_list(name, value, _LISTS[name], job.units)]
        elif name == "cutters":
            lines += ["", *_cutters(job)]
        elif isinstance(value, BaseModel):
            lines += ["", f"{name}:  # {NOTES[name]}", *_fields(value, f"{name}.", "  ", job.units)]
        else:
            if lines[-1][:1] in (" ", "q"):
                lines.append("")  # a single field after a group stands apart from it
            lines.append(_line(name, value, NOTES[name], "", job.units))
    return "\n".join(lines) + "\n"


def _fields(group: BaseModel, prefix: str, indent: str, system: units.System) -> list[str]:
    """The fields of a group, one line each."""
    return [
        _line(name, getattr(group, name), NOTES[prefix + name], indent, system)
        for name in type(group).model_fields
    ]


def _line(name: str, value: object, note: str, indent: str, system: units.System) -> str:
    """One field with its note; commented out while unknown."""
    short = written_name(name)
    if value is None:
        return f"{indent}# {short}:  # {note}"
    return f"{indent}{short}: {_value(name, value, system)}  # {note}"


def _value(name: str, value: object, system: units.System) -> str:
    """A value as it stands in the file."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        if name.endswith("_mm"):
            return _length(value, system)
        unit = next((unit for end, unit in _UNITS.items() if name.endswith(end)), "")
        return f"{_number(value)} {unit}".strip()
    if isinstance(value, str):
        return _text(value)
    return str(value)


def _length(value_mm: float, system: units.System) -> str:
    """A length in the file's unit where that is exact, else in mm."""
    if system == "in":
        inches = f"{_number(round(value_mm / units.MM_PER_INCH, 6))} in"
        if units.length_mm(inches, negative=True) == value_mm:
            return inches
    return f"{_number(value_mm)} mm"


def _number(value: float) -> str:
    """A number that reads back exactly, without a needless decimal part."""
    return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)


_PLAIN_END: Final = frozenset("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789._-/ ")


def _text(value: str) -> str:
    """A text, quoted unless it is plain words."""
    simple = value != "" and set(value) <= _PLAIN_END and value[0].isalpha() and value == value.strip()
    if simple and value.lower() not in ("true", "false", "null", "unknown"):
        return value
    return str(yaml.safe_dump(value, default_style='"', allow_unicode=True, width=1_000_000)).rstrip("\n")


def _list(name: str, value: tuple[Any, ...] | None, model: type[Part], system: units.System) -> list[str]:
    """A list of groups; an example, commented out, where there is none."""
    guide = [f"#   {written_name(field)}: {NOTES[f'{name}.{field}']}" for field in model.model_fields]
    head = [f"# {name}: {NOTES[name]}. For each one:", *guide]
    if value is None:
        return [*head, f"# {name}:"]
    if not value:
        return [*head, f"{name}: []"]
    lines = [*head, f"{name}:"]
    for item in value:
        start = "  - "
        for field in model.model_fields:
            content = getattr(item, field)
            if content is None or content == model.model_fields[field].default:
                continue
            lines.append(f"{start}{written_name(field)}: {_value(field, content, system)}")
            start = "    "
    return lines


def _cutters(job: Job) -> list[str]:
    """Cutters by tool number; an example, commented out, where there is none."""
    if not job.cutters:
        example = [
            "#   1:",
            *(f"#     {written_name(n)}:  # {NOTES[f'cutters.{n}']}" for n in JobCutter.model_fields),
        ]
        return [f"# cutters:  # {NOTES['cutters']}", *example]
    lines = [f"cutters:  # {NOTES['cutters']}"]
    for number, entry in job.cutters.items():
        lines += [f"  {number}:", *_fields(entry, "cutters.", "    ", job.units)]
    return lines
