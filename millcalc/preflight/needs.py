"""Which facts a rule may ask for, how each is found, how its absence is worded, and what the rule is handed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from millcalc.job.setup import Setup
    from millcalc.preflight.context import Context


@dataclass(frozen=True, slots=True)
class Need:
    """A fact that a rule cannot do without.

    there: Whether the context has it.
    absent: How its absence is worded; empty takes the context's own words.
    fields: Job fields that would supply it.
    """

    there: Callable[[Context], bool]
    absent: str
    fields: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Given:
    """What a rule is handed for a parameter of this name: never None, for the need was met.

    need: Name of the need it rests on.
    kind: Its type as a rule writes it.
    find: Finds it in a context that meets the need.
    """

    need: str
    kind: str
    find: Callable[[Context], object]


def _job(test: Callable[[Setup], object]) -> Callable[[Context], bool]:
    return lambda ctx: ctx.setup is not None and bool(test(ctx.setup))


NEEDS: dict[str, Need] = {
    "job": Need(lambda ctx: ctx.setup is not None, "there is no job file"),
    "machine": Need(_job(lambda s: s.machine is not None), "the machine is unknown", ("machine",)),
    "material": Need(_job(lambda s: s.material is not None), "the material is unknown", ("material",)),
    "cutters": Need(_job(lambda s: s.cutters), "no cutter is named", ("cutters",)),
    "stock": Need(
        _job(lambda s: s.stock is not None),
        "the stock's size, thickness or zero is unknown",
        ("stock.size_x_mm", "stock.size_y_mm", "stock.thickness_mm", "zero.xy", "zero.z"),
    ),
    "stock_top": Need(
        _job(lambda s: s.stock_top_mm is not None),
        "the height of the stock top is unknown",
        ("zero.z", "stock.thickness_mm"),
    ),
    "stock_bottom": Need(
        _job(lambda s: s.stock_bottom_mm is not None),
        "the height of the stock's underside is unknown",
        ("zero.z", "stock.thickness_mm"),
    ),
    "stock_size": Need(
        _job(lambda s: s.job.stock.size_x_mm is not None and s.job.stock.size_y_mm is not None),
        "the stock's size is unknown",
        ("stock.size_x_mm", "stock.size_y_mm"),
    ),
    "thickness": Need(
        _job(lambda s: s.job.stock.thickness_mm is not None),
        "the stock's thickness is unknown",
        ("stock.thickness_mm",),
    ),
    "spoilboard": Need(
        _job(lambda s: s.job.bed.spoilboard_mm is not None),
        "the thickness of the sacrificial board is unknown",
        ("bed.spoilboard_mm",),
    ),
    "screws": Need(_job(lambda s: s.screws is not None), "the screws are not described", ("screws",)),
    "clamps": Need(_job(lambda s: s.clamps is not None), "the clamps are not described", ("clamps",)),
    "hold_down": Need(
        _job(lambda s: s.screws is not None or s.clamps is not None or s.job.hold is not None),
        "how the work is held is not described",
        ("screws", "clamps", "hold"),
    ),
    "position": Need(
        _job(
            lambda s: any(
                v is not None for v in (s.job.position.x_mm, s.job.position.y_mm, s.job.position.z_mm)
            )
        ),
        "where program zero lies in the machine's travel is unknown",
        ("position.x_mm", "position.y_mm", "position.z_mm"),
    ),
    "cooling": Need(_job(lambda s: s.job.cooling is not None), "the cooling is unknown", ("cooling",)),
    "work_offset": Need(
        _job(lambda s: s.job.zero.work_offset is not None),
        "which work offset was zeroed is unknown",
        ("zero.work_offset",),
    ),
    "removal": Need(lambda ctx: ctx.removal is not None, ""),
    "motions": Need(lambda ctx: len(ctx.program.motions) > 0, "the program moves nothing"),
}

GIVEN: dict[str, Given] = {
    "setup": Given("job", "Setup", lambda ctx: ctx.setup),
    "machine": Given("machine", "Machine", lambda ctx: ctx.setup and ctx.setup.machine),
    "material": Given("material", "Material", lambda ctx: ctx.setup and ctx.setup.material),
    "feeds": Given("machine", "FeedModel", lambda ctx: ctx.feeds),
    "stock": Given("stock", "Box", lambda ctx: ctx.setup and ctx.setup.stock),
    "top_mm": Given("stock_top", "float", lambda ctx: ctx.facts.top_mm),
    "bottom_mm": Given("stock_bottom", "float", lambda ctx: ctx.facts.bottom_mm),
    "size_mm": Given(
        "stock_size",
        "tuple[float, float]",
        lambda ctx: ctx.setup and (ctx.setup.job.stock.size_x_mm, ctx.setup.job.stock.size_y_mm),
    ),
    "thickness_mm": Given("thickness", "float", lambda ctx: ctx.setup and ctx.setup.job.stock.thickness_mm),
    "board_mm": Given("spoilboard", "float", lambda ctx: ctx.setup and ctx.setup.job.bed.spoilboard_mm),
    "screws": Given("screws", "tuple[Keepout, ...]", lambda ctx: ctx.setup and ctx.setup.screws),
    "clamps": Given("clamps", "tuple[tuple[Clamp, Box], ...]", lambda ctx: ctx.setup and ctx.setup.clamps),
    "removal": Given("removal", "Removal", lambda ctx: ctx.removal),
}


def missing(ctx: Context, needs: tuple[str, ...]) -> tuple[str, tuple[str, ...]] | None:
    """The first fact a rule needs and the context does not have.

    ctx: What is known.
    needs: Names out of `NEEDS`.
    Returns: Its absence in words, and the job fields that would supply it; None when nothing is missing.
    """
    if ctx.setup is None and any(need not in ("motions", "removal") for need in needs):
        fields = tuple(field for need in needs for field in NEEDS[need].fields)
        return NEEDS["job"].absent, fields
    for need in needs:
        wanted = NEEDS[need]
        if not wanted.there(ctx):
            return (wanted.absent or ctx.removal_missing), wanted.fields
    return None
