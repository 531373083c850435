"""What is asked for, what must be known for it, and the screw that is proposed."""

from __future__ import annotations

from dataclasses import dataclass

from millcalc.errors import InputError
from millcalc.holding import tuning
from millcalc.job.models import Job, Screw
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
