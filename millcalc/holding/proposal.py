"""Screws that would do: the job's own that are kept, and new ones, with what they bear."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.holding import tuning
from millcalc.holding.asked import Wish
from millcalc.holding.clearance import Clearance
from millcalc.holding.forces import demands, screw_holds_n
from millcalc.holding.judge import Bench, head_mm
from millcalc.holding.others import Others, other_holds
from millcalc.holding.own import OwnHolds
from millcalc.holding.places import find_places
from millcalc.holding.propose import Plan, Planner, load_n
from millcalc.holding.regions import Regions
from millcalc.holding.result import Piece, Proposed
from millcalc.holding.room import room_beside
from millcalc.holding.span import span_limit_mm, span_mm
from millcalc.job.models import Screw
from millcalc.job.setup import Keepout

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Proposal:
    """Kept and new screws, and what they bear.

    screws: Kept ones first, then the new ones of each piece.
    planner, plan: What chose them, and its choice.
    clamped: Pieces that need no screw.
    others: What holds besides screws and clamps.
    clearance, head_mm: Room for the proposed screw, and the radius of its head [mm].
    holds_n, load_n: Pull that one screw holds, and that the most loaded needs; None where not computed [N].
    span_mm, span_limit_mm: Largest distance of a cut from its nearest hold, and the most it may be [mm].
    unknown: What of the forces could not be judged.
    """

    screws: tuple[Proposed, ...]
    planner: Planner
    plan: Plan
    clamped: set[int]
    others: Others
    clearance: Clearance
    head_mm: float
    holds_n: float | None
    load_n: float | None
    span_mm: float | None
    span_limit_mm: float | None
    unknown: tuple[str, ...]


def make_proposal(
    bench: Bench,
    wish: Wish,
    regions: Regions,
    own: OwnHolds,
    proto: Screw,
    body: Keepout,
    step_mm: float,
) -> Proposal:
    """Choose screws for every piece.

    bench: The program's distances.
    wish: What is asked for.
    regions: The pieces that are left.
    own: The job's own screws and clamps.
    proto, body: The screw to propose, and its body.
    step_mm: Proposed places are whole multiples of this [mm].
    Returns: The screws and what they bear.
    """
    clearance, head = bench.of_screw(body), head_mm(body)
    places = find_places(
        clearance, regions, bench.stock, head, lambda at: room_beside(at, own.boxes, own.discs, head), step_mm
    )
    count = min(len(regions.cells), tuning.SCREWS_PIECES)
    others = other_holds(bench.ctx)
    clamped = own.clamped | others.pieces(count)
    planner = Planner(bench.ctx, regions, places, own.kept_mm(count), clamped, head)
    forces, unknown = demands(bench.ctx)
    holds = _weakest_n(bench, own, proto, body, wish.safety)
    limit = None if others.each else span_limit_mm(bench.setup)
    plan = planner.plan(forces, holds, limit, wish.count)
    screws = (*own.proposed(), *_new_screws(bench, clearance, regions, plan, proto, head))
    if wish.count is not None and len(screws) < wish.count:
        plan.problems.append(f"only {len(screws)} of {wish.count} screws find room")
    at = np.array([(p.screw.x_mm, p.screw.y_mm) for p in screws], dtype=np.float64).reshape(-1, 2)
    boxes = own.boxes if own.clamped else ()
    return Proposal(
        screws,
        planner,
        plan,
        clamped,
        others,
        clearance,
        head,
        holds,
        load_n(at, planner.points.by_tool, forces) if len(at) and not clamped else None,
        None if others.each else span_mm(planner.points.at_mm, at, boxes),
        limit,
        unknown,
    )


def _weakest_n(bench: Bench, own: OwnHolds, proto: Screw, body: Keepout, safety: float) -> float | None:
    """Pull that the weakest of the proposed and kept screws holds; None where one of them is unknown [N]."""
    density = bench.setup.job.bed.wood_density_kg_m3
    each = [(body, proto), *((own.bodies[k], own.screws[k]) for k in own.kept)]
    pulls = [
        screw_holds_n(density, 2 * one.shank_radius_mm, screw.depth_in_bed_mm, safety) for one, screw in each
    ]
    known = [pull for pull in pulls if pull is not None]
    return min(known) if len(known) == len(pulls) else None


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


def _in_order(chosen: Floats) -> list[int]:
    """Round the sheet, beginning front left, as a person walks."""
    if not len(chosen):
        return []
    middle = chosen.mean(axis=0)
    angle = np.arctan2(chosen[:, 1] - middle[1], chosen[:, 0] - middle[0])
    return [int(k) for k in np.argsort(angle, kind="stable")]


def pieces_of(proposal: Proposal, regions: Regions) -> tuple[Piece, ...]:
    """Every piece that is left, the largest first, and what holds it.

    proposal: The screws.
    regions: The pieces.
    Returns: The pieces that were looked at.
    """
    return tuple(_piece(proposal, regions, index) for index in range(proposal.planner.count))


def _piece(proposal: Proposal, regions: Regions, index: int) -> Piece:
    x0, x1, y0, y1 = regions.box_mm(index)
    inside = regions.some_places(index, 400)
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    at = inside[int(np.argmin(np.hypot(*(inside - middle).T)))] if len(inside) else middle
    screws = sum(1 for p in proposal.screws if p.piece == index)
    clamped = index in proposal.clamped
    return Piece(
        area_mm2=regions.area_mm2(index),
        size_mm=(x1 - x0, y1 - y0),
        at_mm=(float(at[0]), float(at[1])),
        rim=bool(regions.at_edge[index]),
        places=int((proposal.planner.places.piece == index).sum()),
        screws=screws,
        clamped=clamped,
        load_n=None if clamped else proposal.plan.loads_n[index],
        holds_n=None if clamped else proposal.holds_n,
        turns=screws == 1 and not clamped,
        by=proposal.others.of(index),
    )
