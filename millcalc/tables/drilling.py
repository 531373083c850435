"""Speeds and feeds of twist drills, by material or family of materials."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from pydantic import RootModel

from millcalc.tables.locate import data_root
from millcalc.tables.models import Band, Material, Row
from millcalc.tables.yaml_lines import load_marked, validate

SMALL_DRILL_MM = 3.0


class Drilling(Row):
    """How one material or family is drilled.

    hss_m_min, carbide_m_min: Cutting speed at the edge [m/min].
    feed_per_diameter: Feed a turn over the drill's diameter [-].
    """

    hss_m_min: Band
    carbide_m_min: Band
    feed_per_diameter: Band

    def speed_m_min(self, drill_material: str) -> Band:
        """Cutting-speed band for a drill's own material [m/min]."""
        return self.hss_m_min if drill_material == "hss" else self.carbide_m_min

    def feed_per_turn_mm(self, diameter_mm: float, least_mm: float = 0.0) -> tuple[float, float, float]:
        """Least, starting and greatest feed a turn [mm]; drills below 3 mm take the lower half of the band.

        diameter_mm: Diameter of the drill [mm].
        least_mm: Feed a turn below which the edges only rub [mm]: a small drill starts there, inside the whole band.
        """
        band = self.feed_per_diameter
        high = band.begin if diameter_mm < SMALL_DRILL_MM else band.high
        begin = band.low if diameter_mm < SMALL_DRILL_MM else band.begin
        starts = max(begin * diameter_mm, min(least_mm, band.high * diameter_mm))
        return band.low * diameter_mm, starts, max(high * diameter_mm, starts)


class _Table(RootModel[dict[str, Drilling]]):
    """The whole of ``drilling.yaml``."""


@cache
def load_drilling(path: Path | None = None) -> dict[str, Drilling]:
    """The table of drilling.

    path: File to read; None takes the shipped one.
    Raises TableError: If the file cannot be used.
    """
    file = path or data_root() / "drilling.yaml"
    data, marks = load_marked(file)
    return validate(_Table, data, marks, file).root


def drilling_of(material: Material) -> Drilling:
    """The row of a material: its own, else its family's."""
    table = load_drilling()
    return table.get(material.name) or table[material.family]
