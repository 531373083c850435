"""Checks one table file, whatever kind it is, and says everything that is wrong with it."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from millcalc.errors import InputError, TableError
from millcalc.tables.describe import describe_row
from millcalc.tables.fields import each_error
from millcalc.tables.locate import is_shipped, search_roots
from millcalc.tables.models import Caution, Machine, Row, Source
from millcalc.tables.names import KINDS, SINGULAR, Kind, files_of, find, slug
from millcalc.tables.rows import row_from
from millcalc.tables.shop import read_shop
from millcalc.tables.sources import load_entries
from millcalc.tables.yaml_lines import load_marked

_TELLING: Final[dict[Kind, set[str]]] = {
    "materials": {"kc11_n_mm2", "mc", "chip_load", "family", "cutting_speed_m_min", "suitability"},
    "cutters": {"diameter_mm", "flutes", "flute_length_mm", "shank_mm", "helix_deg", "edge_radius_um"},
    "machines": {"travel_mm", "spindle", "stiffness_n_um", "drive", "thrust_n", "drop_law", "drop_mm"},
}


@dataclass
class TableCheck:
    """What the check of one table file found.

    path: The file.
    kind: ``materials``, ``cutters``, ``machines``, ``sources``, ``cautions``, ``shop`` or empty when
      unknown.
    name: Name of the row, or empty.
    errors: What keeps it from being used.
    notes: What the person should know although it can be used.
    """

    path: Path
    kind: str = ""
    name: str = ""
    errors: list[InputError] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def ok(self) -> bool:
        """Whether the file can be used [-]."""
        return not self.errors


def check_table_file(path: Path, *, start: Path | None = None) -> TableCheck:
    """Check one table file; never raises for what stands in it.

    path: A material, cutter, machine, sources, cautions or shop file.
    start: Working folder for the other tables; None takes the current one.
    Returns: Errors and notes.
    """
    check = TableCheck(path)
    try:
        data, _ = load_marked(path)
        check.kind = _kind_of(path, data, start)
        if check.kind in KINDS:
            _check_row(check, data, start)
        elif check.kind == "shop":
            shop = read_shop(path, start=start)
            check.notes.append(f"names machine {shop.machine} and {len(shop.cutters)} cutters")
        else:
            model: type[Row] = Source if check.kind == "sources" else Caution
            check.notes.append(f"{len(load_entries(path, model))} entries")
    except InputError as problem:
        check.errors += each_error(problem)
    return check


def _kind_of(path: Path, data: Any, start: Path | None) -> str:
    """The kind of a table, from its file name, its content or its folder, in that order."""
    if path.name in ("sources.yaml", "cautions.yaml", "shop.yaml"):
        return path.stem
    keys = {str(key) for key in data} if isinstance(data, dict) else set()
    hits = {kind: len(keys & telling) for kind, telling in _TELLING.items()}
    best = max(KINDS, key=lambda kind: hits[kind])
    if hits[best] and sum(hits[kind] == hits[best] for kind in KINDS) == 1:
        return best
    if path.resolve().parent.name in KINDS:
        return path.resolve().parent.name
    if {"machine", "cutters"} & keys:
        return "shop"
    if isinstance(data, dict) and "based_on" in data:
        roots = search_roots(start)
        for kind in KINDS:
            try:
                find(kind, str(data["based_on"]), roots)
                return kind
            except TableError:
                continue
    raise TableError(
        "fields that fit no kind of table",
        "a material, cutter, machine, sources, cautions or shop table",
        "put it into a folder named materials, cutters or machines, or see materials/README.md",
        file=str(path),
    )


def _check_row(check: TableCheck, data: Any, start: Path | None) -> None:
    """Check a material, cutter or machine and note what is worth knowing."""
    kind: Kind = next(known for known in KINDS if known == check.kind)
    row = row_from(kind, check.path, start=start)
    check.name = slug(check.path.stem)
    weak = [line for line in describe_row(row) if line.confidence in ("estimate", "from memory")]
    if weak:
        names = ", ".join(dict.fromkeys(line.field for line in weak))
        check.notes.append(f"{len(weak)} values are estimates or from memory: {names}")
    if isinstance(data, dict) and "based_on" in data:
        check.notes.append(f"fields not given are taken from {data['based_on']}")
    if isinstance(row, Machine) and row.typical:
        check.notes.append("marked typical: set `typical: false` once the numbers are this machine's own")
    _note_place(check, kind, start)


def _note_place(check: TableCheck, kind: Kind, start: Path | None) -> None:
    """Note whether the file is found by its name, and what it replaces."""
    files = files_of(kind, search_roots(start))
    used = files.get(check.name)
    if used is None:
        check.notes.append(
            f"not in a searched folder: move it to materials/{kind}/ to use it as {SINGULAR[kind]} {check.name}"
        )
    elif used.resolve() != check.path.resolve():
        check.notes.append(f"not the one in use: {used} comes first under the name {check.name}")
    elif not is_shipped(used):
        later = files_of(kind, tuple(r for r in search_roots(start) if not used.is_relative_to(r)))
        if check.name in later:
            check.notes.append(f"takes the place of {later[check.name]}")
