"""What the fields of a cutter or machine must be together: its orders, geometry and sums."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from millcalc.tables.models import Cutter, Machine, Material

Key = tuple[str | int, ...]
Problem = tuple[Key, str, str]  # path, what was found, what is accepted

_SUM_SLACK = 0.005  # -: rounding of three shares written with two digits
_LENGTH_SLACK = 0.02  # mm: rounding of lengths written with two digits


def sourced(row: Material | Machine, plain: str) -> Iterator[Problem]:
    """The row's own source, which stands behind its plain fields.

    row: The row.
    plain: What its plain fields are.
    Returns: What is missing.
    """
    if row.source is None:
        yield ("source",), "nothing", f"a key of sources.yaml: the source of {plain}"
    if row.confidence is None:
        yield ("confidence",), "nothing", "how far to trust that source, e.g. common practice"


def cutter(row: Cutter) -> Iterator[Problem]:
    """What does not fit together in a cutter.

    row: The row.
    Returns: Path, found, accepted.
    """
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


def machine(row: Machine) -> Iterator[Problem]:
    """What does not fit together in a machine.

    row: The row.
    Returns: Path, found, accepted.
    """
    yield from sourced(row, "drop_mm, stiffness_spread and backlash_mm")
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
