"""The fields of an entry from options, files and tables, for the commands of ``millcalc log``."""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from millcalc.cli.say import say
from millcalc.errors import LogError, UsageError

if TYPE_CHECKING:
    from millcalc.cutlog.store import Log
    from millcalc.units_show import System


FIELDS_AT = "`millcalc log show` or the head of an export"


def split_fields(texts: Sequence[str]) -> dict[str, str]:
    """Split ``FIELD=VALUE`` texts.

    texts: As typed after ``--set``.
    Returns: Value texts by field.
    Raises LogError: For a text without ``=``, or a field the log does not have.
    """
    from millcalc.cutlog.export import CSV_COLUMNS

    found = {}
    for text in texts:
        field, equals, value = text.partition("=")
        if not equals:
            raise LogError(repr(text), "FIELD=VALUE", field="--set")
        if field.strip() not in CSV_COLUMNS:
            close = difflib.get_close_matches(field.strip(), CSV_COLUMNS, 4, 0.4)
            near = f"{', '.join(close)} or another field" if close else "a field"
            raise LogError(f"field {field.strip()!r}", f"{near} of {FIELDS_AT}", field="--set")
        found[field.strip()] = value.strip()
    return found


def parse_fields(texts: Sequence[str], *, clear: bool = False) -> dict[str, Any]:
    """Read ``FIELD=VALUE`` texts into values of an entry.

    texts: As typed after ``--set``.
    clear: Whether an empty value makes the field unknown; else it is an error.
    Returns: Values by field.
    Raises LogError: For a value that cannot be read.
    """
    found: dict[str, Any] = {}
    shares: dict[str, float] = {}
    for field, text in split_fields(texts).items():
        value = _cleared(field) if clear and not text else _read(field, text)
        if field.startswith("share_"):
            if value is not None:
                shares[field.removeprefix("share_")] = value
        elif field == "feed_per_tooth_mm":
            raise LogError(field, "feed_mm_min, from which the chip load is computed", field="--set")
        else:
            found[field] = value
    if shares:
        found["shares"] = shares
    return found


def _read(field: str, text: str, units: System = "mm") -> Any:
    from millcalc.cutlog.inch_columns import inch_column
    from millcalc.cutlog.values import value_of

    inch = inch_column(field) if units == "in" else None
    try:
        return value_of(field, text, inch[2] if inch is not None else "")
    except (ValueError, OverflowError) as error:
        raise LogError(repr(text), str(error), field=field) from None


def _cleared(field: str) -> Any:
    from millcalc.cutlog.models import Entry

    if field.startswith("share_") or field == "feed_per_tooth_mm":
        return None
    info = Entry.model_fields[field]
    if info.is_required():
        raise LogError("an empty value", "a value; this must be known", field=field)
    return info.get_default(call_default_factory=True)


def chosen_machine(log: Log, name: str | None) -> str:
    """The machine named, the shop's, or the only one in the log.

    log: Open log.
    name: As given by the option.
    Returns: Machine name.
    Raises UsageError: When none of them says which.
    """
    from millcalc.cutlog.guard import guarded
    from millcalc.tables import load_shop

    if name:
        return name
    shop = load_shop()
    if shop is not None:
        return shop.machine
    with guarded(log.path):
        rows = log.connection.execute("SELECT DISTINCT machine FROM cuts LIMIT 20").fetchall()
    found = [name for (name,) in rows if isinstance(name, str) and name]
    if len(found) == 1:
        return found[0]
    which = f"the log has {', '.join(sorted(found))}" if found else "the log has none"
    raise UsageError(f"which machine? {which}; give --machine NAME, or write shop.yaml with `machine: NAME`")


def collect(
    log: Log,
    typed: Mapping[str, str | None],
    fields: Sequence[str],
    from_settings: Path | None,
    from_check: Path | None,
    from_program: Path | None,
    tool: int | None,
    units: System = "mm",
) -> dict[str, Any]:
    """All that is known of a cut: what was typed goes before the program, that before a check and an advice.

    log: Open log, for the cutter's age.
    typed: Option texts by field.
    fields: ``FIELD=VALUE`` texts.
    from_settings, from_check, from_program: Files to fill from.
    tool: Tool number, where a file has several [-].
    units: ``mm`` or ``in``: of bare numbers in option texts; a field of ``FIELD=VALUE`` names its own.
    Returns: Values by field.
    """
    from millcalc.cutlog import fill
    from millcalc.cutlog.wear import age_min
    from millcalc.tables import load_shop

    known: dict[str, Any] = {}
    if from_settings is not None:
        known |= fill.from_settings(fill.load_report(from_settings, fill.SETTINGS_SCHEMA))
    if from_check is not None:
        known = _over(
            known, fill.from_check(fill.load_report(from_check, fill.CHECK_SCHEMA), tool), from_check.name
        )
    if from_program is not None:
        run = fill.from_program(from_program) | program_settings(from_program, tool)
        known = _over(known, run, from_program.name)
    given = {field: _read(field, text, units) for field, text in typed.items() if text is not None}
    given |= parse_fields(fields)
    given |= {name: value for name, value in fill.from_tables(given).items() if name in given}
    known = _over(
        known, {name: value for name, value in given.items() if name != "shares"}, "the command line"
    )
    shares = {**known.get("shares", {}), **given.get("shares", {})}
    known |= {"shares": shares} if shares else {}
    if "machine" not in known:
        shop = load_shop()
        if shop is not None:
            known["machine"] = shop.machine
    known |= fill.from_tables(known)
    if "bit_age_min" not in known and "cutter" in known:
        age = age_min(log, known["cutter"], known.get("bit", ""))
        known |= {} if age is None else {"bit_age_min": age}
    return known


def _over(known: dict[str, Any], newer: dict[str, Any], origin: str) -> dict[str, Any]:
    """What is known with what was really cut put over it; predictions for other settings are dropped and told."""
    from millcalc.cutlog import fill

    all_, other = fill.put_over(known, newer)
    if other:
        say(
            f"{', '.join(other)}: {origin} says otherwise than the prediction, which is made anew for what was cut",
            err=True,
        )
    return all_


def program_settings(path: Path, tool: int | None) -> dict[str, Any]:
    """Speed, feed and time in the cut that a program states for one tool.

    path: The program.
    tool: Tool number; the one that moves longest when None [-].
    Returns: ``speed_rpm``, ``feed_mm_min``, ``cut_minutes`` and ``cut_metres``, those that are stated.

    Note: Feed and speed are those in force over the longest path at feed. The time is path over commanded
      feed: moves through air at feed are in it, and slowing at corners is not.
    """
    import numpy as np

    from millcalc.gcode import read_program_file

    motions = read_program_file(path).motions
    use = motions.is_feed & np.isfinite(motions.length_mm) & (motions.length_mm > 0)
    lengths = np.where(use, motions.length_mm, 0.0)
    if tool is None and use.any():
        tools, where = np.unique(motions.tool, return_inverse=True)
        tool = int(tools[np.argmax(np.bincount(where.ravel(), weights=lengths))])
    use &= motions.tool == tool
    found: dict[str, Any] = {}
    for field, column in (("speed_rpm", motions.spindle_rpm), ("feed_mm_min", motions.feed_mm_min)):
        stated = use & np.isfinite(column) & (column > 0)
        if stated.any():
            values, where = np.unique(column[stated], return_inverse=True)
            found[field] = float(values[np.argmax(np.bincount(where.ravel(), weights=lengths[stated]))])
    if use.any():
        found["cut_metres"] = float(lengths[use].sum() / 1000.0)
    per_minute = use & (motions.feed_mode == 94) & (motions.feed_mm_min > 0)
    if per_minute.any() and not (use & ~per_minute).any():
        found["cut_minutes"] = float((lengths[per_minute] / motions.feed_mm_min[per_minute]).sum())
    return found
