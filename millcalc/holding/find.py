"""The whole question: where can the work be held, do the given hold-downs stand clear, and which ones would do?"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from millcalc.holding import tuning
from millcalc.holding.asked import Wish, prototype, require, require_cutters, require_wish
from millcalc.holding.clamps import clamp_runs
from millcalc.holding.clearance import Clearance
from millcalc.holding.forces import demands, screw_holds_n
from millcalc.holding.judge import Bench, clamp_areas, head_mm, judge_clamp, judge_screw
from millcalc.holding.mapping import not_checked, place_map
from millcalc.holding.others import other_holds
from millcalc.holding.places import find_places, room_beside
from millcalc.holding.propose import Plan, Planner, load_n
from millcalc.holding.regions import Regions, find_regions
from millcalc.holding.result import HoldDown, Piece, Proposed
from millcalc.holding.spread import farthest_mm
from millcalc.job.build import build_setup, margin_mm
from millcalc.job.models import Job, Screw
from millcalc.job.setup import Box, Keepout
from millcalc.preflight.context import Context
from millcalc.preflight.tuning import HOLD_FRICTION, HOLDER_MARGIN_MM, PANEL_WITHDRAWAL_SHARE

Floats = NDArray[np.float64]
MM_STEP, INCH_STEP = 0.5, 25.4 / 32  # mm; proposed places are whole multiples of this


def find_hold_down(ctx: Context, wish: Wish | None = None) -> HoldDown:
    """Map the places, judge what is given, propose screws.

    ctx: Program, set-up and simulated cut.
    wish: What is asked for.
    Returns: The answer.
    Raises InputError: If stock, zero or cutters are unknown, the cut could not be simulated, or a wish
      cannot be met.
    """
    wish = wish or Wish()
    require_wish(wish)
    require(ctx)
    setup = ctx.setup
    assert setup is not None and setup.stock is not None and ctx.removal is not None
    bench = Bench(ctx)
    proto, assumed = prototype(setup.job, wish)
    body = keepouts(setup.job, (proto,))[0]
    require_cutters(ctx, body.z_top_mm)
    clearance, head = bench.of_screw(body), head_mm(body)
    diameters = [f.cutter.diameter_mm for n, f in setup.cutters.items() if n in ctx.facts.tools]
    regions = find_regions(ctx.removal.final, max(diameters, default=1.0))
    screws = setup.screws or ()
    verdicts = [judge_screw(bench, k, regions) for k in range(len(screws))]
    clamps = [judge_clamp(bench, k) for k in range(len(setup.clamps or ()))]
    under = [regions.under_head(s.x_mm, s.y_mm, head_mm(s)) for s in screws]
    kept = [k for k, v in enumerate(verdicts) if v.clear and v.holds and under[k] >= 0 and not wish.fresh]
    stay = [(s.x_mm, s.y_mm, head_mm(s)) for k, s in enumerate(screws) if k in kept or not s.holds]
    discs = np.array(stay, dtype=np.float64).reshape(-1, 3)
    boxes = tuple(box for _, box in setup.clamps or ())
    step = INCH_STEP if ctx.units == "in" else MM_STEP
    places = find_places(
        clearance, regions, setup.stock, head, lambda at: room_beside(at, boxes, discs, head), step
    )
    kept_at = np.array([(screws[k].x_mm, screws[k].y_mm) for k in kept], dtype=np.float64).reshape(-1, 2)
    kept_piece = np.array([under[k] for k in kept], np.intp)
    count = min(len(regions.cells), tuning.SCREWS_PIECES)
    others = other_holds(ctx)
    stood = clamp_areas(setup.clamps, regions)
    clamped = stood | others.pieces(count)
    planner = Planner(
        ctx, regions, places, [kept_at[kept_piece == index] for index in range(count)], clamped, head
    )
    forces, unknown = demands(ctx)
    job_screws = setup.job.screws or ()
    each = [(body, proto.depth_in_bed_mm), *((screws[k], job_screws[k].depth_in_bed_mm) for k in kept)]
    holds = _weakest_n(setup.job, each, wish.safety)
    limit = None if others.each else _span_limit_mm(ctx)
    plan = planner.plan(forces, holds, limit, wish.count)
    proposal = [
        Proposed(job_screws[k], verdicts[k].nearest, int(piece), True, False)
        for k, piece in zip(kept, kept_piece, strict=True)
    ] + _new_screws(bench, clearance, regions, plan, proto, head)
    every = np.array([(p.screw.x_mm, p.screw.y_mm) for p in proposal], dtype=np.float64).reshape(-1, 2)
    if wish.count is not None and len(proposal) < wish.count:
        plan.problems.append(f"only {len(proposal)} of {wish.count} screws find room")
    whole = load_n(every, planner.points.by_tool, forces) if len(every) and not clamped else None
    span = None if others.each else _span_mm(planner.points.at_mm, every, boxes if stood else ())
    clamp = wish.clamp_mm or tuning.SCREWS_CLAMP_MM
    clamp_room = bench.clearance(setup.stock.z_max + clamp[2], margin_mm(wish.placed))
    unknown = (*unknown, *others.unknown)
    if stood:
        unknown = (*unknown, "forces: how hard the clamps are tightened cannot be known")
    elif holds is None and not others.sheet:
        unknown = (*unknown, "pull of the screws: density of the board, shank or thread length is unknown")
    if len(regions.cells) > count:
        unknown = (*unknown, f"{len(regions.cells) - count} small pieces beyond the largest {count}")
    return HoldDown(
        verdicts=(*verdicts, *(v for v in clamps if v is not None)),
        screw=proto,
        assumed=assumed,
        proposal=tuple(proposal),
        pieces=tuple(
            _piece(
                regions,
                index,
                planner,
                plan.loads_n[index],
                holds,
                proposal,
                index in clamped,
                others.of(index),
            )
            for index in range(count)
        ),
        gone=_gone(ctx, regions),
        span_mm=span,
        span_limit_mm=limit,
        safety=wish.safety,
        kept_mm=margin_mm(proto.placed),
        holder_kept_mm=HOLDER_MARGIN_MM,
        friction=HOLD_FRICTION,
        panel_share=PANEL_WITHDRAWAL_SHARE,
        load_n=whole,
        holds_n=holds,
        map=place_map(bench, clearance, regions, head, discs, wish.map_cells),
        finest_mm=places.finest_mm,
        clamp_mm=clamp,
        clamp_runs=clamp_runs(clamp_room, setup.stock, clamp[0], clamp[1], step),
        others=others.told,
        problems=(*plan.problems, *others.problems, *_whole_problems(ctx, plan, whole, holds, span, limit)),
        not_checked=(*not_checked(ctx, regions), *unknown),
    )


def _new_screws(
    bench: Bench, clearance: Clearance, regions: Regions, plan: Plan, proto: Screw, head: float
) -> list[Proposed]:
    """The plan's places as screws, piece by piece."""
    found = []
    for index, chosen in enumerate(plan.chosen_mm):
        least = clearance.discs(chosen, head)
        _, rim = regions.look_up(chosen)
        for i in _in_order(chosen):
            at = {"x_mm": round(float(chosen[i, 0]), 6), "y_mm": round(float(chosen[i, 1]), 6)}
            nearest = bench.nearest(clearance, least, i)
            found.append(Proposed(proto.model_copy(update=at), nearest, index, False, not bool(rim[i])))
    return found


def _whole_problems(
    ctx: Context,
    plan: Plan,
    whole: float | None,
    holds: float | None,
    span: float | None,
    limit: float | None,
) -> list[str]:
    """What does not hold while the work is still one."""
    problems = []
    told = any(text.startswith("the sheet:") for text in plan.problems)
    if whole is not None and holds is not None and whole > holds and not told:
        needs, has = ctx.say.newtons(whole, holds)
        problems.append(
            f"all together: the most loaded screw would need {needs} of pull, one holds "
            f"{has}; more or longer screws, or shallower passes"
        )
    if span is not None and limit is not None and span > limit:
        problems.append(
            f"a cut lies {ctx.say.mm(span, 1.0)} from its nearest hold in a plate this thin; "
            f"{ctx.say.mm(limit, 1.0)} is the most: tape or a weight there"
        )
    return problems


def _gone(ctx: Context, regions: Regions) -> tuple[tuple[float, float, int], ...]:
    """Pieces that come free and are not there at the end: x, y and line."""
    removal = ctx.removal
    assert removal is not None
    return tuple(
        (loose.place_mm[0], loose.place_mm[1], loose.line)
        for loose in removal.loose
        if int(regions.look_up(np.array([loose.place_mm[:2]]))[0][0]) < 0
    )


def keepouts(job: Job, screws: tuple[Screw, ...]) -> tuple[Keepout, ...]:
    """Screws as bodies in the coordinates of a job.

    job: Gives stock and zero.
    screws: The screws.
    Returns: Their heads and shanks.
    """
    bare: dict[str, object] = {
        "screws": screws,
        "clamps": None,
        "cutters": {},
        "machine": None,
        "material": None,
    }
    return build_setup(job.model_copy(update=bare)).screws or ()


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
    by: str,
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
        by=by,
    )


__all__ = ["HoldDown", "Wish", "find_hold_down", "keepouts"]
