"""The whole question: where can the work be held, do the given hold-downs stand clear, and which ones would do?"""

from __future__ import annotations

import numpy as np

from millcalc.holding import tuning
from millcalc.holding.asked import Wish, prototype
from millcalc.holding.bodies import keepouts
from millcalc.holding.clamps import clamp_runs
from millcalc.holding.find_regions import find_regions
from millcalc.holding.judge import Bench
from millcalc.holding.mapping import not_checked, place_map
from millcalc.holding.own import OwnHolds, own_holds
from millcalc.holding.proposal import Proposal, make_proposal, pieces_of
from millcalc.holding.regions import Regions
from millcalc.holding.required import require, require_cutters, require_wish
from millcalc.holding.result import HoldDown
from millcalc.job.build import margin_mm
from millcalc.preflight.context import Context
from millcalc.preflight.tuning import HOLD_FRICTION, HOLDER_MARGIN_MM, PANEL_WITHDRAWAL_SHARE

MM_STEP, INCH_STEP = 0.5, 25.4 / 32  # mm; proposed places are whole multiples of this


def find_hold_down(ctx: Context, wish: Wish | None = None) -> HoldDown:
    """Map the places, judge what is given, propose screws.

    Raises InputError: If stock, zero or cutters are unknown, the cut could not be simulated, or a wish
      cannot be met.
    """
    wish = wish or Wish()
    require_wish(wish)
    require(ctx)
    bench = Bench(ctx)
    proto, assumed = prototype(bench.setup.job, wish)
    body = keepouts(bench.setup.job, (proto,))[0]
    require_cutters(ctx, body.z_top_mm)
    step = INCH_STEP if ctx.units == "in" else MM_STEP
    regions = _pieces_left(ctx, bench)
    own = own_holds(bench, regions, fresh=wish.fresh)
    proposal = make_proposal(bench, wish, regions, own, proto, body, step)
    clamp = wish.clamp_mm or tuning.SCREWS_CLAMP_MM
    clamp_room = bench.clearance(bench.stock.z_max + clamp[2], margin_mm(wish.placed))
    return HoldDown(
        verdicts=own.verdicts,
        screw=proto,
        assumed=assumed,
        proposal=proposal.screws,
        pieces=pieces_of(proposal, regions),
        gone=_gone(ctx, regions),
        span_mm=proposal.span_mm,
        span_limit_mm=proposal.span_limit_mm,
        safety=wish.safety,
        kept_mm=margin_mm(proto.placed),
        holder_kept_mm=HOLDER_MARGIN_MM,
        friction=HOLD_FRICTION,
        panel_share=PANEL_WITHDRAWAL_SHARE,
        load_n=proposal.load_n,
        holds_n=proposal.holds_n,
        map=place_map(bench, proposal.clearance, regions, proposal.head_mm, own.discs, wish.map_cells),
        finest_mm=proposal.planner.places.finest_mm,
        clamp_mm=clamp,
        clamp_runs=clamp_runs(clamp_room, bench.stock, clamp[0], clamp[1], step),
        others=proposal.others.told,
        problems=_problems(ctx, proposal),
        not_checked=(*not_checked(ctx, regions), *_unknown(proposal, own, regions)),
    )


def _pieces_left(ctx: Context, bench: Bench) -> Regions:
    assert ctx.removal is not None
    fitted = bench.setup.cutters.items()
    diameters = [each.cutter.diameter_mm for number, each in fitted if number in ctx.facts.tools]
    return find_regions(ctx.removal.final, max(diameters, default=1.0))


def _problems(ctx: Context, proposal: Proposal) -> tuple[str, ...]:
    """What does not hold: of each piece, of other holds, and while the work is still one."""
    problems = [*proposal.plan.problems, *proposal.others.problems]
    load, holds = proposal.load_n, proposal.holds_n
    told = any(text.startswith("the sheet:") for text in proposal.plan.problems)
    if load is not None and holds is not None and load > holds and not told:
        needs, has = ctx.say.newtons(load, holds)
        problems.append(
            f"all together: the most loaded screw would need {needs} of pull, one holds "
            f"{has}; more or longer screws, or shallower passes"
        )
    span, limit = proposal.span_mm, proposal.span_limit_mm
    if span is not None and limit is not None and span > limit:
        problems.append(
            f"a cut lies {ctx.say.mm(span, 1.0)} from its nearest hold in a plate this thin; "
            f"{ctx.say.mm(limit, 1.0)} is the most: tape or a weight there"
        )
    return tuple(problems)


def _unknown(proposal: Proposal, own: OwnHolds, regions: Regions) -> tuple[str, ...]:
    """What of the forces and the pieces could not be looked at."""
    unknown = [*proposal.unknown, *proposal.others.unknown]
    if own.clamped:
        unknown.append("forces: how hard the clamps are tightened cannot be known")
    elif proposal.holds_n is None and not proposal.others.sheet:
        unknown.append("pull of the screws: density of the board, shank or thread length is unknown")
    left_out = len(regions.cells) - proposal.planner.count
    if left_out > 0:
        unknown.append(f"{left_out} small pieces beyond the largest {proposal.planner.count}")
    return tuple(unknown)


def _gone(ctx: Context, regions: Regions) -> tuple[tuple[float, float, int], ...]:
    """Pieces that come free and are not there at the end: x, y and line."""
    removal = ctx.removal
    assert removal is not None
    return tuple(
        (loose.place_mm[0], loose.place_mm[1], loose.line)
        for loose in removal.loose
        if int(regions.look_up(np.array([loose.place_mm[:2]]))[0][0]) < 0
    )


__all__ = ["HoldDown", "Wish", "find_hold_down"]
