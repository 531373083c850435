"""A cutter in a machine, about to cut a material: springs, speeds, chips and coefficients."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, Literal

import numpy as np

from millcalc.limits import tuning
from millcalc.limits.coefficients import EdgeSets, edge_sets
from millcalc.limits.learned_words import LIMIT_WORDS
from millcalc.limits.request import FULL_WIDTH, CutKind
from millcalc.mechanics.chip import least_chip_mm
from millcalc.mechanics.deflection import cutter_compliance_um_n, machine_compliance_um_n
from millcalc.mechanics.engagement import (
    ball_effective_diameter_mm,
    bull_effective_diameter_mm,
    vee_effective_diameter_mm,
)
from millcalc.mechanics.spindle import power_at_speed_w
from millcalc.tables.models import Band, ChipLoad, Cutter, Machine, Material, Mode

ROUNDED_ENDS = ("ball", "bull-nose", "tapered ball", "vee", "engraving", "spot drill")
_SLICES = 129  # of a rounded or pointed end, for its cross section


@dataclass(frozen=True, slots=True)
class FailedCut:
    """A logged cut with this machine, material and cutter that failed: its kind, depth and width [mm]."""

    cut: str
    depth_mm: float
    width_mm: float


@dataclass(frozen=True)
class Margins:
    """Factors on the soft limits, learned from the log; 1 is the bare physics [-]; and what failed with this cutter."""

    deflection: float = 1.0
    power: float = 1.0
    thrust: float = 1.0
    chatter: float = 1.0
    chip_high: float = 1.0
    chip_low: float = 1.0
    text: str = ""
    measure: str = ""  # why nothing should be advised before the machine was measured; empty where it may
    failed: tuple[FailedCut, ...] = ()

    @property
    def in_short(self) -> str:
        """What was learned in one sentence: each limit that is taken higher or lower, and by how much.

        >>> Margins(deflection=0.9, chip_low=1.25).in_short
        'the log takes deflection at 0.90, smallest chip at 0.80 times what is computed (--no-learn leaves it out)'
        """
        factors = {kind: float(getattr(self, kind)) for kind in LIMIT_WORDS if hasattr(self, kind)}
        factors["chip_low"] = 1.0 / self.chip_low
        told = [
            f"{LIMIT_WORDS[kind]} at {value:.2f}" for kind, value in factors.items() if abs(value - 1) > 0.004
        ]
        if not told:
            return self.text
        measure = "; a cut failed far below a limit: measure the machine" * ("measure this" in self.text)
        return f"the log takes {', '.join(told)} times what is computed (--no-learn leaves it out){measure}"


@dataclass(frozen=True)
class Tooling:
    """A cutter in a machine, about to cut a material.

    machine, material, cutter: Table rows (measured values put in).
    stickout_mm: From collet face to tip [mm].
    drop_mm: From the Z carriage's lowest bearing to the tip [mm].
    roughing_mm, finishing_mm: Deflection the person allows; None takes the material's [mm].
    margins: What the log has taught about this machine.
    """

    machine: Machine
    material: Material
    cutter: Cutter
    stickout_mm: float
    drop_mm: float
    roughing_mm: float | None = None
    finishing_mm: float | None = None
    margins: Margins = Margins()
    speed_set_by: Literal["program", "dial", "fixed"] | None = None

    # -- springs in series -------------------------------------------------------------------------
    @property
    def youngs_n_mm2(self) -> float:
        """Young's modulus of the cutter [N/mm2]."""
        return tuning.HSS_YOUNGS_N_MM2 if self.cutter.material == "hss" else tuning.CARBIDE_YOUNGS_N_MM2

    @cached_property
    def cutter_um_n(self) -> float:
        """Bending compliance of the cutter at its tip [um/N]."""
        return float(self.cutter_um_n_at(0.0))

    def cutter_um_n_at(self, load_height_mm: Any) -> Any:
        """How far the tip bends for 1 N at a height above it [um/N].

        load_height_mm: Height of the load [mm].
        """
        cutter = self.cutter
        return cutter_compliance_um_n(
            core_diameter_mm(cutter),
            min(cutter.flute_length_mm, self.stickout_mm),
            cutter.shank_mm,
            self.stickout_mm,
            self.youngs_n_mm2,
            load_height_mm=load_height_mm,
        )

    @property
    def spindle_um_n(self) -> float:
        """Compliance of collet and spindle [um/N]."""
        return 1.0 / self.machine.spindle.stiffness_n_um.value

    def frame_axis_um_n(self, axis: Literal["x", "y"]) -> float:
        """Compliance of the frame along one axis at this drop.

        axis: ``x`` or ``y``.
        Returns: Compliance [um/N].
        """
        machine, law = self.machine, self.machine.drop_law
        return float(
            machine_compliance_um_n(
                getattr(machine.stiffness_n_um, axis),
                machine.drop_mm,
                self.drop_mm,
                law.base,
                law.rotary,
                law.bending,
            )
        )

    @cached_property
    def frame_um_n(self) -> float:
        """Compliance of the frame along its weaker lateral axis at this drop [um/N]."""
        return max(self.frame_axis_um_n("x"), self.frame_axis_um_n("y"))

    @property
    def total_um_n(self) -> float:
        """Cutter, collet and spindle, and frame in series [um/N]."""
        return self.cutter_um_n + self.spindle_um_n + self.frame_um_n

    @cached_property
    def frame_mode_hz(self) -> float:
        """Lowest lateral frame mode, measured or estimated from stiffness and moving mass [Hz]."""
        lateral = [
            mode.frequency_hz
            for mode in self.machine.modes
            if mode.axis in ("x", "y") and mode not in self.cutter_modes
        ]
        if lateral:
            return min(lateral)
        stiffness_n_m = 1e6 / self.frame_um_n
        return float(np.sqrt(stiffness_n_m / tuning.DEFAULT_MOVING_MASS_KG) / (2 * np.pi))

    @property
    def cutter_modes(self) -> tuple[Mode, ...]:
        """Lateral modes measured at a cutter: those named ``cutter ...``."""
        return tuple(
            mode
            for mode in self.machine.modes
            if mode.axis in ("x", "y") and mode.name.split()[:1] == ["cutter"]
        )

    # -- spindle -----------------------------------------------------------------------------------
    @property
    def runout_mm(self) -> float:
        """Run-out at the cutter, total indicator reading [mm]."""
        return self.machine.spindle.runout_um.value / 1000.0

    @property
    def uses_dial(self) -> bool:
        """Whether the speed is dialled by hand."""
        return (self.speed_set_by or self.machine.spindle.speed_set_by) != "program"

    @property
    def dial_rpm(self) -> tuple[float, ...]:
        """Speeds of the dial's marks, rising [rev/min]; none where the program sets the speed or no mark is known."""
        return tuple(sorted(mark.rpm for mark in self.machine.spindle.dial)) if self.uses_dial else ()

    @property
    def lowest_rpm(self) -> float:
        """Lowest usable spindle speed [rev/min]."""
        return self.machine.spindle.min_rpm

    @property
    def highest_rpm(self) -> float:
        """Highest speed that both spindle and cutter allow [rev/min]."""
        return min(self.machine.spindle.max_rpm, self.cutter.max_rpm.value)

    def available_power_w(self, speed_rpm: Any) -> Any:
        """Shaft power at a speed, linear between the table's points, constant torque below the first.

        speed_rpm: Spindle speed [rev/min].
        Returns: Power [W].
        """
        points = self.machine.spindle.power
        return power_at_speed_w(speed_rpm, [p.rpm for p in points], [p.power_w for p in points])

    # -- material ----------------------------------------------------------------------------------
    @cached_property
    def speed_band_m_min(self) -> Band | None:
        """Cutting-speed band for this cutter material [m/min]; None when it is not to be used."""
        return self.material.cutting_speed_m_min.band_for(self.cutter.material)

    def chip_row(self, cut: CutKind) -> ChipLoad:
        """The chip-load row that applies to a cut.

        cut: Kind of cut.
        Returns: The slot or side row, or the general one.
        """
        wanted = "slot" if cut in FULL_WIDTH else "side"
        rows: dict[str, ChipLoad] = {row.cut: row for row in self.material.chip_load}
        return rows.get(wanted) or rows["any"]  # a material has a row for any cut, or one for each

    def chip_band_mm(self, cut: CutKind) -> tuple[float, float, float]:
        """Chip-load band of this cutter in this material.

        cut: Kind of cut.
        Returns: Low, starting and high chip load [mm/tooth].
        """
        row = self.chip_row(cut)
        diameter = self.chip_diameter_mm
        band = row.per_diameter
        low, begin, high = (
            min(max(q * diameter, row.floor_mm), row.cap_mm) for q in (band.low, band.begin, band.high)
        )
        # what only rubs is no start, nor what rounding the feed takes below the band: a twentieth more leaves room
        begin = max(begin, 1.05 * self.smallest_chip_mm / tuning.RUBBING_BUDGET, min(1.05 * low, high))
        low = min(low, begin)
        return low, begin, max(high * self.margins.chip_high, begin)

    @property
    def chip_diameter_mm(self) -> float:
        """Diameter the chip-load band scales with [mm]: the small end of a tapered or pointed cutter."""
        cutter = self.cutter
        if cutter.kind == "tapered ball":
            return 2 * cutter.corner_radius_mm
        if cutter.kind == "engraving":
            return max(cutter.tip_diameter_mm, 0.1 * cutter.diameter_mm)
        if cutter.kind == "vee":
            return max(cutter.tip_diameter_mm, 0.5 * cutter.diameter_mm)
        return cutter.diameter_mm

    @property
    def smallest_chip_mm(self) -> float:
        """Smallest chip that still cuts: the material's floor or the edge radius share [mm].

        In wood the floor keeps the edge cool; a cutter below ``SLENDER_MM`` is slow at its rim and takes less.
        """
        material, floor = self.material, self.material.min_chip_mm
        edge = float(least_chip_mm(self.cutter.edge_radius_um.value, material.min_chip_edge_ratio.value))
        small = (
            min(self.chip_diameter_mm / tuning.SLENDER_MM, 1.0) if material.family.startswith("wood") else 1.0
        )
        return max(small * floor.value, min(floor.lowest, floor.value), edge) * self.margins.chip_low

    @property
    def thin_chip_mm(self) -> float:
        """Thinnest chip to aim at: the smallest that cuts, and the distance from it that its limit keeps [mm]."""
        return self.smallest_chip_mm / tuning.RUBBING_BUDGET

    @cached_property
    def edge_sets(self) -> EdgeSets:
        """Linear-edge coefficients: least, nominal and greatest force among the published ones."""
        band = self.chip_band_mm("side")
        return edge_sets(self.material, min(self.smallest_chip_mm, 0.5 * band[0]), band[2])

    def section_mm2(self, depth_mm: float, width_mm: float) -> float:
        """Cross section that a pass takes off: a triangle under a point, a segment under a ball [mm2].

        depth_mm, width_mm: Axial depth and radial width of cut [mm].
        """
        if self.cutter.kind not in ROUNDED_ENDS:
            return depth_mm * width_mm
        heights = (np.arange(_SLICES) + 0.5) / _SLICES * depth_mm
        return depth_mm * float(np.minimum(width_mm, self.effective_diameter_mm(heights)).mean())

    def with_changes(self, **changes: Any) -> Tooling:
        """A copy with some attributes replaced.

        **changes: Attributes of Tooling and their new values.
        Returns: The changed copy; what failed with one cutter says nothing of another and is left behind.
        """
        changed = replace(self, **changes)
        if changed.cutter is self.cutter or "margins" in changes:
            return changed
        return replace(changed, margins=replace(self.margins, failed=()))

    def effective_diameter_mm(self, depth_mm: Any) -> Any:
        """Largest cutting diameter at a depth: the full one for a flat end.

        depth_mm: Axial depth of cut [mm].
        Returns: Diameter [mm].
        """
        cutter = self.cutter
        full = cutter.diameter_mm
        depth = np.minimum(np.asarray(depth_mm, dtype=float), cutter.flute_length_mm)
        if cutter.kind == "ball":
            return ball_effective_diameter_mm(np.minimum(depth, full / 2), full)
        if cutter.kind == "bull-nose":
            return bull_effective_diameter_mm(depth, cutter.corner_radius_mm, full)
        if cutter.kind in ("vee", "engraving", "spot drill"):
            angle = cutter.included_angle_deg or 90.0
            return vee_effective_diameter_mm(depth, cutter.tip_diameter_mm, angle, full)
        if cutter.kind == "tapered ball":
            ball = 2 * cutter.corner_radius_mm
            cone = np.tan(np.radians((cutter.included_angle_deg or 0.0) / 2))
            above = np.maximum(depth - ball / 2, 0.0)
            small = ball_effective_diameter_mm(np.minimum(depth, ball / 2), ball)
            return np.minimum(small + 2 * above * cone, full)
        return np.full_like(depth, full) if depth.ndim else full


def core_diameter_mm(cutter: Cutter) -> float:
    """Diameter that stands for the fluted part in bending.

    cutter: The cutter.
    Returns: The cutting diameter; for pointed and tapered cutters the mean of tip and full diameter; for
      cutters wider than their shank the shank diameter, since the neck bends [mm].
    """
    if cutter.kind in ("vee", "engraving"):
        return min((cutter.tip_diameter_mm + cutter.diameter_mm) / 2, cutter.shank_mm)
    if cutter.kind == "tapered ball":
        return (2 * cutter.corner_radius_mm + cutter.diameter_mm) / 2
    return min(cutter.diameter_mm, cutter.shank_mm) if cutter.kind == "facing" else cutter.diameter_mm
