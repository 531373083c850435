"""What the advice allows a cutter in this job, in the words the rules need."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from millcalc.errors import InputError
from millcalc.limits.tuning import PLUNGE_STROKE_PER_DIAMETER

if TYPE_CHECKING:
    from millcalc.job.setup import FittedCutter
    from millcalc.limits.tooling import Tooling
    from millcalc.preflight.context import Context

SLOT_SHARE = 0.9  # of the diameter; wider counts as a slot


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits of one cutter in one material.

    chip_low_mm, chip_begin_mm, chip_high_mm: Chip-load band, and how thick a first cut's chip may be [mm].
    min_chip_mm: Thinnest chip that still cuts [mm].
    chip_diameter_mm: Diameter the band belongs to [mm].
    plunge_share: Straight plunge feed as a share of the side feed [-].
    stroke_mm: Deepest straight plunge before a retract [mm].
    ramp_angle_deg: Steepest ramp [deg].
    source: Source of the chip band.
    """

    chip_low_mm: float
    chip_begin_mm: float
    chip_high_mm: float
    min_chip_mm: float
    chip_diameter_mm: float
    plunge_share: float
    stroke_mm: float
    ramp_angle_deg: float
    source: str


def tooling(ctx: Context, tool: int) -> Tooling | str:
    """Machine, material and fitted cutter put together, as the advice sees them.

    ctx: Program and set-up.
    tool: Tool number [-].
    Returns: Or why it cannot be put together, in words.
    """
    from millcalc.limits.fitted import tooling_for

    if ctx.setup is None:
        return "there is no job file"
    if tool not in ctx.setup.cutters:
        return f"the job names no cutter for T{tool}"
    if ctx.setup.machine is None:
        return "the machine is unknown"
    if ctx.setup.material is None:
        return "the material is unknown"
    try:
        return tooling_for(ctx.setup, tool, margins=ctx.taught.margins.get(tool))
    except InputError as error:
        return str(error)


def limits(ctx: Context, tool: int, *, slot: bool = True) -> Limits | None:
    """Chip and entry limits of a tool number's cutter.

    ctx: Program and set-up.
    tool: Tool number [-].
    slot: Cutting at full width; False for a side cut.
    Returns: None without cutter or material. A machine is not needed.
    """
    setup, fitted = ctx.setup, ctx.facts.fitted(tool)
    if setup is None or fitted is None or setup.material is None:
        return None
    from millcalc.limits.request import CutKind
    from millcalc.limits.tooling import Margins, Tooling

    material, cutter = setup.material, fitted.cutter
    # only the material and the cutter enter the values taken here, so a machine is not needed
    bare = Tooling(
        setup.machine,  # type: ignore[arg-type]
        material,
        cutter,
        fitted.stickout_mm or cutter.flute_length_mm,
        1.0,
        margins=ctx.taught.margins.get(tool) or Margins(),
    )
    cut: CutKind = "slot" if slot else "side"
    low, begin, high = bare.chip_band_mm(cut)
    return Limits(
        low,
        max(begin, low),
        high,
        bare.smallest_chip_mm,
        bare.chip_diameter_mm,
        material.plunge_share.high,
        max(PLUNGE_STROKE_PER_DIAMETER, material.plunge_share.high) * cutter.diameter_mm,
        material.ramp_angle_deg.high,
        bare.chip_row(cut).per_diameter.source,
    )


def limited(
    ctx: Context, mask: NDArray[np.bool_]
) -> Iterator[tuple[int, NDArray[np.intp], FittedCutter, Limits]]:
    """Rows of a mask, one entry a tool number whose limits are known.

    ctx: Program and set-up.
    mask: Motions of interest. (shape (n,))
    Yields: Tool number, its rows, ascending, the cutter, and its limits at full width.
    """
    for tool, rows, fitted in ctx.by_cutter(mask):
        bound = limits(ctx, tool)
        if bound is not None:
            yield tool, rows, fitted, bound


def chip_tops_mm(
    ctx: Context, tool: int, width_mm: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]] | None:
    """How thick a chip may be at each width of cut: a first cut's, and the end of the band.

    ctx: Program and set-up.
    tool: Tool number [-].
    width_mm: Widths of cut [mm].
    Returns: Two arrays [mm]; None without cutter or material. Between a side cut and a slot as `settings` does.
    """
    from millcalc.limits.state import closed_share

    slot, side = limits(ctx, tool), limits(ctx, tool, slot=False)
    fitted = ctx.facts.fitted(tool)
    if slot is None or side is None or fitted is None:
        return None
    ratio = width_mm / fitted.cutter.diameter_mm
    closed = np.where(ratio < SLOT_SHARE, closed_share(ratio), 1.0)  # an unknown width is a slot's
    first = side.chip_begin_mm + closed * (slot.chip_begin_mm - side.chip_begin_mm)
    return first, side.chip_high_mm + closed * (slot.chip_high_mm - side.chip_high_mm)
