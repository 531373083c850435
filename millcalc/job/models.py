"""Frozen models of a job file: what a person knows about the set-up. Most fields may be absent.

An absent field (None) turns the checks that need it into "not checked: ... is unknown", never into "fine".
"""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field


class Part(BaseModel):
    """Base of every job model: frozen, unknown fields refused, NaN and infinity refused.

    A number where a name belongs (``material: 6082``, ``dial_mark: 3``) is taken as that text.
    """

    model_config = ConfigDict(
        frozen=True, defer_build=True, extra="forbid", allow_inf_nan=False, coerce_numbers_to_str=True
    )


class Stock(Part):
    """The plate or block.

    size_x_mm, size_y_mm: Size along the machine axes [mm].
    thickness_mm: Measured thickness [mm].
    thickness_spread_mm: Thickest minus thinnest, if measured [mm].
    """

    size_x_mm: float | None = Field(default=None, gt=0)
    size_y_mm: float | None = Field(default=None, gt=0)
    thickness_mm: float | None = Field(default=None, gt=0)
    thickness_spread_mm: float | None = Field(default=None, ge=0)


CORNERS = ("front-left", "front-right", "back-left", "back-right", "centre")


class Zero(Part):
    """Where program zero lies on the stock.

    xy: Which corner of the stock, or its centre, is X0 Y0 before the offset.
    offset_x_mm, offset_y_mm: Position of program zero measured from that corner, along +X and +Y [mm].
    z: ``stock top``, ``bed top`` (the surface the stock lies on).
    offset_z_mm: Height of program zero above that surface [mm].
    work_offset: Work offset that was zeroed, e.g. ``G54``.
    """

    xy: Literal["front-left", "front-right", "back-left", "back-right", "centre"] | None = None
    offset_x_mm: float = 0.0
    offset_y_mm: float = 0.0
    z: Literal["stock top", "bed top"] | None = None
    offset_z_mm: float = 0.0
    work_offset: str | None = None


class Bed(Part):
    """What the stock lies on.

    spoilboard_mm: Thickness of the sacrificial board under the stock [mm].
    below: What is under that board.
    allowance_mm: How deep the program may cut into the board [mm].
    flatness_mm: Height error over the bed, if known [mm].
    drop_mm: From the Z carriage's lowest bearing to the tip when it cuts [mm].
    wood_density_kg_m3: Density of the board that holds the screws [kg/m3].
    """

    spoilboard_mm: float | None = Field(default=None, ge=0)
    below: Literal["wood", "metal", "nothing"] | None = None
    allowance_mm: float = Field(default=0.5, ge=0)
    flatness_mm: float | None = Field(default=None, ge=0)
    drop_mm: float | None = Field(default=None, gt=0)
    wood_density_kg_m3: float | None = Field(default=None, gt=0)


class Screw(Part):
    """A hold-down screw, in part coordinates (program zero).

    x_mm, y_mm: Position [mm].
    size: A standard screw size such as ``M4 pan`` or ``wood 4.0`` that supplies head and shank.
    head_diameter_mm, shank_diameter_mm: Diameters [mm].
    head_height_mm: Height of the head above the stock top; 0 when countersunk [mm].
    depth_in_bed_mm: Thread length in the bed [mm].
    placed: ``measured`` or ``guessed``: decides the margin.
    """

    x_mm: float
    y_mm: float
    size: str | None = None
    head_diameter_mm: float | None = Field(default=None, gt=0)
    shank_diameter_mm: float | None = Field(default=None, gt=0)
    head_height_mm: float | None = Field(default=None, ge=0)
    depth_in_bed_mm: float | None = Field(default=None, gt=0)
    placed: Literal["measured", "guessed"] = "guessed"
    holds: bool = True
    name: str = ""


class Clamp(Part):
    """A clamp or keep-out box, in part coordinates; height above the stock top [mm]."""

    x_min_mm: float
    x_max_mm: float
    y_min_mm: float
    y_max_mm: float
    height_mm: float | None = Field(default=None, ge=0)
    placed: Literal["measured", "guessed"] = "measured"
    holds: bool = True
    name: str = ""


HoldKind = Literal["tape", "vacuum", "vice", "side clamps", "waste screws", "tabs", "onion skin", "unknown"]


class Hold(Part):
    """Something that holds the work other than the screws and clamps whose places are listed.

    kind: ``tape`` (double-sided), ``vacuum``, ``vice``, ``side clamps`` (they press from the side against a
      stop), ``waste screws`` (through waste, places not listed), ``tabs`` or ``onion skin`` (they hold the
      part in its waste), ``unknown``.
    area_mm2: Area that sticks, or that the pressure acts on [mm2].
    shear_n_mm2: Shear strength of the tape as its maker states it or as measured [N/mm2].
    pressure_n_mm2: Pressure below that of the air, as the gauge shows it [N/mm2].
    force_n: Force with which vice or side clamps press [N].
    friction: Friction of the work on what it is pressed against [-].
    count: Number of screws or tabs [-].
    shank_diameter_mm, depth_in_bed_mm: Of each waste screw [mm].
    length_mm, thickness_mm: Of each tab along the outline; of a skin, all round the part [mm].
    source: Where shear, friction or force is from.
    """

    kind: HoldKind
    area_mm2: float | None = Field(default=None, gt=0)
    shear_n_mm2: float | None = Field(default=None, gt=0)
    pressure_n_mm2: float | None = Field(default=None, gt=0)
    force_n: float | None = Field(default=None, gt=0)
    friction: float | None = Field(default=None, gt=0, le=1.5)
    count: int | None = Field(default=None, ge=1, le=1000)
    shank_diameter_mm: float | None = Field(default=None, gt=0)
    depth_in_bed_mm: float | None = Field(default=None, gt=0)
    length_mm: float | None = Field(default=None, gt=0)
    thickness_mm: float | None = Field(default=None, gt=0)
    source: str | None = None


class JobCutter(Part):
    """A cutter fitted under a tool number.

    cutter: Name of a table cutter.
    stickout_mm: From collet face to tip [mm].
    diameter_mm, flute_length_mm, shank_mm: Measured values that replace the table's [mm].
    flutes: Replaces the table's [-].
    centre_cutting: Replaces the table's.
    """

    cutter: str
    stickout_mm: float | None = Field(default=None, gt=0)
    diameter_mm: float | None = Field(default=None, gt=0)
    flute_length_mm: float | None = Field(default=None, gt=0)
    shank_mm: float | None = Field(default=None, gt=0)
    flutes: int | None = Field(default=None, ge=1, le=12)
    centre_cutting: bool | None = None


class Nose(Part):
    """What sits above the cutter; replaces the machine table's values [mm]."""

    collet_nut_diameter_mm: float | None = Field(default=None, gt=0)
    collet_nut_length_mm: float | None = Field(default=None, gt=0)
    body_diameter_mm: float | None = Field(default=None, gt=0)
    shoe_radius_mm: float | None = Field(default=None, gt=0)
    shoe_height_mm: float | None = Field(default=None, ge=0)


class SpindleSetting(Part):
    """How the speed is set for this job.

    set_by: ``program``, ``dial`` or ``fixed``; None takes the machine table's.
    dial_mark: Mark the dial is set to.
    rpm: Speed the dial gives, if known [rev/min].
    """

    set_by: Literal["program", "dial", "fixed"] | None = None
    dial_mark: str | None = None
    rpm: float | None = Field(default=None, gt=0)


class Position(Part):
    """Where program zero lies in machine travel, measured from each axis's lower end [mm]."""

    x_mm: float | None = None
    y_mm: float | None = None
    z_mm: float | None = None


class Controller(Part):
    """What the controller can do; None is unknown."""

    profile: str | None = None
    arcs: bool | None = None
    tool_changer: bool | None = None
    canned_cycles: bool | None = None
    tool_length_offsets: bool | None = None
    dwell_unit: Literal["s", "ms"] | None = None


class Tolerance(Part):
    """What the person needs: deflection allowed when roughing and finishing, and arc chord error [mm]."""

    roughing_mm: float | None = Field(default=None, gt=0)
    finishing_mm: float | None = Field(default=None, gt=0)


class Quieted(Part):
    """A rule accepted for this job, with the reason that goes on the sheet."""

    code: str
    reason: str = Field(min_length=3)


class Job(Part):
    """A job file. See the field documentation of each group.

    machine: Machine table name; None takes the shop's.
    material: Material table name; None is unknown.
    program: Program file, relative to the job file.
    cooling: ``none``, ``air``, ``brush`` (drops by hand), ``mist`` or ``flood``.
    units: Unit of bare numbers in this file; every length may also carry its own unit.
    """

    title: str = ""
    units: Literal["mm", "in"] = "mm"
    machine: str | None = None
    material: str | None = None
    grade_known: bool | None = None
    program: str | None = None
    stock: Stock = Stock()
    zero: Zero = Zero()
    bed: Bed = Bed()
    screws: tuple[Screw, ...] | None = None
    clamps: tuple[Clamp, ...] | None = None
    hold: tuple[Hold, ...] | None = None
    cutters: dict[int, JobCutter] = Field(default_factory=dict)
    nose: Nose = Nose()
    spindle: SpindleSetting = SpindleSetting()
    position: Position = Position()
    controller: Controller = Controller()
    cooling: Literal["none", "air", "brush", "mist", "flood"] | None = None
    tolerance: Tolerance = Tolerance()
    proven: bool = False
    quiet: tuple[Quieted, ...] = ()
    notes: str = ""
