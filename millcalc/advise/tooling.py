"""Machine, material and cutter put together at a stickout and a drop, and the cut that is asked for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, Literal

import numpy as np

from millcalc.advise import tuning
from millcalc.errors import InputError
from millcalc.mechanics.deflection import cutter_compliance_um_n, machine_compliance_um_n
from millcalc.mechanics.engagement import (
    ball_effective_diameter_mm,
    bull_effective_diameter_mm,
    vee_effective_diameter_mm,
)
from millcalc.mechanics.linear_edge import EdgeCoefficients, edge_from_kienzle
from millcalc.mechanics.spindle import power_at_speed_w
from millcalc.tables.models import Band, ChipLoad, Cutter, Machine, Material, Mode

CutKind = Literal["slot", "side", "face", "plunge", "ramp", "helix", "drill"]
CUT_KINDS: tuple[CutKind, ...] = ("slot", "side", "face", "plunge", "ramp", "helix", "drill")
FULL_WIDTH: tuple[CutKind, ...] = ("slot", "plunge", "ramp", "helix", "drill")


@dataclass(frozen=True)
class Margins:
    """Factors on the soft limits, learned from the log; 1 is the bare physics [-]."""

    deflection: float = 1.0
    power: float = 1.0
    thrust: float = 1.0
    chatter: float = 1.0
    chip_high: float = 1.0
    chip_low: float = 1.0
    text: str = ""


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
        cutter = self.cutter
        return float(
            cutter_compliance_um_n(
                core_diameter_mm(cutter),
                min(cutter.flute_length_mm, self.stickout_mm),
                cutter.shank_mm,
                self.stickout_mm,
                self.youngs_n_mm2,
            )
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

    def budgets(self, request: CutRequest) -> dict[str, float]:
        """Share of each force-type limit that may be used.

        request: First cut or proven, and the kind of cut.
        Returns: By limit key; 1 for a proven cut, else what holds with the target probability [-].
        """
        if request.proven:
            return dict.fromkeys(tuning.FIRST_CUT_CHANCE, tuning.PROVEN_BUDGET)
        return self._slot_budgets if request.cut in FULL_WIDTH else self._side_budgets

    @cached_property
    def _slot_budgets(self) -> dict[str, float]:
        from millcalc.advise.uncertainty import first_cut_budgets

        return first_cut_budgets(self, "slot")

    @cached_property
    def _side_budgets(self) -> dict[str, float]:
        from millcalc.advise.uncertainty import first_cut_budgets

        return first_cut_budgets(self, "side")

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
        speeds = self.material.cutting_speed_m_min
        if self.cutter.material == "hss":
            return speeds.hss
        if self.cutter.material == "carbide coated" and speeds.carbide_coated is not None:
            return speeds.carbide_coated
        return speeds.carbide_uncoated

    def chip_row(self, cut: CutKind) -> ChipLoad:
        """The chip-load row that applies to a cut.

        cut: Kind of cut.
        Returns: The slot or side row, or the general one.
        """
        wanted = "slot" if cut in FULL_WIDTH else "side"
        rows = {row.cut: row for row in self.material.chip_load}
        return rows.get(wanted) or rows.get("any") or self.material.chip_load[0]  # type: ignore[call-overload]

    def chip_band_mm(self, cut: CutKind) -> tuple[float, float, float]:
        """Chip-load band of this cutter in this material.

        cut: Kind of cut.
        Returns: Low, starting and high chip load [mm/tooth].
        """
        row = self.chip_row(cut)
        diameter = self.chip_diameter_mm
        band = row.per_diameter
        start = band.start if band.start is not None else (band.low + band.high) / 2
        low, begin, high = (
            min(max(q * diameter, row.floor_mm), row.cap_mm) for q in (band.low, start, band.high)
        )
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
        """Smallest chip that still cuts: the material's floor or the edge radius share [mm]."""
        material = self.material
        edge = material.min_chip_edge_ratio.value * self.cutter.edge_radius_um.value / 1000.0
        return max(material.min_chip_mm.value, edge) * self.margins.chip_low

    @cached_property
    def edge_sets(self) -> tuple[EdgeCoefficients, EdgeCoefficients, EdgeCoefficients]:
        """Linear-edge coefficients: least, nominal and greatest force among the published ones.

        Where only one set or none is published the Kienzle value, with its spread, gives the missing ones.
        """
        material = self.material
        published = [
            EdgeCoefficients(s.ktc_n_mm2, s.krc_n_mm2, s.kac_n_mm2, s.kte_n_mm, s.kre_n_mm, s.kae_n_mm)
            for s in material.edge_sets
        ]
        if published:
            nominal = next(
                (c for c, s in zip(published, material.edge_sets, strict=True) if s.nominal), published[0]
            )
            ordered = sorted(published, key=_resultant_at_reference)
            least, most = ordered[0], ordered[-1]
            if len(published) == 1:
                least, most = _scaled(nominal, 0.6), _scaled(nominal, 1.4)
            return least, nominal, most
        return self._derived_sets()

    def _derived_sets(self) -> tuple[EdgeCoefficients, EdgeCoefficients, EdgeCoefficients]:
        """Least, nominal and greatest coefficients from the Kienzle value where no set is published.

        For metals the line is laid through the range the Kienzle fits were made in, and lowered by the factor by
        which such fits exceed milling data; for the rest through the chips that are cut, at the value itself.
        """
        material = self.material
        cap = material.chip_cap_mm.value if material.chip_cap_mm else None
        soft_metal = material.family in ("aluminium", "copper alloy")
        if soft_metal or material.family == "steel":
            low_mm, high_mm = tuning.KIENZLE_FIT_MM
        else:
            band = self.chip_band_mm("side")
            low_mm, high_mm = min(self.smallest_chip_mm, 0.5 * band[0]), band[2]
        kc = material.kc11_n_mm2
        excess = tuning.KIENZLE_EXCESS if soft_metal else 1.0

        def line(kc11_n_mm2: float) -> EdgeCoefficients:
            return edge_from_kienzle(
                kc11_n_mm2,
                material.mc.value,
                cap_mm=cap,
                radial_ratio=tuning.RADIAL_RATIO,
                axial_ratio=tuning.AXIAL_RATIO,
                chip_low_mm=low_mm,
                chip_high_mm=high_mm,
            )

        return (
            _scaled(line(kc.lowest), 1 / excess),
            _scaled(line(kc.value), 1 / excess),
            line(kc.highest),
        )

    def with_changes(self, **changes: Any) -> Tooling:
        """A copy with some attributes replaced.

        **changes: Attributes of Tooling and their new values.
        Returns: The changed copy.
        """
        return replace(self, **changes)

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


def default_stickout_mm(cutter: Cutter) -> float:
    """Stickout taken when none is given: flutes out of the collet, no more than needed.

    cutter: The cutter.
    Returns: Stickout [mm].
    """
    grip = min(2.0 * cutter.shank_mm, 0.4 * cutter.overall_mm)
    longest = cutter.overall_mm - grip
    return min(cutter.flute_length_mm + tuning.STICKOUT_PAST_FLUTES_MM, longest)


def make_tooling(
    machine: Machine,
    material: Material,
    cutter: Cutter,
    *,
    stickout_mm: float | None = None,
    drop_mm: float | None = None,
    roughing_mm: float | None = None,
    finishing_mm: float | None = None,
    margins: Margins | None = None,
    speed_set_by: Literal["program", "dial", "fixed"] | None = None,
) -> Tooling:
    """Put machine, material and cutter together and refuse what cannot be.

    machine: The machine.
    material: The work material.
    cutter: The cutter.
    stickout_mm: From collet face to tip; None takes flute length plus a little [mm].
    drop_mm: Drop; None takes the one the stiffness was stated at [mm].
    roughing_mm, finishing_mm: Deflection the person allows [mm].
    margins: What the log has taught.
    speed_set_by: ``program``, ``dial`` or ``fixed``; None takes the machine's.
    Returns: Ready for the limits.
    Raises InputError: If stickout or drop are impossible, the shank does not fit, or the cutter cannot run
      on this spindle.
    """
    stickout = default_stickout_mm(cutter) if stickout_mm is None else float(stickout_mm)
    if not 0 < stickout < cutter.overall_mm:
        raise InputError(
            f"{stickout:g} mm",
            f"more than 0 and less than the overall length of {cutter.title}, {cutter.overall_mm:g} mm",
            "measure from the collet face to the tip",
            field="stickout",
        )
    drop = machine.drop_mm if drop_mm is None else float(drop_mm)
    if not 0 < drop < 2000:
        raise InputError(f"{drop:g} mm", "more than 0 and less than 2000 mm", field="drop")
    if cutter.max_rpm.value < machine.spindle.min_rpm:
        raise InputError(
            f"{cutter.title}, allowed up to {cutter.max_rpm.value:.0f} rev/min",
            f"a cutter that may run at the spindle's lowest speed, {machine.spindle.min_rpm:.0f} rev/min",
            "do not fit this cutter in this spindle",
            field="cutter",
        )
    tooling = Tooling(
        machine,
        material,
        cutter,
        stickout,
        drop,
        roughing_mm,
        finishing_mm,
        margins or Margins(),
        speed_set_by,
    )
    if tooling.speed_band_m_min is None:
        raise InputError(
            f"{cutter.title} (HSS) in {material.title}",
            "a carbide cutter for this material",
            "choose a carbide cutter",
            field="cutter",
        )
    return tooling


def _resultant_at_reference(edge: EdgeCoefficients) -> float:
    """In-plane force per millimetre of depth at a chip of 0.03 mm [N/mm]."""
    chip_mm = 0.03
    tangential = edge.ktc_n_mm2 * chip_mm + edge.kte_n_mm
    radial = edge.krc_n_mm2 * chip_mm + edge.kre_n_mm
    return float(np.hypot(tangential, radial))


def _scaled(edge: EdgeCoefficients, factor: float) -> EdgeCoefficients:
    """The same coefficients, all times a factor."""
    return EdgeCoefficients(
        edge.ktc_n_mm2 * factor,
        edge.krc_n_mm2 * factor,
        edge.kac_n_mm2 * factor,
        edge.kte_n_mm * factor,
        edge.kre_n_mm * factor,
        edge.kae_n_mm * factor,
    )
