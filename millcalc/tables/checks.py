"""What one field cannot tell alone: orders, geometry and sums inside a row that already has the right types."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from millcalc.tables.checks_tools import Key, Problem, cutter, machine, sourced
from millcalc.tables.models import Band, ChipLoad, Cutter, Machine, Material, Row, Value


def problems(row: Row) -> list[Problem]:
    """Find what does not fit together in a row.

    row: A row whose fields have the right types.
    Returns: Path of the field, what was found, what is accepted.
    """
    found = list(_orders(row, ()))
    if isinstance(row, Material):
        found += _material(row)
    elif isinstance(row, Cutter):
        found += cutter(row)
    elif isinstance(row, Machine):
        found += machine(row)
    return found


def _orders(row: Row, at: Key) -> Iterator[Problem]:
    """Spreads and bands the wrong way round, and numbers below zero, anywhere in a row."""
    if isinstance(row, Value):
        if not row.lowest <= row.value <= row.highest:
            yield at, f"value {row.value:g} outside {row.lowest:g} to {row.highest:g}", "low <= value <= high"
        if row.lowest < 0:
            yield at, f"{row.lowest:g}", "a number not below 0"
    elif isinstance(row, Band):
        start = row.low if row.start is None else row.start
        if not row.low <= start <= row.high:
            yield at, f"low {row.low:g}, start {start:g}, high {row.high:g}", "low <= start <= high"
        if row.low < 0:
            yield (*at, "low"), f"{row.low:g}", "a number not below 0"
    for name in type(row).model_fields:
        inner = getattr(row, name)
        if isinstance(inner, Row):
            yield from _orders(inner, (*at, name))
        elif isinstance(inner, tuple):
            for index, entry in enumerate(inner):
                if isinstance(entry, Row):
                    yield from _orders(entry, (*at, name, index))


def _material(row: Material) -> Iterator[Problem]:
    yield from sourced(row, "suitability and max_flutes_slot")
    if row.iso_group is not None and row.iso_group_source is None:
        yield ("iso_group_source",), "nothing", "a key of sources.yaml, since iso_group is given"
    for name in ("kc11_n_mm2", "density_kg_m3", "shear_strength_n_mm2", "min_chip_mm", "min_chip_edge_ratio"):
        if getattr(row, name).lowest == 0:
            yield (name,), f"{getattr(row, name).lowest:g}", "a number above 0"
    for name in ("roughing_deflection_mm", "finishing_deflection_mm"):
        if getattr(row, name).value == 0:
            yield (name,), f"{getattr(row, name).value:g}", "a number above 0"
    if row.mc.highest >= 1:
        yield ("mc",), f"{row.mc.highest:g}", "an exponent from 0 to below 1"
    if sum(edge.nominal for edge in row.edge_sets) > 1:
        yield ("edge_sets",), "more than one set marked nominal", "one `nominal: true`"
    if row.is_metal and row.edge_sets and not any(edge.nominal for edge in row.edge_sets):
        yield ("edge_sets",), "no set marked nominal", "one `nominal: true`"
    yield from _chip_loads(row.chip_load)
    for name in ("slot_depth_per_diameter", "side_depth_per_diameter", "plunge_share", "ramp_angle_deg"):
        if getattr(row, name).high <= 0:
            yield (name,), "high 0", "a number above 0"
    for name in ("carbide_uncoated", "carbide_coated", "hss"):
        band = getattr(row.cutting_speed_m_min, name)
        if band is not None and band.low == 0:
            yield ("cutting_speed_m_min", name, "low"), f"{band.low:g}", "a number above 0"
    if row.plunge_share.high > 1:
        yield ("plunge_share", "high"), f"{row.plunge_share.high:g}", "a share of at most 1"
    if row.ramp_angle_deg.high >= 90:
        yield ("ramp_angle_deg", "high"), f"{row.ramp_angle_deg.high:g}", "an angle below 90"


def _chip_loads(bands: Iterable[ChipLoad]) -> Iterator[Problem]:
    cuts = [band.cut for band in bands]
    for index, band in enumerate(bands):
        at: Key = ("chip_load", index)
        if band.floor_mm > band.cap_mm:
            yield at, f"floor {band.floor_mm:g} above cap {band.cap_mm:g}", "floor_mm <= cap_mm"
        if band.per_diameter.low == 0:
            yield (*at, "per_diameter", "low"), f"{band.per_diameter.low:g}", "a number above 0"
        if cuts.count(band.cut) > 1:
            yield (*at, "cut"), f"{band.cut} twice", "each cut once"
    if "any" not in cuts and not {"slot", "side"} <= set(cuts):
        yield ("chip_load",), f"bands for {', '.join(cuts)} only", "a band for any, or for slot and side"
