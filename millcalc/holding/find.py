"""The whole question: where can the work be held, do the given hold-downs stand clear, and which ones would do?"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc import tuning
from millcalc.errors import InputError
from millcalc.holding.clamps import clamp_runs
from millcalc.holding.clearance import Clearance
from millcalc.holding.forces import demands, screw_holds_n
from millcalc.holding.judge import Bench, clamp_areas, head_mm, judge_clamp, judge_screw
from millcalc.holding.places import find_places, inside_room, room_beside
from millcalc.holding.propose import Planner, load_n
from millcalc.holding.regions import Regions, find_regions
from millcalc.holding.result import HoldDown, Piece, PlaceMap, Proposed, Verdict
from millcalc.holding.spread import farthest_mm
from millcalc.job.build import build_setup, margin_mm
from millcalc.job.models import Job, Screw
from millcalc.job.setup import Box, Keepout
from millcalc.preflight.context import Context
from millcalc.preflight.keepouts import Z_MARGIN_MM, holder_bodies

Floats = NDArray[np.float64]
USUAL_SCREW = "wood 4.0 round"
MM_STEP, INCH_STEP = 0.5, 25.4 / 32  # mm; proposed places are whole multiples of this


@dataclass(frozen=True)
class Wish:
    """What the person asks for.

    Attributes
    ----------
    count : int or None
        Screws altogether; None proposes enough [-].
    size : str or None
        Screw to propose; None takes the job's first one.
    thread_mm : float or None
        Its thread length in the bed; None takes the job's first one's [mm].
    placed : str
        How the proposed screws will be placed, ``measured`` or ``guessed``.
    fresh : bool
        Whether the job's own screws are set aside.
    safety : float
        Safety factor on the withdrawal, at least 1 [-].
    clamp_mm : tuple of float or None
        Width, reach and height of a clamp to look for; None takes the usual one [mm].
    map_cells : tuple of int
        Columns and rows of the map [-].
    """

    count: int | None = None
    size: str | None = None
    thread_mm: float | None = None
    placed: str = "guessed"
    fresh: bool = False
    safety: float = 5.0
    clamp_mm: tuple[float, float, float] | None = None
    map_cells: tuple[int, int] = (72, 24)


def find_hold_down(ctx: Context, wish: Wish | None = None) -> HoldDown:
    """Map the places, judge what is given, propose screws.

    Parameters
    ----------
    ctx : Context
        Program, set-up and simulated cut.
    wish : Wish or None
        What is asked for.

    Returns
    -------
    HoldDown
        The answer.

    Raises
    ------
    InputError
        If stock, zero or cutters are unknown, the cut could not be simulated, or a wish cannot be met.
    """
    wish = wish or Wish()
    setup = ctx.setup
    _require(ctx, wish)
    assert setup is not None and setup.stock is not None and ctx.removal is not None
    bench = Bench(ctx)
    proto, assumed = _prototype(setup.job, wish)
    body = keepouts(setup.job, (proto,))[0]
    clearance = bench.of_screw(body)
    _require_cutters(ctx, body.z_top_mm)
    largest = float(np.nanmax(ctx.facts.diameter_mm)) if ctx.facts.n else 1.0
    regions = find_regions(ctx.removal.final, largest)
    verdicts = [judge_screw(bench, k, regions) for k in range(len(setup.screws or ()))]
    clamps = [judge_clamp(bench, k) for k in range(len(setup.clamps or ()))]
    head = head_mm(body)
    kept_index = [
        k
        for k, (verdict, screw) in enumerate(zip(verdicts, setup.screws or (), strict=True))
        if verdict.clear and screw.holds and not wish.fresh
    ]
    discs = np.array(
        [
            (s.x_mm, s.y_mm, head_mm(s))
            for k, s in enumerate(setup.screws or ())
            if k in kept_index or not s.holds
        ]
    ).reshape(-1, 3)
    boxes = tuple(box for _, box in setup.clamps or ())

    def beside(places: Floats) -> Floats:
        return room_beside(places, boxes, discs, head)

    step = INCH_STEP if ctx.units == "in" else MM_STEP
    places = find_places(clearance, regions, setup.stock, head, beside, step)
    kept_at = np.array(
        [((setup.screws or ())[k].x_mm, (setup.screws or ())[k].y_mm) for k in kept_index]
    ).reshape(-1, 2)
    kept_piece, _ = regions.look_up(kept_at)
    count = min(len(regions.cells), tuning.SCREWS_PIECES)
    kept = [kept_at[kept_piece == index] for index in range(count)]
    clamped = clamp_areas(setup.clamps, regions)
    planner = Planner(ctx, regions, places, kept, clamped, head)
    forces, unknown = demands(ctx)
    job_screws = setup.job.screws or ()
    each = [(body, proto.depth_in_bed_mm)]
    each += [((setup.screws or ())[k], job_screws[k].depth_in_bed_mm) for k in kept_index]
    holds = _weakest_n(setup.job, each, wish.safety)
    limit = _span_limit_mm(ctx)
    plan = planner.plan(forces, holds, limit, wish.count)
    proposal = [
        Proposed(job_screws[k], verdicts[k].nearest, int(kept_piece[i]), True, False)
        for i, k in enumerate(kept_index)
    ]
    for index, chosen in enumerate(plan.chosen_mm):
        least = clearance.discs(chosen, head)
        _, rim = regions.look_up(chosen)
        for i in _in_order(chosen):
            at = chosen[i]
            screw = proto.model_copy(update={"x_mm": round(float(at[0]), 6), "y_mm": round(float(at[1]), 6)})
            proposal.append(
                Proposed(screw, bench.nearest(clearance, least, i), index, False, not bool(rim[i]))
            )
    every = np.array([(p.screw.x_mm, p.screw.y_mm) for p in proposal]).reshape(-1, 2)
    problems = list(plan.problems)
    whole = None
    if clamped:
        unknown = (*unknown, "forces: how hard the clamps are tightened cannot be known")
    elif len(every):
        whole = load_n(every, planner.points.by_tool, forces)
        if holds is None:
            unknown = (
                *unknown,
                "pull of the screws: density of the board, shank or thread length is unknown",
            )
        elif whole is not None and whole > holds and not any(p.startswith("the sheet:") for p in problems):
            problems.append(
                f"all together: the most loaded screw would need {ctx.say.newton(whole)} of pull, one holds "
                f"{ctx.say.newton(holds)}; more or longer screws, or shallower passes"
            )
    span = _span_mm(planner.points.at_mm, every, boxes if clamped else ())
    if span is not None and limit is not None and span > limit:
        problems.append(
            f"a cut lies {ctx.say.mm(span, 1.0)} from its nearest hold in a plate this thin; "
            f"{ctx.say.mm(limit, 1.0)} is the most: tape or a weight there"
        )
    pieces = tuple(
        _piece(regions, index, planner, plan.loads_n[index], holds, proposal, index in clamped)
        for index in range(count)
    )
    if len(regions.cells) > count:
        unknown = (*unknown, f"{len(regions.cells) - count} small pieces beyond the largest {count}")
    gone = tuple(
        (loose.place_mm[0], loose.place_mm[1], loose.line)
        for loose in ctx.removal.loose
        if int(regions.look_up(np.array([loose.place_mm[:2]]))[0][0]) < 0
    )
    clamp = wish.clamp_mm or tuning.SCREWS_CLAMP_MM
    clamp_room = bench.clearance(setup.stock.z_max + clamp[2], margin_mm(wish.placed))
    return HoldDown(
        verdicts=(*verdicts, *(v for v in clamps if v is not None)),
        screw=proto,
        assumed=assumed,
        proposal=tuple(proposal),
        pieces=pieces,
        gone=gone,
        span_mm=span,
        span_limit_mm=limit,
        safety=wish.safety,
        load_n=whole,
        holds_n=holds,
        map=_place_map(bench, clearance, regions, head, discs, wish.map_cells),
        finest_mm=places.finest_mm,
        clamp_mm=clamp,
        clamp_runs=clamp_runs(clamp_room, setup.stock, clamp[0], clamp[1], step),
        problems=tuple(problems),
        not_checked=(*_not_checked(ctx, regions), *unknown),
    )


def keepouts(job: Job, screws: tuple[Screw, ...]) -> tuple[Keepout, ...]:
    """Screws as bodies in the coordinates of a job.

    Parameters
    ----------
    job : Job
        Gives stock and zero.
    screws : tuple of Screw
        The screws.

    Returns
    -------
    tuple of Keepout
        Their heads and shanks.
    """
    bare: dict[str, object] = {
        "screws": screws,
        "clamps": None,
        "cutters": {},
        "machine": None,
        "material": None,
    }
    return build_setup(job.model_copy(update=bare)).screws or ()


def _require(ctx: Context, wish: Wish) -> None:
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
    if wish.count is not None and not 1 <= wish.count <= 200:
        raise InputError(f"{wish.count} screws", "1 to 200", field="--count")
    if not (math.isfinite(wish.safety) and 1.0 <= wish.safety <= 100.0):
        raise InputError(f"a safety factor of {wish.safety:g}", "1 to 100; 5 is usual", field="--safety")


def _require_cutters(ctx: Context, top_mm: float) -> None:
    """Refuse where a cutter of unknown size comes down: no place could be called clear of it."""
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


def _prototype(job: Job, wish: Wish) -> tuple[Screw, tuple[str, ...]]:
    """The screw that is proposed, and what was assumed about it."""
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


def _weakest_n(job: Job, screws: list[tuple[Keepout, float | None]], safety: float) -> float | None:
    density = job.bed.wood_density_kg_m3
    each = [screw_holds_n(density, 2 * body.shank_radius_mm, depth, safety) for body, depth in screws]
    known = [value for value in each if value is not None]
    return min(known) if len(known) == len(each) else None


def _span_limit_mm(ctx: Context) -> float | None:
    """As SCREW-09 judges thin plates."""
    setup = ctx.setup
    assert setup is not None
    thick = setup.job.stock.thickness_mm
    stiff = setup.material is None or setup.material.family in ("foam", "steel")
    if thick is None or thick >= tuning.SCREWS_THIN_PLATE_MM or stiff:
        return None
    return tuning.SCREWS_SPAN_PER_THICKNESS * thick


def _span_mm(points: Floats, screws: Floats, boxes: tuple[Box, ...]) -> float | None:
    """Largest distance of a cut from its nearest screw or clamp."""
    if not boxes:
        return farthest_mm(points, screws)
    if not len(points):
        return None
    nearest = np.full(len(points), np.inf)
    for x, y in screws:
        nearest = np.minimum(nearest, np.hypot(points[:, 0] - x, points[:, 1] - y))
    return float(np.minimum(nearest, _box_gaps(points, boxes)).max())


def _box_gaps(points: Floats, boxes: tuple[Box, ...]) -> Floats:
    gaps = np.full(len(points), np.inf)
    for box in boxes:
        dx = np.maximum(np.maximum(box.x_min - points[:, 0], points[:, 0] - box.x_max), 0.0)
        dy = np.maximum(np.maximum(box.y_min - points[:, 1], points[:, 1] - box.y_max), 0.0)
        gaps = np.minimum(gaps, np.hypot(dx, dy))
    return gaps


def _in_order(chosen: Floats) -> list[int]:
    """Round the sheet, beginning front left, as a person walks."""
    if not len(chosen):
        return []
    middle = chosen.mean(axis=0)
    angle = np.arctan2(chosen[:, 1] - middle[1], chosen[:, 0] - middle[0])
    return [int(k) for k in np.argsort(angle, kind="stable")]


def _piece(
    regions: Regions,
    index: int,
    planner: Planner,
    load: float | None,
    holds: float | None,
    proposal: list[Proposed],
    clamped: bool,
) -> Piece:
    x0, x1, y0, y1 = regions.box_mm(index)
    inside = regions.some_places(index, 400)
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    at = inside[int(np.argmin(np.hypot(*(inside - middle).T)))] if len(inside) else middle
    screws = sum(1 for p in proposal if p.piece == index)
    return Piece(
        area_mm2=regions.area_mm2(index),
        size_mm=(x1 - x0, y1 - y0),
        at_mm=(float(at[0]), float(at[1])),
        rim=bool(regions.at_edge[index]),
        places=int((planner.places.piece == index).sum()),
        screws=screws,
        clamped=clamped,
        load_n=None if clamped else load,
        holds_n=None if clamped else holds,
        turns=screws == 1 and not clamped,
    )


def _place_map(
    bench: Bench,
    clearance: Clearance,
    regions: Regions,
    head: float,
    discs: Floats,
    cells: tuple[int, int],
) -> PlaceMap:
    stock = bench.stock
    nx, ny = cells
    x = stock.x_min + (np.arange(nx) + 0.5) * (stock.x_max - stock.x_min) / nx
    y = stock.y_min + (np.arange(ny) + 0.5) * (stock.y_max - stock.y_min) / ny
    at = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    least = clearance.discs(at, head)
    piece, rim = regions.look_up(at)
    boxes = tuple(box for _, box in bench.setup.clamps or ())
    blocked = np.minimum(inside_room(at, stock, head), room_beside(at, boxes, discs, head)) < 0.0
    kind = np.where(piece < 0, 0, np.where(rim, 1, 2)).astype(np.uint8)
    lines = bench.ctx.program.motions.line
    line = np.where(least.row >= 0, lines[np.maximum(least.row, 0)] if len(lines) else 0, 0)
    return PlaceMap(
        x,
        y,
        least.spare_mm.reshape(ny, nx),
        least.body.reshape(ny, nx),
        line.astype(np.int64).reshape(ny, nx),
        kind.reshape(ny, nx),
        blocked.reshape(ny, nx),
        clearance.names,
    )


def _not_checked(ctx: Context, regions: Regions) -> tuple[str, ...]:
    found: list[str] = []
    setup, motions = ctx.setup, ctx.program.motions
    assert setup is not None
    unknown = (np.isnan(motions.start_mm) | np.isnan(motions.end_mm)).any(axis=1) & motions.moves
    if unknown.any():
        count = int(unknown.sum())
        found.append(
            f"{count} motion{'s' if count > 1 else ''} from or to an unknown place, the first in line "
            f"{int(motions.line[np.flatnonzero(unknown)[0]])}"
        )
    if not any(body.name == "collet nut" for body in holder_bodies(ctx)):
        found.append("the collet nut: its size is unknown (nose.collet_nut_diameter, or the machine)")
    for tool in ctx.facts.tools:
        fitted = ctx.facts.fitted(tool)
        if fitted is not None and fitted.stickout_mm is None:
            found.append(f"the holder of T{tool}: its stickout is unknown (cutters.{tool}.stickout)")
    found += [f"the full size of what stands there: {name} is unknown" for name in setup.incomplete
              if name.startswith(("screws", "clamps"))]  # fmt: skip
    if regions.slivers:
        found.append(f"slivers too small to tell from the simulated cut's cells: {regions.slivers}")
    return tuple(found)


__all__ = ["HoldDown", "Verdict", "Wish", "find_hold_down", "keepouts"]
