"""A cutter known by kind, diameter and flutes alone: the rest is that of the nearest shipped one, and said so."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any, Final

from millcalc.errors import InputError
from millcalc.tables.locate import data_root
from millcalc.tables.names import files_of
from millcalc.tables.yaml_lines import load_marked
from millcalc.units import length_mm

_FLUTE_COUNTS: Final = (
    0.3  # how much one flute more or less counts against a diameter e times as large [-]. Estimate
)
_ASKED: Final = {
    "flute_length_mm": "flute length",
    "shank_mm": "shank",
    "overall_mm": "overall length",
    "helix_deg": "helix angle",
    "material": "material",
}


def take_typical(data: dict[str | int, Any], path: Path) -> None:
    """Name the nearest shipped cutter as the base of one that names none and gives no source.

    data: Fields of a cutter's table; changed in place.
    path: Its file, for its title.
    Note: Without a kind and a diameter that can be read nothing is changed, and the usual errors say what is missing.
    """
    if "based_on" in data or "source" in data or "kind" not in data or "diameter_mm" not in data:
        return
    try:
        diameter = length_mm(data["diameter_mm"])
    except (InputError, ValueError):
        return
    base = _nearest(str(data["kind"]), diameter, data.get("flutes"))
    if base is None:
        return
    data["based_on"] = base
    flutes = data.get("flutes")
    data.setdefault(
        "title", f"{path.stem}: {data['kind']}, {diameter:g} mm" + (f", {flutes} flutes" if flutes else "")
    )
    if data["kind"] == "ball":
        data.setdefault("corner_radius_mm", diameter / 2)
    taken = [word for field, word in _ASKED.items() if field not in data]
    data.setdefault(
        "notes", [f"typical values of {base} for what was not given: {', '.join(taken)}, edge and the rest"]
    )


def _nearest(kind: str, diameter_mm: float, flutes: object) -> str | None:
    best: tuple[float, str] | None = None
    for name, path in files_of("cutters", (data_root(),)).items():
        row, _ = load_marked(path)
        if not isinstance(row, dict) or row.get("kind") != kind:
            continue
        away = abs(math.log(length_mm(row["diameter_mm"]) / diameter_mm)) if diameter_mm > 0 else 0.0
        if isinstance(flutes, int) and isinstance(row.get("flutes"), int):
            away += _FLUTE_COUNTS * abs(row["flutes"] - flutes)
        if best is None or away < best[0]:
            best = (away, name)
    return None if best is None else best[1]
