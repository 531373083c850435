"""A hole that is drilled or plunged straight down, as a state that every limit can judge.

The same rows judge it; what differs is which axis pushes, what bends, and how far chips have to climb.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from millcalc.limits.entries import DRILLS, plunge_share
from millcalc.limits.state import State
from millcalc.limits.tuning import DRILL_SPRING_MM, RUBBING_BUDGET, THRUST_SHARE
from millcalc.mechanics.drilling import drill_chip_mm, drill_thrust_n, drill_torque_nm
from millcalc.mechanics.kienzle import specific_force_n_mm2
from millcalc.tables.drilling import drilling_of
from millcalc.tables.models import Band, Cutter, Material

# an end mill has no point: its edges stand at 180 degrees and its middle only presses
_END_MILL_POINT_DEG = 180.0
_END_MILL_CENTRE_SHARE = 0.75


def drill_feeds_mm(material: Material, drill: Cutter, smallest_chip_mm: float) -> tuple[float, float, float]:
    """Least, starting and greatest feed a turn of a drill, which starts where each lip still cuts [mm].

    material, drill: What is drilled with what.
    smallest_chip_mm: Thinnest chip that cuts [mm]; a twentieth more leaves room for rounding.
    """
    least = 1.05 * drill.flutes * smallest_chip_mm / RUBBING_BUDGET
    return drilling_of(material).feed_per_turn_mm(drill.diameter_mm, least)


@dataclass(frozen=True)
class HoleState(State):
    """Speed, feed per lip and depth between retracts of a hole; the width is the whole diameter."""

    @cached_property
    def max_chip_mm(self) -> Any:
        """Feed per lip: an axial cut is not thinned [mm]."""
        return np.asarray(self.feed_per_tooth_mm, float)

    @property
    def chip_band_mm(self) -> tuple[float, float, float]:
        """Low, starting and greatest feed per lip [mm]: a drill's own, or the plunge's share of a slot's."""
        cutter = self.tooling.cutter
        if cutter.kind in DRILLS:
            low, begin, high = drill_feeds_mm(self.tooling.material, cutter, self.tooling.smallest_chip_mm)
            return low / cutter.flutes, begin / cutter.flutes, high / cutter.flutes
        low, begin, high = self.tooling.chip_band_mm("slot")
        first, most = plunge_share(self.tooling), self.tooling.material.plunge_share.high
        return low * first, begin * first, high * most

    @property
    def speed_band_m_min(self) -> Band:
        """Cutting-speed band of the drill, or of the end mill that is plunged [m/min]."""
        if self.tooling.cutter.kind in DRILLS:
            return drilling_of(self.tooling.material).speed_m_min(self.tooling.cutter.material)
        return super().speed_band_m_min

    def _specific_n_mm2(self, which: int) -> float:
        material, cutter = self.tooling.material, self.tooling.cutter
        kc = material.kc11_n_mm2
        cap = material.chip_cap_mm.value if material.chip_cap_mm else None
        point = (cutter.included_angle_deg or 118.0) if cutter.kind in DRILLS else _END_MILL_POINT_DEG
        chip = drill_chip_mm(self._feed_per_turn_mm, cutter.flutes, point)
        value = (kc.lowest, kc.value, kc.highest)[which]
        return specific_force_n_mm2(value, material.mc.value, chip, cap)  # type: ignore[no-any-return]

    @property
    def _feed_per_turn_mm(self) -> Any:
        return np.asarray(self.feed_per_tooth_mm, float) * self.tooling.cutter.flutes

    def torque_nm(self, which: int) -> Any:
        """Torque with the least, nominal or greatest specific force [N m].

        which: 0, 1 or 2 [-].
        """
        diameter = self.tooling.cutter.diameter_mm
        return drill_torque_nm(self._specific_n_mm2(which), self._feed_per_turn_mm, diameter)

    def power_w(self, which: int) -> Any:
        """Power at the drill [W].

        which: 0, 1 or 2 [-].
        """
        return self.torque_nm(which) * 2.0 * np.pi * np.asarray(self.speed_rpm, float) / 60.0

    def push_n(self, which: int) -> Any:
        """Force along the spindle [N].

        which: 0, 1 or 2 [-].
        """
        cutter, specific = self.tooling.cutter, self._specific_n_mm2(which)
        if cutter.kind in DRILLS:
            point = cutter.included_angle_deg or 118.0
            return drill_thrust_n(specific, self._feed_per_turn_mm, cutter.diameter_mm, point)
        return drill_thrust_n(
            specific,
            self._feed_per_turn_mm,
            cutter.diameter_mm,
            _END_MILL_POINT_DEG,
            chisel_share=_END_MILL_CENTRE_SHARE,
        )

    @property
    def push_limit(self) -> tuple[float, str]:
        """Half of the push at which Z stalls [N]."""
        return self.tooling.machine.thrust_n.z * THRUST_SHARE, "Z"

    @property
    def top_feed_mm_min(self) -> float:
        """Highest feed of Z [mm/min]."""
        return self.tooling.machine.max_feed_mm_min.z

    def deflection_mm(self, which: int) -> Any:
        """How far the frame lifts under the thrust, to drop when the drill breaks through [mm].

        which: 0, 1 or 2 [-].
        """
        return self.push_n(which) / self.tooling.machine.stiffness_n_um.z / 1000.0

    @property
    def deflection_allowed_mm(self) -> float:
        """Lift that is allowed [mm]."""
        return DRILL_SPRING_MM

    @property
    def chip_room(self) -> tuple[float, str, str]:
        """Depth before the first retract [mm]: 1 D in metal up to 3 mm, 1.5 D above, 2.5 D otherwise."""
        cutter = self.tooling.cutter
        metal = self.tooling.material.is_metal
        if cutter.kind not in DRILLS:
            diameters = 0.5
        elif not metal:
            diameters = 2.5
        else:
            diameters = 1.0 if cutter.diameter_mm <= 3.0 else 1.5
        return diameters * cutter.diameter_mm, "depth before the first retract", "common practice, no source"
