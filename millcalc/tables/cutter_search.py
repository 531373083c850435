"""Cutters by what they are: ``6mm 1 flute``, ``1/8``, ``ball 6 mm``."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from millcalc.errors import InputError
from millcalc.tables.yaml_lines import load_marked
from millcalc.units import length_mm

_MM_PER_INCH: Final = 25.4  # exact by definition
_NEAR_MM: Final = 0.011
_WORDS: Final = {"one": "1", "single": "1", "two": "2", "double": "2", "three": "3", "four": "4"}
_FLUTES: Final = re.compile(r"\b(\d)\s*-?\s*(?:flutes?|f|z|teeth|tooth|edges?)\b")
_SIZE: Final = re.compile(r"\b(\d+(?:\.\d+)?(?:\s*/\s*\d+)?)\s*-?\s*(mm|in|inch|\")?")
_KINDS: Final = ("flat", "ball", "bull", "vee", "engraving", "drill", "facing", "tapered", "spot", "compression",
                 "down", "hss")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a text asks of a cutter; None or empty where it asks nothing.

    diameter_mm: Diameter [mm].
    flutes: Cutting edges [-].
    kinds: Words that stand in the name.
    """

    diameter_mm: float | None
    flutes: int | None
    kinds: tuple[str, ...]


def wanted(text: str) -> Wanted | None:
    """Read a description of a cutter.

    text: As typed.
    Returns: None where no diameter, flutes or kind is in it.

    >>> wanted("6mm 1 flute"), wanted("1/8").diameter_mm, wanted("nonsense")
    (Wanted(diameter_mm=6.0, flutes=1, kinds=()), 3.175, None)
    """
    plain = " ".join(_WORDS.get(word, word) for word in text.strip().lower().replace(",", " ").split())
    found = _FLUTES.search(plain)
    flutes = int(found[1]) if found else None
    rest = plain.replace(found[0], " ") if found else plain
    size = _SIZE.search(rest)
    diameter = None
    if size:
        over = size[1].replace(" ", "").split("/")
        value = float(over[0]) / float(over[1]) if len(over) == 2 and float(over[1]) else float(over[0])
        inch = size[2] in ("in", "inch", '"') or (len(over) == 2 and size[2] != "mm")
        diameter = value * (_MM_PER_INCH if inch else 1.0)
    kinds = tuple(kind for kind in _KINDS if kind in re.findall(r"[a-z]+", rest))
    return Wanted(diameter, flutes, kinds) if diameter or flutes or kinds else None


def matching(text: str, files: Mapping[str, Path]) -> list[str]:
    """Names of the cutters that a description fits, plain flat ones first.

    text: As typed.
    files: Table file by name.
    Returns: Empty where the text describes no cutter, or none is like it.
    """
    asked = wanted(text)
    if asked is None:
        return []
    found = []
    for name, path in files.items():
        try:
            data, _ = load_marked(path)
        except InputError:
            continue
        if isinstance(data, dict) and _fits(asked, name, data):
            found.append(name)
    return sorted(found, key=lambda name: (not plain_flat(name), name))


def plain_flat(name: str) -> bool:
    """Whether a cutter is a plain flat one by its name, which is what most look for first.

    name: Of the table.
    Returns: Not so for down-cuts, compression cutters and those of HSS.

    >>> plain_flat("flat-6mm-1f"), plain_flat("flat-6mm-2f-down")
    (True, False)
    """
    return re.fullmatch(r"flat-[\w.-]+-\df", name) is not None


def _fits(asked: Wanted, name: str, data: Mapping[str, object]) -> bool:
    diameter = data.get("diameter_mm", data.get("diameter"))
    if isinstance(diameter, str):
        try:
            diameter = length_mm(diameter)
        except InputError:
            return False
    if asked.diameter_mm is not None and (
        not isinstance(diameter, int | float) or abs(diameter - asked.diameter_mm) > _NEAR_MM
    ):
        return False
    if asked.flutes is not None and data.get("flutes") != asked.flutes:
        return False
    words = re.split(r"[-_]", name) + str(data.get("kind", "")).split()
    return all(any(word.startswith(kind) for word in words) for kind in asked.kinds)
