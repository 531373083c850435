"""The table of metals: what a piece may be, by density, magnet, vinegar, bending and drilling."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Literal

from pydantic import Field, model_validator

from millcalc.tables.values import Band, Row
from millcalc.tables.yaml_lines import load_marked, validate

Magnet = Literal["sticks", "no"]
Vinegar = Literal["bubbles", "none"]
Bend = Literal["flat", "springs", "cracks"]
Drill = Literal["strings", "short"]


class Alloy(Row):
    """A row of the tables a metal may be, with the answers it may give to bending and drilling."""

    material: str
    bend: tuple[Bend, ...] = Field(min_length=1)
    drill: tuple[Drill, ...] = Field(min_length=1)


class Metal(Row):
    """A family of metals.

    title: Name shown to the person.
    density_kg_m3: Densities of its usual alloys [kg/m3].
    magnet: ``sticks``, ``no`` or ``either``.
    vinegar: ``bubbles``, ``none`` or ``either``.
    verdict: ``cut``, ``other`` (no row in the tables) or ``refuse``.
    text: What to know.
    source: Source of the answers.
    alloys: Rows of the tables.
    """

    title: str
    density_kg_m3: Band
    magnet: Literal["sticks", "no", "either"]
    vinegar: Literal["bubbles", "none", "either"]
    verdict: Literal["cut", "other", "refuse"]
    text: str
    source: str
    alloys: tuple[Alloy, ...] = ()

    @model_validator(mode="after")
    def _rows_only_where_it_may_be_cut(self) -> Metal:
        if (self.verdict == "cut") != bool(self.alloys):
            raise ValueError("rows of the tables belong to a metal that may be cut, and to no other")
        return self


@lru_cache(maxsize=1)
def metals() -> dict[str, Metal]:
    """Load the table of metals.

    Returns: By key, lightest first.
    Raises InputError: If the table that comes with millcalc is damaged.
    """
    path = Path(__file__).with_name("metals.yaml")
    data, marks = load_marked(path)
    found = {}
    for key, entry in data.items():
        inside = {tuple(mark[1:]): line for mark, line in marks.items() if mark[:1] == (key,)}
        found[str(key)] = validate(Metal, entry, inside, path)
    return found
