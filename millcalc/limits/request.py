"""What the person asks for: the kind of cut and the numbers that are given."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from millcalc.errors import InputError
from millcalc.limits.tuning import THINNEST_MM

CutKind = Literal["slot", "side", "face", "plunge", "ramp", "helix", "drill"]
FULL_WIDTH: tuple[CutKind, ...] = ("slot", "plunge", "ramp", "helix", "drill")


@dataclass(frozen=True)
class CutRequest:
    """What the person asks for; None is for millcalc to choose.

    cut: Kind of cut.
    axial_depth_mm, radial_width_mm: Depth and width of cut [mm].
    feed_mm_min, speed_rpm: Feed [mm/min] and spindle speed [rev/min].
    segment_mm: Path length between corners on which the feed should be reached [mm].
    bore_mm: Diameter of a helical bore [mm].
    finish: A finishing pass: the finishing deflection allowance applies.
    proven: Use the whole of every limit instead of the first-cut share.
    """

    cut: CutKind = "slot"
    axial_depth_mm: float | None = None
    radial_width_mm: float | None = None
    feed_mm_min: float | None = None
    speed_rpm: float | None = None
    segment_mm: float | None = None
    bore_mm: float | None = None
    finish: bool = False
    proven: bool = False

    def __post_init__(self) -> None:
        """Refuse a depth or width thinner than anything that is cut.

        Raises InputError: Naming it.
        """
        for field in ("axial_depth_mm", "radial_width_mm"):
            value = getattr(self, field)
            if value is not None and 0 < value < THINNEST_MM:
                raise InputError(f"{value:g} mm", f"{THINNEST_MM:g} mm or more", "leave it out", field=field)
