"""What is asked for, what must be known for it, and the screw that is proposed."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from millcalc.errors import InputError
from millcalc.holding import tuning
from millcalc.job.models import Job, Screw
from millcalc.preflight.context import Context
from millcalc.preflight.keepouts import Z_MARGIN_MM
from millcalc.preflight.tuning import WITHDRAWAL_SAFETY

USUAL_SCREW = "wood 4.0 round"


@dataclass(frozen=True)
class Wish:
    """What the person asks for.

    count: Screws altogether; None proposes enough [-].
    size: Screw to propose; None takes the job's first one.
    thread_mm: Its thread length in the bed; None takes the job's first one's [mm].
    placed: How the proposed screws will be placed, ``measured`` or ``guessed``.
    fresh: Whether the job's own screws are set aside.
    safety: Safety factor on the withdrawal, at least 1 [-].
    clamp_mm: Width, reach and height of a clamp to look for; None takes the usual one [mm].
    map_cells: Columns and rows of the map [-].
    """

    count: int | None = None
    size: str | None = None
    thread_mm: float | None = None
    placed: str = "guessed"
    fresh: bool = False
    safety: float = WITHDRAWAL_SAFETY
    clamp_mm: tuple[float, float, float] | None = None
    map_cells: tuple[int, int] = (72, 24)


def require_wish(wish: Wish) -> None:
    """Refuse numbers out of range.

    wish: What is asked for.
    Raises InputError: If the number of screws, the safety factor or the clamp makes no sense.
    """
    if wish.count is not None and not 1 <= wish.count <= 200:
        raise InputError(f"{wish.count} screws", "1 to 200", field="--count")
    if not (math.isfinite(wish.safety) and 1.0 <= wish.safety <= 100.0):
        raise InputError(f"a safety factor of {wish.safety:g}", "1 to 100; 5.51 is usual", field="--safety")
    if wish.clamp_mm is not None and not all(0.0 < v < 10_000.0 for v in wish.clamp_mm):
        raise InputError(f"a clamp of {wish.clamp_mm}", "three lengths above 0", field="--clamp")


def require(ctx: Context) -> None:
    """Refuse what cannot be answered.

    ctx: Program, set-up and simulated cut.
    Raises InputError: If stock or zero are unknown, or the cut could not be simulated.
    """
    setup = ctx.setup
    if setup is None:
        raise InputError("no job", "a job file with stock, zero and cutters", field="--job")
    file = str(setup.path) if setup.path else None
    if setup.stock is None:
        job = setup.job
        missing = [
            name
            for name, value in (
                ("stock.size_x", job.stock.size_x_mm),
                ("stock.size_y", job.stock.size_y_mm),
                ("stock.thickness", job.stock.thickness_mm),
                ("zero.xy", job.zero.xy),
                ("zero.z", job.zero.z),
            )
            if value is None
        ]
        raise InputError(
            "a stock whose place is unknown",
            "a job that gives " + ", ".join(missing),
            "without it nobody knows where a screw stands in the work",
            file=file,
            field=missing[0] if missing else "stock",
        )
    if ctx.removal is None:
        raise InputError(
            f"a cut that was not simulated: {ctx.removal_missing}", "a cut that can be", file=file
        )


def require_cutters(ctx: Context, top_mm: float) -> None:
    """Refuse where a cutter of unknown size comes down: no place could be called clear of it.

    ctx: Program and set-up.
    top_mm: Height of the screws' heads [mm].
    Raises InputError: If there is such a motion.
    """
    facts, motions = ctx.facts, ctx.program.motions
    with np.errstate(invalid="ignore"):
        low = facts.z_low < top_mm + Z_MARGIN_MM
    unknown = np.flatnonzero(low & motions.moves & np.isnan(facts.diameter_mm))
    if not len(unknown):
        return
    tools = sorted({int(t) for t in facts.tool[unknown]})
    names = ", ".join(f"T{t}" if t >= 0 else "no tool number" for t in tools)
    raise InputError(
        f"motions with {names}, the first in line {int(motions.line[unknown[0]])}, whose cutter is unknown",
        "a cutter in the job for every tool number that comes down to the work",
        "add it under cutters: no place can be called clear of a cutter of unknown size",
        file=str(ctx.setup.path) if ctx.setup and ctx.setup.path else None,
        field=f"cutters.{next((t for t in tools if t >= 0), 1)}",
    )


def prototype(job: Job, wish: Wish) -> tuple[Screw, tuple[str, ...]]:
    """The screw that is proposed, and what was assumed about it.

    job: The job.
    wish: What is asked for.
    Returns: A screw at 0, 0, and the assumptions in words.
    Raises InputError: If there is no such screw, or it is too long for the board.
    """
    assumed = []
    first = next((s for s in job.screws or () if s.holds and (s.size or s.head_diameter_mm)), None)
    if wish.size is not None:
        from millcalc.job.screws import screw_size

        try:
            name = screw_size(wish.size).name
        except ValueError as problem:
            raise InputError(repr(wish.size), str(problem), field="--screw") from None
        screw = Screw(x_mm=0.0, y_mm=0.0, size=name)
    elif first is not None:
        screw = first.model_copy(update={"x_mm": 0.0, "y_mm": 0.0, "name": ""})
        assumed.append("the proposed screws are like the job's first one")
    else:
        screw = Screw(x_mm=0.0, y_mm=0.0, size=USUAL_SCREW)
        assumed.append(f"the proposed screws are {USUAL_SCREW}, as the job names none")
    depth = wish.thread_mm if wish.thread_mm is not None else first.depth_in_bed_mm if first else None
    board = job.bed.spoilboard_mm
    if depth is None and board is not None:
        depth = board if job.bed.below == "wood" else max(1.0, board - tuning.SCREWS_ABOVE_METAL_MM)
        depth = min(depth, tuning.SCREWS_THREAD_MOST_MM)
        assumed.append(f"{depth:g} mm of thread in the board, from its thickness")
    if depth is not None and board is not None and job.bed.below == "metal" and depth > board:
        raise InputError(
            f"{depth:g} mm of thread",
            f"at most the board's {board:g} mm: metal is below it",
            "a shorter screw or a thicker board",
            field="--thread",
        )
    return (
        screw.model_copy(update={"depth_in_bed_mm": depth, "placed": wish.placed, "holds": True}),
        tuple(assumed),
    )
