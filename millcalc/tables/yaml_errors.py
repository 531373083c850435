"""Problems of a table or job file in words: file, line, field, what was found, what is accepted, what to do.

Takes plain data with its line marks and a pydantic model, gives the model or raises. Imports errors only.
Part of :mod:`millcalc.tables.yaml_lines`; import from there.
"""

from __future__ import annotations

import re
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Final, TypeVar

from pydantic import BaseModel, ValidationError

from millcalc.errors import InputError, ManyErrors, TableError

Key = tuple[str | int, ...]
Marks = dict[Key, int]
Model = TypeVar("Model", bound=BaseModel)

MAX_ERRORS: Final = 20  # errors shown of one file; more do not help


def dotted(key: Key, data: object = None) -> str:
    """A path as people read it.

    key: Path of field names and list positions.
    data: The data the path leads through; tells a list position from a number used as a name.
    Returns: ``screws[2].x_mm``; list positions count from 1, numbers used as names stay: ``cutters.1``.

    >>> dotted(("screws", 1, "x_mm"))
    'screws[2].x_mm'
    >>> dotted(("cutters", 1), {"cutters": {1: "flat"}})
    'cutters.1'
    """
    text, here = "", data
    for part in key:
        named = isinstance(here, dict) or not isinstance(part, int)
        text += (f".{part}" if text else str(part)) if named else f"[{int(part) + 1}]"
        if isinstance(here, dict):
            here = here.get(part)
        elif isinstance(here, list | tuple) and isinstance(part, int) and part < len(here):
            here = here[part]
        else:
            here = None
    return text


def line_of(key: Key, marks: Marks) -> int | None:
    """Line of a value, or of the nearest enclosing one that has a line.

    key: Path of the value.
    marks: Marks of the file.
    Returns: Line, 1-based [-].
    """
    for length in range(len(key), -1, -1):
        if key[:length] in marks:
            return marks[key[:length]]
    return None


def validate(
    model: type[Model], data: object, marks: Marks, path: Path | str, kind: type[InputError] = TableError
) -> Model:
    """Validate data against a model; every problem becomes an error with file, line and field.

    model: What the data should be.
    data: Plain data, as from :func:`load_marked`.
    marks: Its marks.
    path: File name for errors.
    kind: Exception to raise.
    Returns: The validated, frozen model.
    Raises InputError: Of the given kind for one problem, :class:`ManyErrors` for several.
    """
    try:
        return model.model_validate(data)
    except ValidationError as problems:
        errors = [_explain(problem, model, data, marks, str(path), kind) for problem in problems.errors()]
    except RecursionError:
        errors = [kind("values nested too deeply", "the fields of the guide", file=str(path))]
    unique = list({str(error): error for error in errors}.values())[:MAX_ERRORS]
    raise unique[0] if len(unique) == 1 else ManyErrors(unique)


NEEDED: Final = "this field is needed"
_ACCEPTED: Final = {
    "float": "a number",
    "int": "a whole number",
    "finite": "a finite number",
    "string": "text",
    "bool": "true or false",
    "tuple": "a list, each entry on its own line after '- '",
    "list": "a list, each entry on its own line after '- '",
    "dict": "a group of 'field: value' lines",
    "model": "a group of 'field: value' lines",
}


def _explain(
    problem: Any, model: type[BaseModel], data: object, marks: Marks, name: str, kind: type[InputError]
) -> InputError:
    """One pydantic problem in our words."""
    key = _real_path(problem["loc"], data)
    sort, context, value = problem["type"], problem.get("ctx") or {}, problem.get("input")
    found, accepted, action = shown(value), _ACCEPTED.get(sort.split("_")[0], ""), ""
    if sort == "missing":
        found, accepted, action = "nothing", NEEDED, f"add the line '{key[-1]}: ...'"
    elif sort == "extra_forbidden":
        known = _fields_at(model, key[:-1])
        close = get_close_matches(str(key[-1]), known, n=1, cutoff=0.6)
        found = "a field of this name, which is not known"
        accepted = ", ".join(known) or "no further fields here"
        action = f"write {close[0]}, if that is meant" if close else "remove it, or correct its name"
    elif sort == "literal_error":
        accepted = str(context.get("expected", ""))
        close = get_close_matches(str(value), re.findall(r"'([^']+)'", accepted), n=1, cutoff=0.6)
        action = f"write {close[0]}, if that is meant" if close else ""
    elif sort in ("greater_than", "greater_than_equal", "less_than", "less_than_equal"):
        words = {"gt": "above", "ge": "not below", "lt": "below", "le": "not above"}
        accepted = " and ".join(f"a number {words[k]} {context[k]:g}" for k in words if k in context)
    elif sort in ("too_short", "string_too_short"):
        accepted = f"at least {context.get('min_length')}" + (
            " characters" if "string" in sort else " entries"
        )
    elif sort == "value_error":
        accepted = str(context.get("error", problem["msg"]))
    elif sort == "int_from_float":
        accepted = "a whole number"
    return kind(
        found,
        accepted or str(problem["msg"]).lower(),
        action,
        file=name,
        line=line_of(key, marks),
        field=dotted(key, data) or None,
    )


def shown(value: object) -> str:
    """A value as a person recognises it in the file, cut to one short line.

    value: What stands in the file.
    Returns: Its text; lists and groups by their size.
    """
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return f"a group of {len(value)} fields"
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    text = repr(value) if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _real_path(loc: tuple[str | int, ...], data: object) -> Key:
    """The part of a pydantic location that exists in the data; a missing field's own name is kept."""
    key: list[str | int] = []
    here: object = data
    for position, part in enumerate(loc):
        last = position == len(loc) - 1
        if isinstance(here, dict):
            if part in here:
                here = here[part]
            elif not last:
                continue
            key.append(part)
        elif isinstance(here, list | tuple) and isinstance(part, int) and part < len(here):
            here = here[part]
            key.append(part)
    return tuple(key)


def _fields_at(model: type[BaseModel], key: Key) -> list[str]:
    """Field names of the model that sits at a path below `model`; empty when it cannot be told."""
    here: type[BaseModel] | None = model
    for part in key:
        if here is None:
            return []
        if isinstance(part, int) or part not in here.model_fields:
            continue
        here = _model_in(here.model_fields[part].annotation)
    return [] if here is None else list(here.model_fields)


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """The first pydantic model named in a type annotation."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inner in getattr(annotation, "__args__", ()):
        found = _model_in(inner)
        if found is not None:
            return found
    return None
