"""A setting to judge, as arrays, with what follows from it: chips, forces, power, bending."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from millcalc.limits.request import FULL_WIDTH, CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.limits.tuning import FACE_DEPTH_MM, FIRST_SIDE_DIAMETERS, OPEN_WIDTH, THRUST_SHARE
from millcalc.mechanics.chip import max_chip_mm, mean_chip_mm
from millcalc.mechanics.engagement import engagement_angle_rad
from millcalc.mechanics.forces import Turn, TurnLoads, power_of_force_w, turn_of
from millcalc.mechanics.kinematics import cutting_speed_m_min, feed_mm_min
from millcalc.mechanics.modes import frame_attenuation
from millcalc.tables.models import Band


def closed_share(width_ratio: Any) -> Any:
    """How far a side cut has become a slot: 0 below three quarters of the diameter, 1 at the whole of it [-].

    width_ratio: Radial width over the cutter's diameter [-].
    """
    return np.clip((np.asarray(width_ratio, float) - OPEN_WIDTH) / (1 - OPEN_WIDTH), 0.0, 1.0)


@dataclass(frozen=True)
class State:
    """Settings to judge: arrays that broadcast against each other, and what they imply.

    tooling, request: What is cut with what.
    speed_rpm, feed_per_tooth_mm, depth_mm, width_mm: Spindle speed [rev/min], feed per tooth [mm], axial
      depth [mm], radial width [mm].
    """

    tooling: Tooling
    request: CutRequest
    speed_rpm: Any
    feed_per_tooth_mm: Any
    depth_mm: Any
    width_mm: Any

    @cached_property
    def diameter_mm(self) -> Any:
        """Effective cutting diameter at the depth [mm]."""
        return self.tooling.effective_diameter_mm(self.depth_mm)

    @cached_property
    def engaged_width_mm(self) -> Any:
        """Radial width, no wider than the effective diameter; all of it in a slot [mm]."""
        if self.request.cut in FULL_WIDTH:
            return self.diameter_mm
        return np.minimum(self.width_mm, self.diameter_mm)

    @cached_property
    def engagement_rad(self) -> Any:
        """Engagement angle [rad]."""
        return engagement_angle_rad(self.engaged_width_mm, self.diameter_mm)

    @cached_property
    def feed_mm_min(self) -> Any:
        """Table feed [mm/min]."""
        return feed_mm_min(self.feed_per_tooth_mm, self.tooling.cutter.flutes, self.speed_rpm)

    @cached_property
    def max_chip_mm(self) -> Any:
        """Greatest chip thickness [mm]."""
        return max_chip_mm(self.feed_per_tooth_mm, self.engaged_width_mm, self.diameter_mm)

    @cached_property
    def mean_chip_mm(self) -> Any:
        """Mean chip thickness [mm]."""
        return mean_chip_mm(self.feed_per_tooth_mm, self.engaged_width_mm, self.diameter_mm)

    def loads(self, which: int) -> TurnLoads:
        """Forces over one turn with the least (0), nominal (1) or greatest (2) coefficients.

        which: Index into ``Tooling.edge_sets`` [-].
        Returns: Forces [N].
        """
        if which not in self._loads:
            edge = self.tooling.edge_sets[which]
            self._loads[which] = self.turn.loads(edge, self.feed_per_tooth_mm, self.tooling.runout_mm)
        return self._loads[which]

    @cached_property
    def _loads(self) -> dict[int, TurnLoads]:
        return {}

    @cached_property
    def turn(self) -> Turn:
        """Where the teeth stand in the arc of cut: what the forces of every material, feed and run-out share."""
        cutter = self.tooling.cutter
        return turn_of(
            cutter.diameter_mm, cutter.flutes, cutter.helix_deg, self.engagement_rad, self.depth_mm
        )

    def power_w(self, which: int) -> Any:
        """Cutting power: the mean tangential force at the cutting speed [W].

        which: Index into ``Tooling.edge_sets`` [-].
        Returns: Power at the cutter [W].
        """
        speed_m_min = cutting_speed_m_min(self.speed_rpm, self.diameter_mm)
        return power_of_force_w(self.loads(which).tangential_n, speed_m_min)

    @cached_property
    def load_height_mm(self) -> Any:
        """Height above the tip at which the side force acts: half the depth, below the collet [mm]."""
        return np.minimum(np.asarray(self.depth_mm, float) / 2.0, 0.9 * self.tooling.stickout_mm)

    def deflection_mm(self, which: int) -> Any:
        """Deflection at the tip: the frame follows the mean force and what it can of the rest.

        which: Index into ``Tooling.edge_sets`` [-].
        Returns: Deflection [mm].

        Note: Cutter, collet and spindle follow the peak force, which acts at half the depth; the frame follows
          the mean force plus the alternating part attenuated above its own mode. Springs in series. In the
          moment of an entry or a corner the frame may swing to nearly twice that, which roughing leaves room
          for: it is not in this number.
        """
        tooling, loads = self.tooling, self.loads(which)
        tooth_hz = np.asarray(self.speed_rpm) * tooling.cutter.flutes / 60.0
        follows = frame_attenuation(tooth_hz, tooling.frame_mode_hz)
        frame_n = loads.mean_n + follows * np.maximum(loads.peak_n - loads.mean_n, 0.0)
        stiff_um_n = tooling.cutter_um_n_at(self.load_height_mm) + tooling.spindle_um_n
        return (tooling.frame_um_n * frame_n + stiff_um_n * loads.peak_n) / 1000.0

    @property
    def speed_band_m_min(self) -> Band:
        """Cutting-speed band of the material for this cutter [m/min]."""
        band = self.tooling.speed_band_m_min
        assert band is not None  # make_tooling refuses a cutter without one
        return band

    @property
    def chip_band_mm(self) -> tuple[Any, Any, Any]:
        """Low, starting and high chip load of this cut [mm]; that of a slot for a side cut as wide as the cutter."""
        band = self.tooling.chip_band_mm(self.request.cut)
        if self.request.cut in FULL_WIDTH:
            return band
        slot, share = self.tooling.chip_band_mm("slot"), self.closed_share
        low, begin, high = (side + (full - side) * share for side, full in zip(band, slot, strict=True))
        return low, begin, high

    @property
    def closed_share(self) -> Any:
        """How far a side cut has become a slot, see :func:`closed_share` [-]."""
        return closed_share(np.asarray(self.width_mm, float) / self.tooling.cutter.diameter_mm)

    # -- what stands against it; a hole drilled straight down has other axes and rooms (hole.py) -----------
    def push_n(self, which: int) -> Any:
        """Mean force that the axes must bring up [N]."""
        return self.loads(which).mean_n

    @property
    def push_limit(self) -> tuple[float, str]:
        """Half of the push at which an axis stalls [N], and in words which."""
        thrust = self.tooling.machine.thrust_n
        return min(thrust.x, thrust.y) * THRUST_SHARE, "the weaker axis"

    @property
    def top_feed_mm_min(self) -> float:
        """Highest feed of the axes that move [mm/min]."""
        feed = self.tooling.machine.max_feed_mm_min
        return min(feed.x, feed.y)

    @property
    def chip_room(self) -> tuple[Any, str, str]:
        """Depth that chips get out of [mm], why, and the source.

        A side cut that is nearly as wide as the cutter is a slot: the band changes over between three quarters and
        the whole of the diameter.
        """
        material, diameter = self.tooling.material, self.tooling.cutter.diameter_mm
        slot, side = material.slot_depth_per_diameter, material.side_depth_per_diameter
        deepest = slot.high if self.request.proven or slot.start is None else slot.start
        if self.request.cut in FULL_WIDTH:
            text = f"{deepest:g} diameters deep is " + (
                "as far as chips get out of a slot" if deepest == slot.high else "where a first slot begins"
            )
            return deepest * diameter, text, slot.source
        if self.request.cut == "face":
            skim = FACE_DEPTH_MM["metal" if material.is_metal else material.family]
            text = "facing only skims the surface"
            return min(skim, deepest * diameter), text, "common practice, no source"
        highest = side.high if self.request.proven else min(side.high, FIRST_SIDE_DIAMETERS)
        high = highest ** (1.0 - self.closed_share) * deepest**self.closed_share
        text = f"{highest:g} diameters deep is as far as a side cut goes, less where it is nearly a slot"
        return high * diameter, text, side.source

    @property
    def deflection_allowed_mm(self) -> float:
        """Deflection that is allowed [mm]."""
        tooling, material = self.tooling, self.tooling.material
        if self.request.finish:
            allowed = tooling.finishing_mm or material.finishing_deflection_mm.value
        else:
            allowed = tooling.roughing_mm or material.roughing_deflection_mm.value
        return allowed * tooling.margins.deflection
