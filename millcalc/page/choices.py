"""What can be chosen: machines, materials and cutters from the tables, one's own first."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

from millcalc.errors import InputError
from millcalc.page.cutter_picture import CutterPicture, cutter_picture
from millcalc.tables import (
    Cutter,
    Machine,
    Material,
    Shop,
    load_cutter,
    load_machine,
    load_material,
    load_shop,
    search_roots,
    summaries,
)

CUTS = (
    ("slot", "slot", "full width"),
    ("side", "side", "along an edge"),
    ("face", "face", "a surface"),
    ("ramp", "ramp", "down a slope"),
    ("helix", "helix", "round a bore"),
    ("plunge", "plunge", "straight down"),
    ("drill", "drill", "a hole"),
)


@dataclass(frozen=True)
class Choice:
    """One thing that can be chosen.

    name, title, group: Of its table.
    words: All it is found by, in small letters.
    own: Whether it is the person's own.
    picture: Of a cutter.
    """

    name: str
    title: str
    group: str
    words: str
    own: bool = False
    picture: CutterPicture | None = None


def choices() -> dict[str, tuple[Choice, ...]]:
    """Choices by ``machine``, ``material``, ``cutter``; the person's own first, then by group and name."""
    shop = load_shop()
    found = {kind: _of_kind(kind, _stamp(kind)) for kind in ("machines", "materials", "cutters")}
    return {
        "machine": _own_first(found["machines"], {shop.machine} if shop else set()),
        "material": _own_first(found["materials"], set(shop.materials) if shop else set()),
        "cutter": _own_first(found["cutters"], _owned(shop)),
    }


def chosen(machine: str, material: str, cutter: str) -> tuple[Machine, Material, Cutter]:
    """The rows of a choice, read again only when a table file has changed.

    machine, material, cutter: Names.
    Returns: The rows.
    Raises InputError: If one is unknown or cannot be used.
    """
    return _rows(
        machine, material, cutter, tuple(_stamp(kind) for kind in ("machines", "materials", "cutters"))
    )


@lru_cache(maxsize=256)
def _rows(machine: str, material: str, cutter: str, _stamps: object) -> tuple[Machine, Material, Cutter]:
    return load_machine(machine), load_material(material), load_cutter(cutter)


def _owned(shop: Shop | None) -> set[str]:
    from millcalc.advise.others import owned_names

    return set(owned_names(shop))


def _own_first(all_: tuple[Choice, ...], own: set[str]) -> tuple[Choice, ...]:
    marked = [replace(one, own=one.name in own) for one in all_]
    return tuple(sorted(marked, key=lambda one: not one.own))


def _stamp(kind: str) -> tuple[tuple[str, int], ...]:
    """Names and times of the table files, so that a changed one is read again."""
    return tuple(
        (str(path), path.stat().st_mtime_ns)
        for root in search_roots(None)
        if (folder := Path(root) / kind).is_dir()
        for path in sorted(folder.iterdir())
        if path.is_file()
    )


@lru_cache(maxsize=16)
def _of_kind(kind: str, _stamp: tuple[tuple[str, int], ...]) -> tuple[Choice, ...]:
    rows, _ = summaries(kind)
    made = []
    for row in rows:
        words = " ".join((row.name, row.title, row.group, *row.aliases)).lower()
        picture = None
        if kind == "cutters":
            try:
                picture = cutter_picture(load_cutter(row.name))
            except InputError:  # told where it is chosen
                picture = None
        made.append(Choice(row.name, row.title, row.group, words, picture=picture))
    return tuple(sorted(made, key=lambda one: (one.group != "flat", one.group, _natural(one.name))))


def _natural(name: str) -> tuple[tuple[int, str], ...]:
    """Names in the order of their numbers: 2 mm before 10 mm."""
    import re

    parts = re.split(r"(\d+)", name)
    return tuple((int(part), "") if part.isdigit() else (-1, part) for part in parts)
