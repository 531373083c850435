"""A job with its names looked up and its stock placed in part coordinates."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from millcalc.job.models import Clamp, Job, JobCutter
from millcalc.tables.models import Cutter, Machine, Material


@dataclass(frozen=True, slots=True)
class Box:
    """An axis-aligned box in part coordinates [mm]."""

    x_min: float
    x_max: float
    y_min: float
    y_max: float
    z_min: float
    z_max: float


@dataclass(frozen=True, slots=True)
class Keepout:
    """A screw as a body of revolution in part coordinates: head and shank cylinders.

    name: ``screw 2`` and so on.
    x_mm, y_mm: Axis [mm].
    head_radius_mm, shank_radius_mm: Radii [mm]; 0 shank when unknown.
    z_top_mm: Top of the head [mm]; the stock top when countersunk.
    z_head_bottom_mm: Where the head ends and the shank begins [mm].
    z_bottom_mm: Lowest point of the screw [mm].
    margin_mm: Distance to keep, from how the position is known [mm].
    holds: Whether it holds the stock.
    """

    name: str
    x_mm: float
    y_mm: float
    head_radius_mm: float
    shank_radius_mm: float
    z_top_mm: float
    z_head_bottom_mm: float
    z_bottom_mm: float
    margin_mm: float
    holds: bool = True


@dataclass(frozen=True, slots=True)
class FittedCutter:
    """A cutter in the collet: the table row with the job's measured values put in.

    number: Tool number [-].
    cutter: Table row with replaced values.
    stickout_mm: From collet face to tip [mm].
    """

    number: int
    cutter: Cutter
    stickout_mm: float | None
    entry: JobCutter


@dataclass(frozen=True)
class Setup:
    """A job ready to be checked against; None wherever the job does not say.

    job: The job as written.
    path: File it came from.
    machine, material: Table rows.
    cutters: By tool number.
    stock: The stock in part coordinates; None unless size, thickness and zero are known.
    stock_top_mm, stock_bottom_mm: Heights in part coordinates, known from zero.z and the thickness alone
      [mm].
    screws: None when the job does not mention screws.
    clamps: None when the job does not mention clamps.
    incomplete: Dotted job fields that are unknown of a screw, clamp or cutter that is otherwise described,
      such as ``screws[2].head_height_mm``: what depends on them is not checked. A head of unknown height is
      taken as ending at the stock top, a head of unknown diameter as its shank.
    """

    job: Job
    path: Path | None
    machine: Machine | None
    material: Material | None
    cutters: dict[int, FittedCutter]
    stock: Box | None
    stock_top_mm: float | None
    stock_bottom_mm: float | None
    screws: tuple[Keepout, ...] | None
    clamps: tuple[tuple[Clamp, Box], ...] | None
    incomplete: tuple[str, ...] = ()
