"""One function per limit: what a cut asks for, and what there is. All take arrays of settings.

Each function takes a :class:`State` (settings broadcast against each other) and gives a
:class:`Need`: demand and limit in one unit. The share is demand / limit, and for smallest values
limit / demand.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from millcalc.advise import tuning
from millcalc.advise.loads import UnitLoads, frame_attenuation, unit_loads
from millcalc.advise.tooling import FULL_WIDTH, CutRequest, Tooling, core_diameter_mm
from millcalc.mechanics.chip import max_chip_mm, mean_chip_mm
from millcalc.mechanics.deflection import root_stress_n_mm2
from millcalc.mechanics.engagement import engagement_angle_rad
from millcalc.mechanics.kienzle import cutting_power_w, specific_force_n_mm2, torque_nm
from millcalc.mechanics.kinematics import cutting_speed_m_min, feed_mm_min
from millcalc.mechanics.motion import reachable_feed_mm_min
from millcalc.mechanics.stability import ChatterCut, VibrationMode, conservative_limit_mm

Array = NDArray[np.float64]
# a dial step may lie this much above the wanted speed [-]; dials are no better than 5 %
SPEED_SLACK = 1.05


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

    def loads(self, which: int) -> UnitLoads:
        """Forces per millimetre of depth with the least (0), nominal (1) or greatest (2) coefficients.

        which: Index into ``Tooling.edge_sets`` [-].
        Returns: Forces per millimetre [N/mm].
        """
        return self._all_loads[which]

    @cached_property
    def _all_loads(self) -> tuple[UnitLoads, UnitLoads, UnitLoads]:
        flutes = self.tooling.cutter.flutes
        least, nominal, most = (
            unit_loads(edge, flutes, self.feed_per_tooth_mm, self.engagement_rad, self.tooling.runout_mm)
            for edge in self.tooling.edge_sets
        )
        return least, nominal, most

    def power_w(self, kc11_n_mm2: float) -> Any:
        """Cutting power by Kienzle [W].

        kc11_n_mm2: Specific force at h = b = 1 mm [N/mm2].
        Returns: Power at the cutter [W].
        """
        material = self.tooling.material
        cap = material.chip_cap_mm.value if material.chip_cap_mm else None
        specific = specific_force_n_mm2(kc11_n_mm2, material.mc.value, self.mean_chip_mm, cap)
        return cutting_power_w(specific, self.depth_mm, self.engaged_width_mm, self.feed_mm_min)

    def deflection_mm(self, which: int) -> Any:
        """Deflection at the tip: the frame follows the mean force and what it can of the rest.

        which: Index into ``Tooling.edge_sets`` [-].
        Returns: Deflection [mm].

        Note: Cutter, collet and spindle follow the peak force; the frame follows the mean force plus the
          alternating part attenuated above its own mode, and overshoots when the force comes on at an entry
          or a corner. Springs in series.
        """
        tooling = self.tooling
        unit = self.loads(which)
        tooth_hz = np.asarray(self.speed_rpm) * tooling.cutter.flutes / 60.0
        follows = frame_attenuation(tooth_hz, tooling.frame_mode_hz)
        frame_n_mm = unit.mean_n_mm + follows * np.maximum(unit.peak_n_mm - unit.mean_n_mm, 0.0)
        stiff_um_n = tooling.cutter_um_n + tooling.spindle_um_n
        per_mm_um = tooling.frame_um_n * frame_n_mm * tuning.SUDDEN_LOAD + stiff_um_n * unit.peak_n_mm
        return np.asarray(self.depth_mm) * per_mm_um / 1000.0

    @property
    def deflection_allowed_mm(self) -> float:
        """Deflection that is allowed [mm]."""
        tooling, material = self.tooling, self.tooling.material
        if self.request.finish:
            allowed = tooling.finishing_mm or material.finishing_deflection_mm.value
        else:
            allowed = tooling.roughing_mm or material.roughing_deflection_mm.value
        return allowed * tooling.margins.deflection


@dataclass(frozen=True)
class Need:
    """What a limit function gives: demand and limit in one unit, and why."""

    demand: Any
    limit: Any
    reason: str
    source: str
    smallest: bool = False

    @property
    def share(self) -> Array:
        """demand / limit, or limit / demand for a smallest value [-]."""
        demand, limit = np.asarray(self.demand, float), np.asarray(self.limit, float)
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = limit / demand if self.smallest else demand / limit
        return np.where(np.isnan(ratio), 0.0, ratio)


LimitFunction = Callable[[State], Need]


@dataclass(frozen=True)
class Limit:
    """A limit: its names, its unit and whether a first cut keeps a reserve of it."""

    key: str
    title: str
    unit: str
    reserve: bool
    function: LimitFunction

    def budget(self, request: CutRequest, tooling: Tooling) -> float:
        """Share of the limit that may be used.

        request: First cut or proven.
        tooling: What is known of machine and material decides how large a reserve a first cut keeps.
        Returns: Share [-].
        """
        if self.key == "rubbing":
            return tuning.RUBBING_BUDGET
        return tooling.budgets(request).get(self.key, 1.0) if self.reserve else 1.0


def cutting_speed(state: State) -> Need:
    """Surface speed against the band of the material for this cutter."""
    tooling, request = state.tooling, state.request
    band = tooling.speed_band_m_min
    assert band is not None
    start = band.start if band.start is not None else (band.low + band.high) / 2
    slowest = float(cutting_speed_m_min(tooling.lowest_rpm, tooling.cutter.diameter_mm))
    gentle = (
        not request.proven and request.speed_rpm is None and request.feed_mm_min is None and slowest <= start
    )
    return Need(
        cutting_speed_m_min(state.speed_rpm, state.diameter_mm),
        start * SPEED_SLACK if gentle else band.high,
        f"{'where a first cut stays in' if gentle else 'upper end of'} the band "
        f"{band.low:g}-{band.high:g} m/min for this cutter in this material",
        band.source,
    )


def machine_speed(state: State) -> Need:
    """Spindle speed against what spindle and cutter allow."""
    tooling = state.tooling
    which = "cutter" if tooling.cutter.max_rpm.value < tooling.machine.spindle.max_rpm else "spindle"
    return Need(
        np.asarray(state.speed_rpm, float),
        tooling.highest_rpm,
        f"highest speed the {which} allows",
        tooling.cutter.max_rpm.source if which == "cutter" else tooling.machine.spindle.source,
    )


def lowest_speed(state: State) -> Need:
    """Spindle speed against the lowest one the spindle runs at."""
    tooling = state.tooling
    return Need(
        np.asarray(state.speed_rpm, float),
        tooling.lowest_rpm,
        "lowest speed the spindle runs at",
        tooling.machine.spindle.source,
        smallest=True,
    )


def chip_load(state: State) -> Need:
    """Greatest chip thickness against the chip-load band."""
    row = state.tooling.chip_row(state.request.cut)
    low, begin, high = state.tooling.chip_band_mm(state.request.cut)
    gentle = not state.request.proven and state.request.feed_mm_min is None
    return Need(
        state.max_chip_mm,
        max(begin, low) if gentle else high,
        "where the chip-load band starts for a light machine"
        if gentle
        else "upper end of the chip-load band",
        row.per_diameter.source,
    )


def rubbing(state: State) -> Need:
    """Greatest chip thickness against the smallest chip that still cuts."""
    material = state.tooling.material
    return Need(
        state.max_chip_mm,
        state.tooling.smallest_chip_mm,
        "a thinner chip rubs, heats and welds instead of cutting",
        material.min_chip_mm.source,
        smallest=True,
    )


def spindle_power(state: State) -> Need:
    """Cutting power (Kienzle, upper published value) against the shaft power at this speed."""
    tooling = state.tooling
    return Need(
        state.power_w(tooling.material.kc11_n_mm2.highest),
        tooling.available_power_w(state.speed_rpm) * tooling.margins.power,
        "shaft power of the spindle at this speed",
        tooling.machine.spindle.power_source,
    )


def spindle_torque(state: State) -> Need:
    """Mean cutting torque (Kienzle, upper published value) against the spindle's torque at this speed."""
    tooling = state.tooling
    speed = np.asarray(state.speed_rpm, float)
    return Need(
        torque_nm(state.power_w(tooling.material.kc11_n_mm2.highest), speed),
        torque_nm(tooling.available_power_w(speed) * tooling.margins.power, speed),
        "torque of the spindle at this speed",
        tooling.machine.spindle.power_source,
    )


def axis_thrust(state: State) -> Need:
    """Mean in-plane force (upper set) against half of the push at which an axis stalls."""
    thrust = state.tooling.machine.thrust_n
    return Need(
        state.loads(2).mean_n_mm * np.asarray(state.depth_mm),
        min(thrust.x, thrust.y) * tuning.THRUST_SHARE * state.tooling.margins.thrust,
        "half of the push at which the weaker axis stalls and loses steps",
        thrust.source,
    )


def cutter_strength(state: State) -> Need:
    """Bending stress of the cutter under the peak force (upper set) against what its material bears."""
    tooling, cutter = state.tooling, state.tooling.cutter
    force_n = state.loads(2).peak_n_mm * np.asarray(state.depth_mm)
    per_newton = root_stress_n_mm2(
        1.0,
        core_diameter_mm(cutter),
        min(cutter.flute_length_mm, tooling.stickout_mm),
        cutter.shank_mm,
        tooling.stickout_mm,
    )
    limit = tuning.HSS_STRESS_N_MM2 if cutter.material == "hss" else tuning.CARBIDE_STRESS_N_MM2
    return Need(force_n * per_newton, limit, "bending stress the cutter bears at its root", "estimate")


def deflection(state: State) -> Need:
    """Deflection of cutter, spindle and frame in series (nominal set) against the allowance."""
    given = state.tooling.finishing_mm if state.request.finish else state.tooling.roughing_mm
    material = state.tooling.material
    value = material.finishing_deflection_mm if state.request.finish else material.roughing_deflection_mm
    return Need(
        state.deflection_mm(1),
        state.deflection_allowed_mm,
        f"deflection allowed for {'finishing' if state.request.finish else 'roughing'}"
        + (" (given)" if given else ""),
        "given by you" if given else value.source,
    )


@lru_cache(maxsize=64)
def _chatter_curve(radial_ratio: float, damping: float) -> tuple[Array, Array]:
    """Engagement angles [rad] and the limit depth of a unit mode and unit coefficient there."""
    mode = VibrationMode(1000.0, damping, 1.0)
    angles = np.radians(np.array([5.0, 10.0, 20.0, 30.0, 45.0, 60.0, 75.0, 90.0, 110.0, 130.0, 155.0, 180.0]))
    depths = [
        conservative_limit_mm(ChatterCut(1.0, radial_ratio, 1, np.pi - angle, np.pi, (mode,), (mode,)))
        for angle in angles
    ]
    return angles, np.array(depths)


def chatter(state: State) -> Need:
    """Axial depth against the depth below which cutter and spindle cannot chatter at any speed.

    No first-cut reserve is kept of it: the lowest point of all lobes is a conservative bound already.
    """
    tooling = state.tooling
    nominal = tooling.edge_sets[1]
    modes = tooling.cutter_modes
    damping = modes[0].damping_ratio if modes else tuning.DEFAULT_DAMPING
    stiffness_n_um = 1.0 / (tooling.cutter_um_n + tooling.spindle_um_n)
    angles, depths = _chatter_curve(round(nominal.krc_n_mm2 / nominal.ktc_n_mm2, 3), damping)
    unit = np.exp(np.interp(np.asarray(state.engagement_rad, float), angles, np.log(depths)))
    limit = unit * stiffness_n_um / (nominal.ktc_n_mm2 * tooling.cutter.flutes)
    return Need(
        np.asarray(state.depth_mm, float),
        limit * tooling.margins.chatter,
        "depth at which cutter and spindle cannot chatter at any speed, damping ratio "
        f"{damping:g} {'measured' if modes else 'assumed'}",
        "Altintas & Budak, CIRP Annals 44/1 (1995) (from memory)",
    )


def flute_length(state: State) -> Need:
    """Axial depth against the length of the flutes."""
    return Need(
        np.asarray(state.depth_mm, float),
        state.tooling.cutter.flute_length_mm,
        "above its flutes the cutter rubs",
        state.tooling.cutter.source,
    )


def reach(state: State) -> Need:
    """Axial depth against the stickout less a clearance under the collet."""
    return Need(
        np.asarray(state.depth_mm, float),
        max(state.tooling.stickout_mm - tuning.STICKOUT_CLEARANCE_MM, 1e-3),
        "the collet nut must stay above the stock",
        "common practice, no source",
    )


def chip_room(state: State) -> Need:
    """Axial depth against what the chips can get out of."""
    material = state.tooling.material
    narrow = state.request.cut in FULL_WIDTH
    band = material.slot_depth_per_diameter if narrow else material.side_depth_per_diameter
    return Need(
        np.asarray(state.depth_mm, float),
        band.high * state.tooling.cutter.diameter_mm,
        f"{band.high:g} diameters deep is as far as chips get out of a {'slot' if narrow else 'side cut'}",
        band.source,
    )


def top_feed(state: State) -> Need:
    """Feed against the slower axis's highest feed."""
    feed = state.tooling.machine.max_feed_mm_min
    return Need(state.feed_mm_min, min(feed.x, feed.y), "highest feed of the slower axis", feed.source)


def acceleration(state: State) -> Need:
    """Feed against what can be reached between two corners."""
    axes = state.tooling.machine.acceleration_mm_s2
    segment = state.request.segment_mm or tuning.DEFAULT_SEGMENT_MM
    return Need(
        state.feed_mm_min,
        reachable_feed_mm_min(segment, min(axes.x, axes.y)),
        f"highest feed reached within {segment:g} mm from rest to rest",
        axes.source,
    )


DEPTH_LIMITS = (
    "spindle-power",
    "spindle-torque",
    "axis-thrust",
    "cutter-strength",
    "deflection",
    "chatter",
    "flute-length",
    "reach",
    "chip-room",
)
FEED_LIMITS = ("chip-load", "top-feed", "acceleration")
SPEED_LIMITS = ("cutting-speed", "spindle-top-speed")

LIMITS: tuple[Limit, ...] = (
    Limit("cutting-speed", "cutting speed", "m/min", False, cutting_speed),
    Limit("spindle-top-speed", "top speed", "rev/min", False, machine_speed),
    Limit("spindle-low-speed", "lowest speed", "rev/min", False, lowest_speed),
    Limit("chip-load", "greatest chip", "mm", False, chip_load),
    Limit("rubbing", "smallest chip", "mm", False, rubbing),
    Limit("spindle-power", "spindle power", "W", True, spindle_power),
    Limit("spindle-torque", "spindle torque", "N m", True, spindle_torque),
    Limit("axis-thrust", "axis push", "N", True, axis_thrust),
    Limit("cutter-strength", "cutter strength", "N/mm2", True, cutter_strength),
    Limit("deflection", "deflection", "mm", True, deflection),
    Limit("chatter", "chatter depth", "mm", False, chatter),
    Limit("flute-length", "flute length", "mm", False, flute_length),
    Limit("reach", "stickout", "mm", False, reach),
    Limit("chip-room", "chip room", "mm", False, chip_room),
    Limit("top-feed", "top feed", "mm/min", False, top_feed),
    Limit("acceleration", "acceleration", "mm/min", False, acceleration),
)


def worst_use(state: State, keys: tuple[str, ...] | None = None) -> Array:
    """Largest use of any limit's budget, for every setting.

    state: Settings to judge.
    keys: Limits to look at; None takes all.
    Returns: Greatest share / budget; at most 1 where every limit holds [-].
    """
    uses = [
        limit.function(state).share / limit.budget(state.request, state.tooling)
        for limit in LIMITS
        if keys is None or limit.key in keys
    ]
    return np.asarray(np.max(np.stack(np.broadcast_arrays(*uses)), axis=0))
