"""``shop.yaml``: the person's own machine and the cutters in the drawer."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from millcalc.errors import InputError, TableError
from millcalc.tables.bounds import refuse_odd_sizes
from millcalc.tables.fields import Raw, convert_units, each_error, raise_all
from millcalc.tables.locate import config_root, search_roots
from millcalc.tables.models import Cutter, DrawerCutter, Shop
from millcalc.tables.names import Kind, find
from millcalc.tables.rows import load_cutter
from millcalc.tables.yaml_lines import load_marked, shown, validate


def shop_file(start: Path | None = None) -> Path | None:
    """Find the person's shop.yaml.

    start: Working folder; None takes the current one.
    Returns: In the working folder, else in the person's settings; None when there is none.
    """
    here = Path.cwd() if start is None else start
    for folder in (here, config_root()):
        if (folder / "shop.yaml").exists():
            return folder / "shop.yaml"
    return None


def load_shop(start: Path | None = None) -> Shop | None:
    """Load the person's shop, its names looked up in the tables.

    start: Working folder; None takes the current one.
    Returns: None when there is no shop.yaml.
    Raises InputError: A shop.yaml that cannot be used, or names no table has.
    """
    path = shop_file(start)
    return None if path is None else read_shop(path, start=start)


def read_shop(path: Path, *, start: Path | None = None) -> Shop:
    """Load a shop file by its path.

    start: Working folder for the tables; None takes the current one.
    Returns: The frozen model.
    Raises InputError: Everything found wrong in the file, together.
    """
    data, marks = load_marked(path)
    if not isinstance(data, dict):
        found = "only comments" if data is None else shown(data)
        raise TableError(found, "`machine: NAME` and a list of cutters", file=str(path))
    raw = Raw(path, data, marks)
    errors = convert_units(raw)
    errors += refuse_odd_sizes(raw)
    broken = {error.field for error in errors}
    shop: Shop | None = None
    try:
        shop = validate(Shop, raw.data, raw.marks, path)
    except InputError as problem:
        errors += [
            error
            for error in each_error(problem)
            if error.field not in broken and not _other_branch(error, raw.data)
        ]
    if shop is not None:
        errors += _unknown_names(shop, raw, start)
    raise_all(errors)
    assert shop is not None
    return shop


def drawer(shop: Shop, *, start: Path | None = None) -> tuple[Cutter, ...]:
    """Give the cutters in the drawer, with measured sizes put in.

    shop: The person's shop.
    start: Working folder for the tables; None takes the current one.
    Returns: In the order of the file.
    Raises InputError: A cutter's table that cannot be used.
    """
    return tuple(_as_owned(entry, start) for entry in shop.cutters)


def _as_owned(entry: str | DrawerCutter, start: Path | None) -> Cutter:
    """The table row of a drawer entry with its measured sizes."""
    if isinstance(entry, str):
        return load_cutter(entry, start=start)
    row = load_cutter(entry.cutter, start=start)
    changed: dict[str, Any] = {}
    if entry.diameter_mm is not None:
        changed["diameter_mm"] = entry.diameter_mm
        if row.kind == "ball":
            changed["corner_radius_mm"] = entry.diameter_mm / 2
    if entry.flute_length_mm is not None:
        changed["flute_length_mm"] = entry.flute_length_mm
    if entry.note:
        changed["notes"] = (*row.notes, entry.note)
    return row.model_copy(update=changed)


def _other_branch(error: InputError, data: dict[str | int, Any]) -> bool:
    """Whether an error only says that a group is not a bare name; the group's own errors say more."""
    cutters = data.get("cutters")
    if not isinstance(cutters, list):
        return False
    field = (error.field or "").removesuffix(".constrained-str").removesuffix(".str")
    groups = {f"cutters[{i + 1}]" for i, entry in enumerate(cutters) if isinstance(entry, dict)}
    return error.accepted == "text" and field in groups


def _unknown_names(shop: Shop, raw: Raw, start: Path | None) -> list[InputError]:
    """Names in the shop that no table has, each at its line."""
    roots = search_roots(start)
    wanted: list[tuple[Kind, str, tuple[str | int, ...]]] = [("machines", shop.machine, ("machine",))]
    for index, entry in enumerate(shop.cutters):
        name = entry if isinstance(entry, str) else entry.cutter
        wanted.append(("cutters", name, ("cutters", index)))
    wanted += [("materials", name, ("materials", index)) for index, name in enumerate(shop.materials)]
    errors: list[InputError] = []
    for kind, name, key in wanted:
        try:
            find(kind, name, roots)
        except TableError as problem:
            errors.append(raw.error(key, problem.found, problem.accepted, problem.action))
    return errors
