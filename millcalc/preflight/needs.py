"""Which facts a rule may ask for, how each is found in the context, and how its absence is worded."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from millcalc.job.setup import Setup
    from millcalc.preflight.context import Context

Test = Callable[["Context"], bool]


def _job(test: Callable[[Setup], object]) -> Test:
    return lambda ctx: ctx.setup is not None and bool(test(ctx.setup))


# need -> (is it there, how its absence is worded, job fields that would supply it)
NEEDS: dict[str, tuple[Test, str, tuple[str, ...]]] = {
    "job": (lambda ctx: ctx.setup is not None, "there is no job file", ()),
    "machine": (_job(lambda s: s.machine is not None), "the machine is unknown", ("machine",)),
    "material": (_job(lambda s: s.material is not None), "the material is unknown", ("material",)),
    "cutters": (_job(lambda s: s.cutters), "no cutter is named", ("cutters",)),
    "stock": (
        _job(lambda s: s.stock is not None),
        "the stock's size, thickness or zero is unknown",
        ("stock.size_x_mm", "stock.size_y_mm", "stock.thickness_mm", "zero.xy", "zero.z"),
    ),
    "stock_top": (
        _job(lambda s: s.stock_top_mm is not None),
        "the height of the stock top is unknown",
        ("zero.z", "stock.thickness_mm"),
    ),
    "stock_bottom": (
        _job(lambda s: s.stock_bottom_mm is not None),
        "the height of the stock's underside is unknown",
        ("zero.z", "stock.thickness_mm"),
    ),
    "stock_size": (
        _job(lambda s: s.job.stock.size_x_mm is not None and s.job.stock.size_y_mm is not None),
        "the stock's size is unknown",
        ("stock.size_x_mm", "stock.size_y_mm"),
    ),
    "thickness": (
        _job(lambda s: s.job.stock.thickness_mm is not None),
        "the stock's thickness is unknown",
        ("stock.thickness_mm",),
    ),
    "spoilboard": (
        _job(lambda s: s.job.bed.spoilboard_mm is not None),
        "the thickness of the sacrificial board is unknown",
        ("bed.spoilboard_mm",),
    ),
    "screws": (_job(lambda s: s.screws is not None), "the screws are not described", ("screws",)),
    "clamps": (_job(lambda s: s.clamps is not None), "the clamps are not described", ("clamps",)),
    "hold_down": (
        _job(lambda s: s.screws is not None or s.clamps is not None),
        "neither screws nor clamps are described",
        ("screws", "clamps"),
    ),
    "position": (
        _job(
            lambda s: any(
                v is not None for v in (s.job.position.x_mm, s.job.position.y_mm, s.job.position.z_mm)
            )
        ),
        "where program zero lies in the machine's travel is unknown",
        ("position.x_mm", "position.y_mm", "position.z_mm"),
    ),
    "cooling": (_job(lambda s: s.job.cooling is not None), "the cooling is unknown", ("cooling",)),
    "work_offset": (
        _job(lambda s: s.job.zero.work_offset is not None),
        "which work offset was zeroed is unknown",
        ("zero.work_offset",),
    ),
    "removal": (lambda ctx: ctx.removal is not None, "", ()),
    "motions": (lambda ctx: len(ctx.program.motions) > 0, "the program moves nothing", ()),
}


def missing(ctx: Context, needs: tuple[str, ...]) -> tuple[str, tuple[str, ...]] | None:
    """The first fact a rule needs and the context does not have.

    ctx: What is known.
    needs: Names out of `NEEDS`.
    Returns: Its absence in words, and the job fields that would supply it; None when nothing is missing.
    """
    if ctx.setup is None and any(need not in ("motions", "removal") for need in needs):
        fields = tuple(field for need in needs for field in NEEDS[need][2])
        return NEEDS["job"][1], fields
    for need in needs:
        test, because, fields = NEEDS[need]
        if not test(ctx):
            return (because or ctx.removal_missing), fields
    return None
