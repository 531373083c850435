"""Fill an entry from what is known already: an advice, a check's report, a program file, the tables."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from millcalc.cutlog.models import limit_kind
from millcalc.errors import LogError, TableError
from millcalc.files import refuse_odd

SETTINGS_SCHEMA: Final = "millcalc-settings/"
CHECK_SCHEMA: Final = "millcalc-check"
_OF_A_TOOL: Final = (
    *("cutter", "diameter_mm", "flutes", "shank_mm", "stickout_mm", "operation", "direction"),
    *("axial_depth_mm", "radial_width_mm", "chip_mm", "force_n", "power_w", "deflection_mm"),
)
_MOST_BYTES: Final = 200_000_000  # a report larger than this is not ours [byte]


def load_report(path: Path, schema: str) -> dict[str, Any]:
    """Read a JSON file that ``millcalc settings --json`` or ``millcalc check --json`` wrote.

    path: The file.
    schema: ``SETTINGS_SCHEMA`` or ``CHECK_SCHEMA``: which of them is wanted.
    Returns: Its content.
    Raises LogError: When it cannot be read or is something else.
    """
    accepted = f"what `millcalc {'settings' if schema == SETTINGS_SCHEMA else 'check'} --json` wrote"
    try:
        refuse_odd(path, kind=LogError)
        if path.stat().st_size > _MOST_BYTES:
            raise LogError("a file of more than 200 MB", accepted, file=str(path))
        data = json.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise LogError(error.strerror or str(error), "a file that can be read", file=str(path)) from error
    except (ValueError, RecursionError) as error:
        raise LogError(f"text that is not JSON ({error})", accepted, file=str(path)) from error
    found = str(data.get("schema", data.get("format", ""))) if isinstance(data, dict) else ""
    if not found.startswith(schema):
        raise LogError(f"JSON of something else ({found[:60]!r})", accepted, file=str(path))
    return dict(data)


def shares_of(limits: Any) -> dict[str, float]:
    """Predicted shares by kind of limit from the limits of an advice or a check.

    limits: Each with ``key`` and ``share``, or ``bare_share`` where learned margins were in force.
    Returns: The largest share of each kind that can be learned [-].
    """
    found: dict[str, float] = {}
    for limit in limits if isinstance(limits, list) else []:
        if not isinstance(limit, Mapping):
            continue
        kind = limit_kind(str(limit.get("key")))
        share = limit.get("bare_share", limit.get("share"))
        if kind is not None and isinstance(share, (int, float)) and 0 < share <= 1e6:
            found[kind] = max(found.get(kind, 0.0), float(share))
    return found


def from_settings(data: Mapping[str, Any]) -> dict[str, Any]:
    """Fields of an entry from an advice.

    data: Content of a ``settings --json`` file.
    Returns: Known fields of an entry.
    """
    settings = _mapping(data.get("settings"))
    request = _mapping(data.get("request"))
    nominal = {
        str(item.get("title")): item.get("nominal")
        for item in _typed(data, "ranges", list) or ()
        if isinstance(item, Mapping)
    }
    fields = {
        "machine": data.get("machine"),
        "material": data.get("material"),
        "cutter": data.get("cutter"),
        "stickout_mm": data.get("stickout_mm"),
        "drop_mm": data.get("drop_mm"),
        "operation": request.get("cut"),
        "speed_rpm": settings.get("speed_rpm"),
        "feed_mm_min": settings.get("feed_mm_min"),
        "axial_depth_mm": settings.get("axial_depth_mm"),
        "radial_width_mm": settings.get("radial_width_mm"),
        "shares": shares_of(data.get("limits")),
        **_predicted(nominal),
    }
    return _known(fields)


def from_check(data: Mapping[str, Any], tool: int | None = None) -> dict[str, Any]:
    """Fields of an entry from a check's report, for one of its tools.

    data: Content of a ``check --json`` file.
    tool: Tool number; may be left out where the report has one tool [-].
    Returns: Known fields of an entry.
    Raises LogError: When the report has several tools and none was named, or not the one named.
    """
    program, setup, times = (_mapping(data.get(name)) for name in ("program", "setup", "times"))
    tools = [one for one in _typed(program, "tools", list) or () if isinstance(one, Mapping)]
    numbers = [one.get("number") for one in tools]
    if tool is not None and tool not in numbers:
        raise LogError(f"tool {tool}", "one of: " + ", ".join(map(str, numbers)), field="--tool")
    if tool is None and len(tools) > 1:
        raise LogError(
            f"a report of {len(tools)} tools",
            "one of: " + ", ".join(map(str, numbers)),
            "log each tool with --tool NUMBER",
            field="--tool",
        )
    one = next((one for one in tools if tool is None or one.get("number") == tool), {})
    stock = _typed(setup, "stock_mm", list) or [None]
    length = _typed(one, "cut_length_mm", _NUMBER)
    seconds = _typed(times, "cutting_quick_s", _NUMBER)
    fields = {
        "machine": setup.get("machine_name") or setup.get("machine"),
        "material": setup.get("material_name") or setup.get("material"),
        "stock_thickness_mm": stock[-1],
        "program": program.get("name"),
        "program_sha256": program.get("sha256"),
        "speed_rpm": _only(one.get("speeds_rpm")),
        "feed_mm_min": _only(one.get("feeds_mm_min")),
        "cut_metres": None if length is None else length / 1000.0,
        "cut_minutes": None if seconds is None or len(tools) != 1 else seconds / 60.0,
        **{name: one.get(name) for name in _OF_A_TOOL},
        "cutter": one.get("cutter_name") or one.get("cutter"),
        "shares": shares_of(one.get("limits")),
    }
    return _known(fields)


def _only(values: Any) -> Any:
    """The value of a list of one; several speeds or feeds are not one setting."""
    return values[0] if isinstance(values, (list, tuple)) and len(values) == 1 else None


def _predicted(nominal: Mapping[str, Any]) -> dict[str, Any]:
    """Force, power and deflection among the ranges of an advice, by the words in their titles."""
    found: dict[str, Any] = {}
    for word, field in (
        ("force", "force_n"),
        ("power", "power_w"),
        ("deflection", "deflection_mm"),
    ):
        for title, value in nominal.items():
            if word in title.lower() and field not in found:
                found[field] = value
    return found


def from_program(path: Path) -> dict[str, Any]:
    """Name and fingerprint of a program file.

    path: The program.
    Returns: Fields ``program`` and ``program_sha256``.
    Raises LogError: When it cannot be read.
    """
    refuse_odd(path, kind=LogError)
    try:
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise LogError(error.strerror or str(error), "a program that can be read", file=str(path)) from error
    return {"program": path.name[:200], "program_sha256": digest}


def from_tables(fields: Mapping[str, Any]) -> dict[str, Any]:
    """What the tables say of the named machine, cutter and material.

    fields: Known fields of an entry.
    Returns: Fields that are still open, and the tables' own names in place of aliases; a name that is in no
      table stays as it is, since the log takes free names.
    """
    from millcalc.tables import load_cutter, load_machine, load_material

    names: dict[str, Any] = {}
    added: dict[str, Any] = {}
    with suppress(KeyError, TableError):
        cutter = load_cutter(str(fields["cutter"]))
        names["cutter"] = cutter.name
        added |= {"diameter_mm": cutter.diameter_mm, "flutes": cutter.flutes, "shank_mm": cutter.shank_mm}
    with suppress(KeyError, TableError):
        material = load_material(str(fields["material"]))
        names["material"] = material.name
        added |= {"kc11_n_mm2": material.kc11_n_mm2.value, "mc": material.mc.value}
    with suppress(KeyError, TableError):
        names["machine"] = load_machine(str(fields["machine"])).name
    return names | {name: value for name, value in added.items() if fields.get(name) is None}


PREDICTED: Final = ("shares", "force_n", "power_w", "deflection_mm", "chip_mm")
_PREDICTED_FROM: Final = (
    *("machine", "cutter", "material", "operation", "speed_rpm", "feed_mm_min", "axial_depth_mm"),
    *("radial_width_mm", "stickout_mm", "drop_mm", "diameter_mm", "flutes"),
)


def outdated(filled: Mapping[str, Any], given: Mapping[str, Any]) -> list[str]:
    """Fields that were given otherwise than the file says from which predictions come.

    filled: Fields from a report.
    given: Fields the person gave.
    Returns: Not empty when the predictions of the report do not hold for the cut that was made.
    """
    return [
        name
        for name in _PREDICTED_FROM
        if name in filled and name in given and not _same(filled[name], given[name])
    ]


def put_over(known: Mapping[str, Any], newer: Mapping[str, Any]) -> tuple[dict[str, Any], list[str]]:
    """What is known with what was really cut put over it; predictions for other settings are dropped.

    known: Fields from before.
    newer: Fields that go before them.
    Returns: All fields, and those that were told otherwise where predictions were dropped for them.
    """
    other = outdated(known, newer)
    if not other or not any(name in known for name in PREDICTED):
        return {**known, **newer}, []
    return {**{name: value for name, value in known.items() if name not in PREDICTED}, **newer}, other


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, (int, float)) and isinstance(other, (int, float)):
        return abs(one - other) <= 1e-6 * max(abs(one), abs(other))
    return bool(one == other)


def _typed(data: Mapping[str, Any], name: str, kind: Any) -> Any:
    """A value of a report that has to be of some kind where it is there; None where it is not."""
    value = data.get(name)
    fits = _is_number(value) if kind is _NUMBER else isinstance(value, kind)
    if value is None or fits:
        return value
    raise LogError(f"{value!r:.60}", _WANTED[kind], "let millcalc write the file again", field=name)


_NUMBER: Final = (int, float)
_WANTED: Final = {list: "a list", str: "a text", _NUMBER: "a number"}
_TEXTS: Final = ("machine", "material", "cutter", "operation", "direction", "program", "program_sha256")
_NUMBERS: Final = re.compile(r"(?:_mm|_rpm|_mm_min|_n|_w|_metres|_minutes|flutes)$")


def _is_number(value: Any) -> bool:
    """Whether it is a number, and small enough to reckon with; a true or false is none."""
    return isinstance(value, _NUMBER) and not isinstance(value, bool) and abs(value) < 1e300


def _mapping(value: Any) -> Mapping[str, Any]:
    return value if isinstance(value, Mapping) else {}


def _known(fields: Mapping[str, Any]) -> dict[str, Any]:
    """Those that are there; each of the kind its name says, so that it can be compared with what was typed."""
    for name in fields:
        if name in _TEXTS:
            _typed(fields, name, str)
        elif _NUMBERS.search(name):
            _typed(fields, name, _NUMBER)
    return {name: value for name, value in fields.items() if value is not None and value != {}}
