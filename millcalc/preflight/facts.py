"""Columns every rule needs, computed once: which cutter, which speed, which way, in the material or not."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.motions import DWELL, RAPID, MotionTable
from millcalc.preflight.geometry import gap_to_box, motion_bounds_mm, some
from millcalc.preflight.heights import SURFACE_MM, at_work_mm, travel_level_mm

if TYPE_CHECKING:
    from millcalc.job.setup import FittedCutter, Setup
    from millcalc.stock.result import Removal

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
STILL_MM = 1e-6  # mm; shorter is no motion
MOST_LEVELS = 200  # levels; more is surfacing, where "depth per level" means nothing
UNKNOWN_RADIUS_MM = 0.05  # mm; a cutter of unknown size is at least this large
LEVEL_STEP_MM = 1e-3  # mm; levels closer than this are one
STEEP_DEG = 45.0  # deg; going down steeper counts as a plunge


class Facts:
    """Derived columns, one entry a motion unless said otherwise; NaN is unknown.

    motions: What the program moves.
    setup: The job, or None.
    removal: What was simulated, or None.
    """

    def __init__(self, motions: MotionTable, setup: Setup | None, removal: Removal | None) -> None:
        self.motions = motions
        self.n = len(motions)
        self._setup, self._removal = setup, removal
        self.top_mm: float | None = setup.stock_top_mm if setup else None
        self.bottom_mm: float | None = setup.stock_bottom_mm if setup else None

    # -- where ---------------------------------------------------------------------------------
    @cached_property
    def bounds(self) -> tuple[Floats, Floats]:
        """Lowest and highest coordinates of each motion [mm]."""
        return motion_bounds_mm(self.motions)

    @cached_property
    def z_low(self) -> Floats:
        """Lowest known height of each motion [mm]; NaN when neither end is known."""
        motions = self.motions
        low = np.fmin(motions.start_mm[:, 2], motions.end_mm[:, 2])
        upright = np.flatnonzero(motions.is_arc & (motions.plane != 17))
        if len(upright):
            low[upright] = np.fmin(low[upright], motion_bounds_mm(some(motions, upright))[0][:, 2])
        return np.asarray(low)

    @cached_property
    def dz(self) -> Floats:
        """Rise of each motion [mm]."""
        return np.asarray(self.motions.end_mm[:, 2] - self.motions.start_mm[:, 2])

    @cached_property
    def plan_mm(self) -> Floats:
        """Length of each motion seen from above [mm]."""
        start, end = self.motions.start_mm, self.motions.end_mm
        plan = np.hypot(end[:, 0] - start[:, 0], end[:, 1] - start[:, 1])
        arcs = np.flatnonzero(self.motions.is_arc & (self.motions.plane == 17))
        with np.errstate(invalid="ignore"):
            plan[arcs] = np.sqrt(np.abs(self.motions.length_mm[arcs] ** 2 - self.dz[arcs] ** 2))
        return np.asarray(plan)

    @property
    def drop_deg(self) -> Floats:
        """Angle at which each motion goes down [deg]; 90 is straight down, negative goes up."""
        angle: Floats = np.negative(self.dz)
        np.arctan2(angle, self.plan_mm, out=angle)
        return np.degrees(angle, out=angle)

    # -- kind ----------------------------------------------------------------------------------
    @cached_property
    def feed(self) -> Mask:
        """Motions at feed rate."""
        return self.motions.is_feed

    @cached_property
    def rapid(self) -> Mask:
        """Rapid motions."""
        return np.asarray(self.motions.kind == RAPID)

    @cached_property
    def going_down(self) -> Mask:
        """Feed motions that go down."""
        return np.asarray(self.feed & (self.dz < -STILL_MM))

    @cached_property
    def straight_down(self) -> Mask:
        """Feed motions that go straight down, no sideways part."""
        return np.asarray(self.going_down & (self.plan_mm <= STILL_MM))

    @cached_property
    def sideways(self) -> Mask:
        """Feed motions with a sideways part that do not go down steeply (under 0.5 degrees)."""
        return np.asarray(self.feed & (self.plan_mm > STILL_MM) & (np.abs(self.drop_deg) < 0.5))

    @cached_property
    def milling(self) -> Mask:
        """Feed motions that mill: level, rising at any slope, or going down at up to 45 degrees; steeper plunges."""
        return np.asarray(self.feed & (self.plan_mm > STILL_MM) & (self.drop_deg <= STEEP_DEG))

    # -- cutter --------------------------------------------------------------------------------
    @cached_property
    def assumed_tool(self) -> int | None:
        """Tool number assumed because the program names none and the job has exactly one cutter."""
        setup = self._setup
        if setup and len(setup.cutters) == 1 and self.n and bool((self.motions.tool < 0).all()):
            return next(iter(setup.cutters))
        return None

    @cached_property
    def tool(self) -> NDArray[np.int32]:
        """Tool number of each motion, -1 unknown [-]."""
        if self.assumed_tool is not None:
            return np.full(self.n, self.assumed_tool, np.int32)
        return self.motions.tool

    @cached_property
    def tools(self) -> tuple[int, ...]:
        """Tool numbers that move at feed, ascending; -1 for unknown."""
        return _numbers(self.tool[self.feed])

    def fitted(self, number: int) -> FittedCutter | None:
        """Cutter of a tool number, or None when the job has none.

        number: Tool number [-].
        Returns: The job's entry.
        """
        setup = self._setup
        return setup.cutters.get(number) if setup else None

    def split(self, mask: Mask) -> list[tuple[int, NDArray[np.intp]]]:
        """Rows of a mask, one entry a tool number.

        mask: Motions of interest.
        Returns: Tool number and its rows, ascending; tools without rows left out.
        """
        rows = np.flatnonzero(mask)
        tools = self.tool[rows]
        numbers = _numbers(tools)
        if len(numbers) == 1:
            return [(numbers[0], rows)]
        return [(t, rows[tools == t]) for t in numbers]

    def per_tool(self, values: dict[int, float | None]) -> Floats:
        """A column from one value a tool number.

        values: Value of each tool number (any unit).
        Returns: The value of each motion's tool, NaN where there is none.
        """
        if all(value is None for value in values.values()):
            return self._unknown
        column = np.full(self.n, np.nan)
        for number, value in values.items():
            if value is not None:
                column[self.tool == number] = value
        if len(column) and (column == column[0]).all():  # one tool: without memory
            return np.broadcast_to(column[0].copy(), column.shape)
        return column

    @cached_property
    def _unknown(self) -> Floats:
        """NaN in every row, without memory."""
        return np.broadcast_to(np.array(np.nan), (self.n,))

    def _of_cutters(self, name: str) -> Floats:
        setup = self._setup
        cutters = setup.cutters if setup else {}
        return self.per_tool({number: float(getattr(f.cutter, name)) for number, f in cutters.items()})

    @cached_property
    def diameter_mm(self) -> Floats:
        """Cutter diameter [mm]."""
        return self._of_cutters("diameter_mm")

    @cached_property
    def flutes(self) -> Floats:
        """Cutting edges [-]."""
        return self._of_cutters("flutes")

    @cached_property
    def stickout_mm(self) -> Floats:
        """Stickout from the collet face [mm]."""
        setup = self._setup
        cutters = setup.cutters if setup else {}
        return self.per_tool({number: f.stickout_mm for number, f in cutters.items()})

    # -- speed ---------------------------------------------------------------------------------
    @cached_property
    def speed_set_by(self) -> str | None:
        """``program``, ``dial`` or ``fixed``; None when unknown."""
        setup = self._setup
        if setup is None:
            return None
        if setup.job.spindle.set_by:
            return setup.job.spindle.set_by
        return setup.machine.spindle.speed_set_by if setup.machine else None

    @cached_property
    def hand_rpm(self) -> float | None:
        """Speed of a hand-dialled or fixed spindle [rev/min]; None when the program sets it or unknown."""
        setup = self._setup
        if setup is None or self.speed_set_by not in ("dial", "fixed"):
            return None
        wish = setup.job.spindle
        if wish.rpm is not None:
            return wish.rpm
        spindle = setup.machine.spindle if setup.machine else None
        if spindle is None:
            return None
        for mark in spindle.dial:
            if mark.mark == wish.dial_mark:
                return mark.rpm
        if self.speed_set_by == "fixed" and spindle.min_rpm == spindle.max_rpm:
            return spindle.max_rpm
        return None

    @cached_property
    def rpm(self) -> Floats:
        """Speed the spindle really turns at [rev/min]: the dial's where it is dialled, else the S word's."""
        if self.speed_set_by in ("dial", "fixed"):
            return np.full(self.n, np.nan if self.hand_rpm is None else self.hand_rpm)
        return self.motions.spindle_rpm

    @cached_property
    def feed_mm_min(self) -> Floats:
        """Feed along the path in mm/min, whatever the feed mode [mm/min]."""
        return self.motions.feed_mm_min  # the reader has multiplied a feed per revolution by S

    @cached_property
    def chip_mm(self) -> Floats:
        """Feed per tooth at the commanded feed [mm]; NaN where that feed is zero or the speed unknown."""
        if self.flutes is self._unknown:
            return self._unknown
        with np.errstate(divide="ignore", invalid="ignore"):
            chip = self.feed_mm_min / (self.rpm * self.flutes)
        return np.where(self.feed & np.isfinite(chip) & (chip > 0), chip, np.nan)

    # -- in the material -----------------------------------------------------------------------
    @cached_property
    def travel_level_mm(self) -> float | None:
        """Height at which the program travels [mm]; see `heights.travel_level_mm`."""
        return travel_level_mm(self)

    @cached_property
    def at_work_mm(self) -> float | None:
        """Height under which the cutter is at the work [mm]; see `heights.at_work_mm`."""
        return at_work_mm(self)

    @cached_property
    def inside(self) -> Mask:
        """Motions (rapids too) whose cutter would be inside the uncut stock, seen from above and in height."""
        low = np.nan_to_num(self.z_low, nan=np.inf)
        if self.top_mm is None:
            level = self.travel_level_mm
            return np.asarray(low < (level - SURFACE_MM if level is not None else -np.inf))
        below = low < self.top_mm - SURFACE_MM
        stock = self._setup.stock if self._setup else None
        if stock is None or not below.any():
            return np.asarray(below)
        gap = gap_to_box(
            self.motions,
            sides_mm=(stock.x_min, stock.x_max, stock.y_min, stock.y_max),
            top_mm=self.top_mm - SURFACE_MM,
            body_radius_mm=np.nan_to_num(self.diameter_mm / 2, nan=UNKNOWN_RADIUS_MM),
            reach_mm=1.0,
        ).gap_mm
        return np.asarray(below & (np.isnan(gap) | (gap < -STILL_MM)))

    @cached_property
    def cutting(self) -> Mask:
        """Feed motions that cut: from the simulation where there is one, else those inside the uncut stock."""
        removal = self._removal
        if removal is not None:
            return np.asarray(self.feed & (removal.volume_mm3 > 1e-6))
        return np.asarray(self.feed & self.inside)

    @property
    def cutting_basis(self) -> str:
        """How it is known which motions cut, in words."""
        if self._removal is not None:
            return "by simulating the cut"
        if self._setup and self._setup.stock:
            return "taking the stock as uncut"
        if self.top_mm is not None:
            return "taking everything below the stock top as a cut"
        return "taking feed motions below the program's travel height as cuts"

    @cached_property
    def first_cut(self) -> int | None:
        """Row of the first cutting motion, or None."""
        rows = np.flatnonzero(self.cutting)
        return int(rows[0]) if len(rows) else None

    # -- depth ---------------------------------------------------------------------------------
    @cached_property
    def depth_mm(self) -> Floats:
        """Axial depth of each cut [mm]: simulated, else below the next higher level cut before; NaN unknown."""
        removal = self._removal
        if removal is not None:
            return np.where(self.cutting, removal.axial_depth_mm, np.nan).astype(np.float64)
        if self.top_mm is None:
            return self._unknown
        depth = np.full(self.n, np.nan)
        rows = np.flatnonzero(self.cutting & (self.plan_mm > STILL_MM) & np.isfinite(self.dz))
        level = np.abs(self.dz[rows]) <= STILL_MM
        low = np.round(self.z_low[rows] / LEVEL_STEP_MM) * LEVEL_STEP_MM
        levels = np.unique(low[level])[::-1]  # highest first
        if len(levels) > MOST_LEVELS:
            return depth
        above = np.full(len(rows), self.top_mm)  # the lowest level at or above the tip that was cut before
        for height in levels:
            first = rows[level][low[level] == height][0]
            above[(first < rows) & (low < height - LEVEL_STEP_MM / 2)] = height
        depth[rows] = above - low
        return depth

    @cached_property
    def width_mm(self) -> Floats:
        """Radial width of each cut [mm]: simulated, else the whole diameter (a slot)."""
        removal = self._removal
        if removal is not None:
            return np.where(self.cutting, removal.radial_width_mm, np.nan).astype(np.float64)
        return np.where(self.cutting, self.diameter_mm, np.nan)

    @cached_property
    def standing(self) -> Mask:
        """Dwells."""
        return np.asarray(self.motions.kind == DWELL)


def _numbers(tools: NDArray[np.int32]) -> tuple[int, ...]:
    """Distinct tool numbers, ascending; quick for the usual single one."""
    if not len(tools):
        return ()
    least, most = int(tools.min()), int(tools.max())
    if least == most:
        return (least,)
    return tuple(int(t) for t in np.unique(tools))
