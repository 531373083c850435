"""Writes measured values into the person's machine file and leaves the rest of it as it is."""

from __future__ import annotations

import re
import shutil
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from millcalc.errors import InputError
from millcalc.files import new_file, refuse_odd
from millcalc.tables.locate import is_shipped
from millcalc.tables.models import Machine
from millcalc.tables.names import slug
from millcalc.tables.rows import file_of, row_from
from millcalc.tables.yaml_lines import parse_marked, read_text

_KEY = re.compile(r"^([A-Za-z_]\w*)[ \t]*:")
_COMMENT = re.compile(r"[ \t]+#[^\"'{}\[\]]*$")
OWN = {"source": "own-measurement", "confidence": "measured"}


@dataclass(frozen=True, slots=True)
class Change:
    """What a measurement says about a machine.

    fields: New values of top-level fields.
    spindle: New values of fields of the spindle.
    measured: Dotted names of the fields that were measured.
    note: What was done when and by whom; goes into the notes.
    """

    fields: Mapping[str, Any]
    spindle: Mapping[str, Any]
    measured: tuple[str, ...]
    note: str


@dataclass(frozen=True, slots=True)
class Written:
    """The file written, the earlier one kept beside it, and its text."""

    path: Path
    backup: Path | None
    text: str


def target_file(machine: Machine, into: str | None = None, *, start: Path | None = None) -> tuple[Path, str]:
    """Which file a measurement of a machine goes into.

    machine: The machine that was measured.
    into: Name of the own machine; None takes the machine's own file, or ``my-machine`` for a shipped class.
    start: Working folder; None takes the current one.
    Returns: The file (it need not exist) and the name a new one is based on.
    Raises InputError: If the name is no file name.
    """
    own = file_of("machines", machine.name, start=start)
    if into is None and not is_shipped(own):
        return own, machine.name
    name = slug(into or "my-machine")
    if not re.fullmatch(r"[a-z0-9][a-z0-9.-]*", name):
        raise InputError(repr(into), "letters, digits, points and hyphens", field="--into")
    try:
        existing = file_of("machines", name, start=start)
        if not is_shipped(existing):
            return existing, machine.name
    except InputError:
        pass
    here = Path.cwd() if start is None else start
    return here / "materials" / "machines" / f"{name}.yaml", machine.name


def write_change(
    path: Path, based_on: str, machine: Machine, change: Change, *, start: Path | None = None
) -> Written:
    """Write measured values into a machine file, new or existing.

    path: The person's machine file.
    based_on: Row a new file is based on.
    machine: The machine as it was before, for lists that are replaced whole.
    change: What was measured.
    start: Working folder; None takes the current one.
    Returns: File, backup and text.
    Raises InputError: If the folder cannot be written to, or the file with the new values cannot be used;
      then nothing is changed.

    Note: Only the lines of the changed fields are replaced; comments on other lines stay. The new text is
      read back as a machine before it takes the file's place; the earlier file stays as
      ``NAME.yaml.bak``, the next one as ``.bak2`` and so on: none replaces another.
    """
    refuse_odd(path)
    if path.exists() and is_shipped(path):
        raise InputError("a shipped table", "a machine file of your own", "give --into NAME", file=str(path))
    old = read_text(path) if path.exists() else _new_text(path, based_on)
    data, _ = parse_marked(old, str(path))
    if not isinstance(data, dict):
        raise InputError("no table", "a table of 'field: value' lines", file=str(path))
    fields = _merged(data, machine, change)
    text = with_fields(old, fields)
    try:
        again, _ = parse_marked(text, str(path))
    except InputError:
        again = None
    wanted = {**data, **fields}
    if not isinstance(again, dict) or set(again) != set(wanted):
        raise InputError(
            "a layout that cannot be changed line by line",
            "one field a line, `field: value`",
            f"put these lines in by hand: {_flow(fields)}",
            file=str(path),
        )
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        folder = Path(tempfile.mkdtemp(dir=path.parent, prefix=".new-"))
    except OSError as error:
        raise InputError(str(error.strerror), "a folder that can be written to", file=str(path)) from None
    try:
        candidate = folder / path.name
        candidate.write_text(text, encoding="utf-8", newline="")
        try:
            row_from("machines", candidate, start=start)
        except InputError as error:
            raise InputError(
                f"values that make no usable machine ({error})", "a machine file", file=str(path)
            ) from None
        backup = _put(text, path)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    return Written(path, backup, text)


def _put(text: str, path: Path) -> Path | None:
    """Write the text in the file's place; gives the copy of the earlier file, None where there was none."""
    backup = _kept(path) if path.exists() else None
    with new_file(path, replace=True) as part:
        part.write_text(text, encoding="utf-8", newline="")
    return backup


def _kept(path: Path) -> Path:
    """A copy of the file beside it under the next free name; no earlier copy is ever replaced."""
    number = 1
    while True:
        backup = path.with_name(f"{path.name}.bak{'' if number == 1 else number}")
        number += 1
        if backup.exists() or backup.is_symlink():
            continue
        with new_file(backup) as part:
            shutil.copyfile(path, part)
        return backup


def _new_text(path: Path, based_on: str) -> str:
    title = path.stem.replace("-", " ")
    return (
        "# Your own machine: fields that are not here are taken from the one it is based on.\n"
        f"based_on: {based_on}\ntitle: {title[0].upper()}{title[1:]}\n"
    )


def _merged(data: Mapping[str | int, Any], machine: Machine, change: Change) -> dict[str, Any]:
    """The top-level fields to write, lists completed with what is there."""
    fields: dict[str, Any] = dict(change.fields)
    if change.spindle:
        own = data.get("spindle")
        fields["spindle"] = {**(own if isinstance(own, dict) else {}), **change.spindle}
    known = data.get("measured")
    before = [str(one) for one in known] if isinstance(known, list) else list(machine.measured)
    fields["measured"] = list(dict.fromkeys([*before, *change.measured]))
    notes = data.get("notes")
    kept = [str(note) for note in notes] if isinstance(notes, list) else []
    fields["notes"] = [*kept, change.note]
    fields.update(OWN)
    return fields


def with_fields(text: str, fields: Mapping[str, Any]) -> str:
    """A YAML text with the lines of some top-level fields replaced, or put at the end.

    text: Mapping in YAML, one top-level field a line or block.
    fields: New values.
    Returns: The new text, with the line ends of the old one.

    >>> with_fields("a: 1  # why\\n# about b\\nb: 2\\n", {"a": 3, "c": [1]})
    'a: 3  # why\\n# about b\\nb: 2\\nc: [1]\\n'
    """
    end = "\r\n" if "\r\n" in text else "\n"
    lines = text.replace("\r\n", "\n").split("\n")
    if lines and lines[-1] == "":
        lines.pop()
    starts = [
        (index, match[1]) for index, line in enumerate(lines) if (match := _KEY.match(line)) is not None
    ]
    waiting = dict(fields)
    result = lines[: starts[0][0]] if starts else list(lines)
    for place, (begin, key) in enumerate(starts):
        stop = starts[place + 1][0] if place + 1 < len(starts) else len(lines)
        block = lines[begin:stop]
        trailing = 0
        while trailing < len(block) - 1 and (
            not block[-1 - trailing].strip() or block[-1 - trailing].startswith("#")
        ):
            trailing += 1
        after = block[len(block) - trailing :]
        if key in waiting:
            remark = _COMMENT.search(block[0]) if len(block) - trailing == 1 else None
            result += [f"{key}: {_flow(waiting.pop(key))}" + (remark[0] if remark else ""), *after]
        else:
            result += block
    result += [f"{key}: {_flow(value)}" for key, value in waiting.items()]
    return end.join(result) + end


def _flow(value: Any) -> str:
    """A value on one line of YAML."""
    text = yaml.safe_dump(
        _builtin(value), default_flow_style=True, width=100_000, allow_unicode=True, sort_keys=False
    )
    return text.removesuffix("\n").removesuffix("\n...").strip()


def _builtin(value: Any) -> Any:
    """The same value without NumPy scalars."""
    if isinstance(value, Mapping):
        return {key: _builtin(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_builtin(one) for one in value]
    return value.item() if hasattr(value, "item") else value
