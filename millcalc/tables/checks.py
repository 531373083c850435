"""What one field cannot tell alone: orders, geometry and sums inside a row that already has the right types."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from itertools import pairwise

from millcalc.tables.models import Band, ChipLoad, Cutter, Machine, Material, Row, Value

Key = tuple[str | int, ...]
Problem = tuple[Key, str, str]  # path, what was found, what is accepted

_SUM_SLACK = 0.005  # -: rounding of three shares written with two digits
_LENGTH_SLACK = 0.02  # mm: rounding of lengths written with two digits


def problems(row: Row) -> list[Problem]:
    """Find what does not fit together in a row.

    row: A row whose fields have the right types.
    Returns: Path of the field, what was found, what is accepted.
    """
    found = list(_orders(row, ()))
    if isinstance(row, Material):
        found += _material(row)
    elif isinstance(row, Cutter):
        found += _cutter(row)
    elif isinstance(row, Machine):
        found += _machine(row)
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


def _sourced(row: Material | Machine, plain: str) -> Iterator[Problem]:
    """The row's own source, which stands behind its plain fields."""
    if row.source is None:
        yield ("source",), "nothing", f"a key of sources.yaml: the source of {plain}"
    if row.confidence is None:
        yield ("confidence",), "nothing", "how far to trust that source, e.g. common practice"


def _material(row: Material) -> Iterator[Problem]:
    yield from _sourced(row, "suitability and max_flutes_slot")
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


def _cutter(row: Cutter) -> Iterator[Problem]:
    radius = row.diameter_mm / 2
    if row.edge_radius_um.lowest == 0:
        yield ("edge_radius_um",), f"{row.edge_radius_um.lowest:g}", "a number above 0"
    if row.max_rpm.lowest == 0:
        yield ("max_rpm",), f"{row.max_rpm.lowest:g}", "a number above 0"
    if row.flute_length_mm >= row.overall_mm:
        yield ("flute_length_mm",), f"{row.flute_length_mm:g}", f"less than overall_mm {row.overall_mm:g}"
    if row.kind == "ball" and abs(row.corner_radius_mm - radius) > _LENGTH_SLACK:
        yield ("corner_radius_mm",), f"{row.corner_radius_mm:g}", f"half the diameter, {radius:g}, for a ball"
    elif row.kind == "bull-nose" and not 0 < row.corner_radius_mm < radius:
        yield ("corner_radius_mm",), f"{row.corner_radius_mm:g}", f"above 0 and below {radius:g}"
    elif row.kind == "tapered ball" and row.corner_radius_mm <= 0:
        yield ("corner_radius_mm",), f"{row.corner_radius_mm:g}", "the ball radius, above 0"
    elif row.corner_radius_mm > radius + _LENGTH_SLACK:
        yield ("corner_radius_mm",), f"{row.corner_radius_mm:g}", f"at most half the diameter, {radius:g}"
    if row.tip_diameter_mm >= row.diameter_mm:
        yield ("tip_diameter_mm",), f"{row.tip_diameter_mm:g}", f"less than diameter_mm {row.diameter_mm:g}"
    yield from _angles(row)
    if row.spiral == "down" and row.helix_deg > 0:
        yield ("helix_deg",), f"{row.helix_deg:g}", "a negative angle for a down-cut"
    if row.spiral == "up" and row.helix_deg < 0:
        yield ("helix_deg",), f"{row.helix_deg:g}", "a positive angle for an up-cut"


def _angles(row: Cutter) -> Iterator[Problem]:
    angle = row.included_angle_deg
    if row.kind in ("vee", "engraving", "spot drill", "twist drill", "tapered ball") and angle is None:
        yield ("included_angle_deg",), "nothing", f"the included angle, needed for a {row.kind}"
    if angle is None:
        return
    if not 0 < angle < 180:
        yield ("included_angle_deg",), f"{angle:g}", "an angle above 0 and below 180"
        return
    slope = math.tan(math.radians(angle / 2))
    if row.kind in ("vee", "engraving"):
        cone = (row.diameter_mm - row.tip_diameter_mm) / 2 / slope
        if row.flute_length_mm < cone - 0.5:
            yield (
                ("flute_length_mm",),
                f"{row.flute_length_mm:g}",
                f"at least {cone:.1f}, the height at which {angle:g} deg reaches {row.diameter_mm:g} mm",
            )
    if row.kind == "tapered ball" and row.corner_radius_mm > 0:
        half = math.radians(angle / 2)
        rise = row.flute_length_mm - row.corner_radius_mm * (1 - math.sin(half))
        largest = 2 * (row.corner_radius_mm * math.cos(half) + rise * slope)
        if abs(largest - row.diameter_mm) > 0.1 * row.diameter_mm:
            yield (
                ("diameter_mm",),
                f"{row.diameter_mm:g}",
                f"the diameter at the top of the flutes, about {largest:.2f} from ball, angle and length",
            )


def _machine(row: Machine) -> Iterator[Problem]:
    yield from _sourced(row, "drop_mm, stiffness_spread and backlash_mm")
    spindle = row.spindle
    if spindle.min_rpm > spindle.max_rpm:
        accepted = f"at most max_rpm {spindle.max_rpm:g}"
        yield ("spindle", "min_rpm"), f"{spindle.min_rpm:g}", accepted
    for name, speeds in (
        ("power", [point.rpm for point in spindle.power]),
        ("dial", [mark.rpm for mark in spindle.dial]),
    ):
        if any(b <= a for a, b in pairwise(speeds)):
            yield ("spindle", name), "speeds that do not rise", "each entry at a higher rpm than the last"
    if spindle.speed_set_by == "dial" and not spindle.dial:
        yield ("spindle", "dial"), "no marks", "at least one mark, since the speed is set by a dial"
    marks = [mark.mark for mark in spindle.dial]
    if len(set(marks)) < len(marks):
        yield ("spindle", "dial"), "a mark twice", "each mark once"
    if spindle.stiffness_n_um.lowest == 0:
        yield ("spindle", "stiffness_n_um"), "0", "a number above 0"
    law = row.drop_law
    total = law.base + law.rotary + law.bending
    if abs(total - 1) > _SUM_SLACK:
        yield ("drop_law",), f"shares that add up to {total:g}", "base + rotary + bending = 1"
