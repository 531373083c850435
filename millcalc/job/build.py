"""From a job to a set-up: names looked up in the tables, stock, screws and clamps placed in part coordinates."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from millcalc.errors import InputError, JobError, ManyErrors, TableError
from millcalc.job import tuning
from millcalc.job.models import Clamp, Job, JobCutter, Screw, Zero
from millcalc.job.read import job_line
from millcalc.job.screws import screw_size
from millcalc.job.setup import Box, FittedCutter, Keepout, Setup
from millcalc.tables import load_cutter, load_machine, load_material
from millcalc.tables.models import Cutter, Shop
from millcalc.tables.yaml_lines import Key, dotted

Found = TypeVar("Found")


def build_setup(job: Job, path: Path | None = None, shop: Shop | None = None) -> Setup:
    """Look up the names of a job and place its bodies in part coordinates.

    job: The job.
    path: File it came from, for errors.
    shop: The person's shop: supplies the machine where the job names none, and measured cutter values.
    Returns: What can be known; None, or an entry in `incomplete`, for what cannot.
    Raises JobError: If a machine, material or cutter is not in the tables (the closest names are offered),
      or a cutter's measured values contradict each other.
    Raises ManyErrors: If there are several such problems.

    Note: Part coordinates are those of the program: its zero is the origin. A countersunk head is taken as
      standing on the surface unless the job gives it the height 0. A screw reaches below the stock without
      end where its length is unknown.
    """
    errors: list[InputError] = []
    machine_name = job.machine if job.machine is not None else (shop.machine if shop else None)
    machine = _look_up(load_machine, machine_name, ("machine",), path, errors)
    material = _look_up(load_material, job.material, ("material",), path, errors)
    cutters: dict[int, FittedCutter] = {}
    for number, entry in sorted(job.cutters.items()):
        key: Key = ("cutters", number)
        row = _look_up(load_cutter, entry.cutter, (*key, "cutter"), path, errors)
        if row is not None:
            try:
                cutters[number] = _fitted(number, entry, row, shop)
            except ValueError as problem:
                found, _, accepted = str(problem).partition("; ")
                errors.append(_error(found, accepted, "measure it again", (*key, "stickout_mm"), path))
    if errors:
        raise errors[0] if len(errors) == 1 else ManyErrors(errors)
    top, bottom = stock_heights_mm(job)
    incomplete: list[str] = []
    screws, clamps = None, None
    if job.screws is not None:
        screws = tuple(_keepout(i, screw, top, bottom, incomplete) for i, screw in enumerate(job.screws))
    if job.clamps is not None:
        clamps = tuple((clamp, _clamp_box(i, clamp, top, incomplete)) for i, clamp in enumerate(job.clamps))
    incomplete += [f"cutters.{n}.stickout_mm" for n, fitted in cutters.items() if fitted.stickout_mm is None]
    return Setup(
        job=job,
        path=path,
        machine=machine,
        material=material,
        cutters=cutters,
        stock=_stock_box(job, top, bottom),
        stock_top_mm=top,
        stock_bottom_mm=bottom,
        screws=screws,
        clamps=clamps,
        incomplete=tuple(incomplete),
    )


def stock_heights_mm(job: Job) -> tuple[float | None, float | None]:
    """Heights of the stock's top and bottom in part coordinates.

    job: The job.
    Returns: top, bottom: Heights [mm]; None where zero or thickness is unknown.
    """
    thickness = job.stock.thickness_mm
    if job.zero.z is None:
        return None, None
    surface = 0.0 - job.zero.offset_z_mm
    if job.zero.z == "stock top":
        return surface, None if thickness is None else surface - thickness
    return (None if thickness is None else surface + thickness), surface


def stock_plan_mm(job: Job) -> tuple[float, float, float, float] | None:
    """Outline of the stock in part coordinates.

    job: The job.
    Returns: x_min, x_max, y_min, y_max [mm]; None where size or zero is unknown.
    """
    size_x, size_y, zero = job.stock.size_x_mm, job.stock.size_y_mm, job.zero
    if size_x is None or size_y is None or zero.xy is None:
        return None
    share_x, share_y = _corner_share(zero)
    x_min = 0.0 - zero.offset_x_mm - share_x * size_x
    y_min = 0.0 - zero.offset_y_mm - share_y * size_y
    return x_min, x_min + size_x, y_min, y_min + size_y


def _corner_share(zero: Zero) -> tuple[float, float]:
    """Where the named point lies on the stock, as shares of its size from the front left corner."""
    if zero.xy == "centre":
        return 0.5, 0.5
    name = zero.xy or ""
    return (1.0 if name.endswith("right") else 0.0), (1.0 if name.startswith("back") else 0.0)


def _stock_box(job: Job, top: float | None, bottom: float | None) -> Box | None:
    """The stock as a box, or None where something is unknown."""
    plan = stock_plan_mm(job)
    if plan is None or top is None or bottom is None:
        return None
    return Box(*plan, z_min=bottom, z_max=top)


def _keepout(
    index: int, screw: Screw, top: float | None, bottom: float | None, incomplete: list[str]
) -> Keepout:
    """A screw as head and shank cylinders; unknown facts are noted in `incomplete`."""
    size = None if screw.size is None else screw_size(screw.size)
    head = screw.head_diameter_mm or (size.head_diameter_mm if size else None)
    shank = screw.shank_diameter_mm or (size.shank_diameter_mm if size else None)
    height = screw.head_height_mm
    if height is None and size is not None:
        height = size.head_height_mm
    for name, value in (
        ("head_diameter_mm", head),
        ("shank_diameter_mm", shank),
        ("head_height_mm", height),
    ):
        if value is None:
            incomplete.append(dotted(("screws", index, name)))
    head_radius = (head if head is not None else shank or 0.0) / 2
    shank_radius = min(shank or 0.0, 2 * head_radius) / 2
    surface = math.nan if top is None else top
    sunk = height == 0.0
    depth_in_bed = screw.depth_in_bed_mm
    return Keepout(
        name=screw.name or f"screw {index + 1}",
        x_mm=screw.x_mm,
        y_mm=screw.y_mm,
        head_radius_mm=head_radius,
        shank_radius_mm=shank_radius,
        z_top_mm=surface + (height or 0.0),
        z_head_bottom_mm=surface - (head_radius - shank_radius if sunk else 0.0),
        z_bottom_mm=-math.inf if bottom is None or depth_in_bed is None else bottom - depth_in_bed,
        margin_mm=margin_mm(screw.placed),
        holds=screw.holds,
    )


def margin_mm(placed: str) -> float:
    """Distance to keep from a body, by how its position is known.

    placed: ``measured`` or ``guessed``.
    Returns: Distance [mm].
    """
    return tuning.MARGIN_MEASURED_MM if placed == "measured" else tuning.MARGIN_GUESSED_MM


def _clamp_box(index: int, clamp: Clamp, top: float | None, incomplete: list[str]) -> Box:
    """A clamp as a box from below the stock up to its top; an unknown height is noted and taken as 0."""
    if clamp.height_mm is None:
        incomplete.append(dotted(("clamps", index, "height_mm")))
    return Box(
        clamp.x_min_mm,
        clamp.x_max_mm,
        clamp.y_min_mm,
        clamp.y_max_mm,
        z_min=-math.inf,
        z_max=math.nan if top is None else top + (clamp.height_mm or 0.0),
    )


def _fitted(number: int, entry: JobCutter, row: Cutter, shop: Shop | None) -> FittedCutter:
    """A table cutter with the measured values of the shop and the job put in; ValueError if they clash."""
    changes: dict[str, object] = {}
    for owned in shop.cutters if shop else ():
        if not isinstance(owned, str) and owned.cutter in (row.name, *row.aliases):
            changes |= {"diameter_mm": owned.diameter_mm, "flute_length_mm": owned.flute_length_mm}
    for name in ("diameter_mm", "flute_length_mm", "shank_mm", "flutes", "centre_cutting"):
        value = getattr(entry, name)
        if value is not None:
            changes[name] = value
    changes = {name: value for name, value in changes.items() if value is not None}
    if "diameter_mm" in changes:
        ratio = float(str(changes["diameter_mm"])) / row.diameter_mm
        changes["tip_diameter_mm"] = row.tip_diameter_mm * min(1.0, ratio)
        round_end = row.kind == "ball"
        changes["corner_radius_mm"] = row.corner_radius_mm * (ratio if round_end else min(1.0, ratio))
    cutter = Cutter.model_validate(row.model_dump() | changes) if changes else row
    if entry.stickout_mm is not None and entry.stickout_mm >= cutter.overall_mm:
        raise ValueError(
            f"{entry.stickout_mm:g} mm, with a cutter {cutter.overall_mm:g} mm long overall; less than that"
        )
    if cutter.flute_length_mm > cutter.overall_mm:
        raise ValueError(
            f"flutes {cutter.flute_length_mm:g} mm long on a cutter of {cutter.overall_mm:g} mm; at most that"
        )
    return FittedCutter(number=number, cutter=cutter, stickout_mm=entry.stickout_mm, entry=entry)


def _look_up(
    load: Callable[[str], Found], name: str | None, key: Key, path: Path | None, errors: list[InputError]
) -> Found | None:
    """A table row by name; an unknown name is noted as an error of the job."""
    if name is None:
        return None
    try:
        return load(name)
    except TableError as problem:
        if problem.file is not None or problem.line is not None:
            raise  # the table itself cannot be used: its own place is the one to show
        errors.append(_error(problem.found, problem.accepted, problem.action, key, path))
        return None


def _error(found: str, accepted: str, action: str, key: Key, path: Path | None) -> JobError:
    """An error at a field of the job file."""
    line = None if path is None else job_line(path, key)
    field = f"cutters.{key[1]}.{key[2]}" if key[0] == "cutters" else dotted(key)
    return JobError(found, accepted, action, file=None if path is None else str(path), line=line, field=field)
