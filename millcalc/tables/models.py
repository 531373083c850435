"""Frozen models of the tables: materials, cutters, machines and the person's shop."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from millcalc.tables.machine_model import DialMark, DropLaw, Machine, Mode, PowerPoint, Spindle
from millcalc.tables.values import (
    Axes,
    AxisValues,
    Band,
    Caution,
    Confidence,
    Row,
    Source,
    Statement,
    Value,
    each_model,
)

__all__ = [
    "Axes",
    "AxisValues",
    "Band",
    "Caution",
    "ChipLoad",
    "Confidence",
    "Cutter",
    "CutterKind",
    "DialMark",
    "DrawerCutter",
    "DropLaw",
    "EdgeSet",
    "Heat",
    "Machine",
    "Material",
    "Mode",
    "PowerPoint",
    "Row",
    "Shop",
    "Source",
    "Speeds",
    "Spindle",
    "Statement",
    "Value",
    "each_model",
]


class Speeds(Row):
    """Cutting-speed bands [m/min] by cutter material; None where the cutter is not to be used."""

    carbide_uncoated: Band
    carbide_coated: Band | None = None
    hss: Band | None = None

    def band_for(self, cutter_material: str) -> Band | None:
        """The band of a cutter; a coated one cuts as an uncoated one where the table names none of its own.

        cutter_material: ``carbide uncoated``, ``carbide coated`` or ``hss``.
        Returns: Cutting speeds [m/min]; None where such a cutter is not to be used.
        """
        if cutter_material == "hss":
            return self.hss
        if cutter_material == "carbide coated":
            return self.carbide_coated or self.carbide_uncoated
        return self.carbide_uncoated


class ChipLoad(Row):
    """Chip-load band as a function of cutter diameter: fz = max(per_diameter * D, floor_mm).

    cut: ``any``, ``slot`` or ``side``: which cut the band is for.
    per_diameter: Chip load per millimetre of cutter diameter [mm/mm]; ``start`` is the light machine's
      value.
    floor_mm: Smallest recommended chip load, source and confidence as per_diameter's [mm].
    cap_mm: Largest recommended chip load, whatever the diameter; source as per_diameter's [mm].
    """

    cut: Literal["any", "slot", "side"]
    per_diameter: Band
    floor_mm: float = Field(gt=0)
    cap_mm: float = Field(gt=0)


class EdgeSet(Row):
    """One published set of linear-edge milling coefficients (Budak, Altintas & Armarego 1996 form).

    label: Alloy, tool and lubrication of the test.
    ktc_n_mm2, krc_n_mm2, kac_n_mm2: Cutting coefficients, tangential, radial, axial [N/mm2].
    kte_n_mm, kre_n_mm, kae_n_mm: Edge coefficients, tangential, radial, axial [N/mm].
    nominal: Whether this set is the nominal one of the material.
    """

    label: str
    ktc_n_mm2: float = Field(gt=0)
    krc_n_mm2: float = Field(ge=0)
    kac_n_mm2: float = 0.0
    kte_n_mm: float = Field(ge=0)
    kre_n_mm: float = Field(ge=0)
    kae_n_mm: float = 0.0
    source: str
    confidence: Confidence
    nominal: bool = False


class Heat(Row):
    """What heat does to the material in the cut."""

    behaviour: Literal["melts", "welds", "burns", "chars resin", "work hardens", "none"]
    text: str
    source: str
    confidence: Confidence


class Material(Row):
    """A work material. Every number carries its source.

    name: File stem, the name used on the command line.
    title: Name shown to the person.
    aliases: Other names that are understood.
    family: Broad family, decides which cautions are shown.
    iso_group: ISO 513 application group letter, where the material has one.
    kc11_n_mm2, mc: Kienzle specific force at h = b = 1 mm [N/mm2] and exponent [-].
    chip_cap_mm: Below this chip thickness [mm] the Kienzle fit is held constant; None for no cap.
    edge_sets: Published linear-edge sets; empty where none was found (then derived from Kienzle).
    cutting_speed_m_min: Cutting-speed bands [m/min].
    chip_load: Chip-load bands.
    min_chip_mm: Smallest chip that still cuts with a sharp cutter [mm].
    min_chip_edge_ratio: Smallest chip as a share of the cutter's edge radius [-].
    slot_depth_per_diameter, side_depth_per_diameter: Depth of cut per diameter [mm/mm]: ``start`` for a
      light machine, ``high`` the chip-room ceiling.
    ramp_angle_deg: Ramp angle [deg].
    plunge_share: Straight plunge feed as a share of the side feed [-].
    density_kg_m3: Density [kg/m3].
    shear_strength_n_mm2: Shear strength of a tab [N/mm2].
    finish_allowance_mm: Stock to leave for a finishing pass [mm].
    roughing_deflection_mm, finishing_deflection_mm: Deflection allowed at the tip [mm].
    taylor_n: Taylor tool-life exponent for carbide [-].
    max_flutes_slot: Most flutes that still clear their chips in a slot [-].
    source, confidence: Behind the plain fields (suitability, max_flutes_slot); a table file must give them.
    """

    name: str
    title: str
    aliases: tuple[str, ...] = ()
    family: Literal["aluminium", "copper alloy", "steel", "wood", "wood panel", "plastic", "foam", "laminate"]
    iso_group: Literal["P", "M", "K", "N", "S", "H", "O"] | None = None
    iso_group_source: str | None = None
    grade_known: bool = True
    suitability: Literal["good", "careful", "not recommended"]
    suitability_text: str
    kc11_n_mm2: Value
    mc: Value
    chip_cap_mm: Value | None = None
    edge_sets: tuple[EdgeSet, ...] = ()
    cutting_speed_m_min: Speeds
    chip_load: tuple[ChipLoad, ...] = Field(min_length=1)
    min_chip_mm: Value
    min_chip_edge_ratio: Value
    heat: Heat
    chip_hazard: Statement
    dust_hazard: Statement
    lubrication: Statement
    slot_depth_per_diameter: Band
    side_depth_per_diameter: Band
    ramp_angle_deg: Band
    plunge_share: Band
    density_kg_m3: Value
    shear_strength_n_mm2: Value
    finish_allowance_mm: Band
    roughing_deflection_mm: Value
    finishing_deflection_mm: Value
    taylor_n: Value | None = None
    max_flutes_slot: int = Field(default=4, ge=1, le=12)
    source: str | None = None
    confidence: Confidence | None = None
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def is_metal(self) -> bool:
        """Whether chips weld and pack as those of metals do."""
        return self.family in ("aluminium", "copper alloy", "steel")


CutterKind = Literal[
    "flat",
    "ball",
    "bull-nose",
    "vee",
    "engraving",
    "spot drill",
    "twist drill",
    "facing",
    "tapered ball",
]


class Cutter(Row):
    """A generic cutter, never a maker's catalogue entry.

    name: File stem, the name used on the command line.
    diameter_mm: Cutting diameter; for a vee, engraving or tapered ball cutter the largest one [mm].
    flutes: Cutting edges [-].
    flute_length_mm, shank_mm, overall_mm: Lengths and shank diameter [mm].
    helix_deg: Helix angle [deg]; negative for a down-cut.
    corner_radius_mm: Corner radius; D/2 for a ball; the ball radius of a tapered ball [mm].
    tip_diameter_mm: Flat at the point of a vee or engraving cutter [mm].
    included_angle_deg: Included angle of a vee, engraving cutter or drill point, or twice the taper [deg].
    edge_radius_um: Cutting-edge radius [um].
    max_rpm: Highest permitted speed [rev/min].
    centre_cutting: Whether the end cuts to the centre.
    """

    name: str
    title: str
    aliases: tuple[str, ...] = ()
    kind: CutterKind
    spiral: Literal["up", "down", "compression", "straight"]
    material: Literal["carbide uncoated", "carbide coated", "hss"]
    diameter_mm: float = Field(gt=0)
    flutes: int = Field(ge=1, le=12)
    flute_length_mm: float = Field(gt=0)
    shank_mm: float = Field(gt=0)
    overall_mm: float = Field(gt=0)
    helix_deg: float = Field(ge=-60, le=60)
    rake_deg: float = 10.0
    corner_radius_mm: float = Field(default=0.0, ge=0)
    tip_diameter_mm: float = Field(default=0.0, ge=0)
    included_angle_deg: float | None = None
    edge_radius_um: Value
    max_rpm: Value
    centre_cutting: bool
    source: str
    confidence: Confidence
    notes: tuple[str, ...] = ()


class DrawerCutter(Row):
    """A cutter the user owns: a table cutter by name, with measured values where they differ."""

    cutter: str
    diameter_mm: float | None = Field(default=None, gt=0)
    flute_length_mm: float | None = Field(default=None, gt=0)
    note: str = ""


class Shop(Row):
    """``shop.yaml``: the user's own machine and the cutters in the drawer."""

    machine: str
    cutters: tuple[Annotated[str, Field(min_length=1)] | DrawerCutter, ...] = ()
    materials: tuple[str, ...] = ()
    units: Literal["mm", "in"] = "mm"
