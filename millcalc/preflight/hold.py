"""Whether what holds the work bears what the cut asks for: side force, lift, and the moment that turns it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from millcalc.findings import Finding, NotChecked, Severity
from millcalc.mechanics.holddown import fastener_loads_n
from millcalc.preflight import tuning
from millcalc.preflight.hold_balance import judge_joins, judge_kinds, on_the_bed
from millcalc.preflight.hold_loads import Floats, cut_forces, screws_bear_n, worst_force
from millcalc.preflight.uses import cut_uses

if TYPE_CHECKING:
    from millcalc.job.setup import Keepout, Setup
    from millcalc.preflight.context import Context

FIELDS = ("bed.wood_density_kg_m3", "screws.shank_diameter_mm", "screws.depth_in_bed_mm")


def untold(ctx: Context) -> bool:
    """Whether the job leaves open what holds the work, wholly or in part."""
    setup = ctx.setup
    if setup is None:
        return False
    if any(h.kind == "unknown" for h in setup.job.hold or ()):
        return True
    return setup.job.hold is None and not (setup.screws or setup.clamps)


def judge_hold(ctx: Context, setup: Setup) -> Iterator[Finding | NotChecked]:
    """Compare what the cut asks for with what holds the work.

    ctx: Program and what was simulated.
    setup: A job with hold-downs.
    Yields: A finding when more is asked for than is held, and what could not be judged.

    Note: With screws alone the most loaded one is judged: needed pull = side load / friction + share of the
      lift; available = withdrawal / 5.51. The board is taken as a panel (0.3 of the solid-wood formula): solid
      wood holds about three times as much. With other holds, their strengths add up.
    """
    others = on_the_bed(setup)
    told_all = all(h.kind != "unknown" for h in setup.job.hold or ())
    clamps = any(c.holds for c, _ in setup.clamps or ())
    found = [*judge_kinds(ctx, setup, others)] if others else [*_judge_screws(ctx, setup, clamps)]
    doubt = ""
    if clamps and others:
        doubt = "how hard the clamps are tightened cannot be known"
    elif not told_all:
        doubt = "part of what holds it is unknown: how is it held?"
    if doubt and any(isinstance(one, Finding) for one in found):
        found = [one for one in found if not isinstance(one, Finding)]
        found.append(NotChecked("FORCE-06", "whether it is held", doubt, ("hold",)))
    yield from found
    yield from judge_joins(ctx, setup)


def _judge_screws(ctx: Context, setup: Setup, clamps: bool) -> Iterator[Finding | NotChecked]:
    """The most loaded of the screws, where nothing else holds."""
    screws = [s for s in setup.screws or () if s.holds]
    if clamps:
        yield NotChecked("FORCE-06", "force of the clamps", "how hard they are tightened cannot be known")
        return
    holds_n = screws_bear_n(setup)
    if holds_n is None or len(screws) < 2:
        yield NotChecked(
            "FORCE-06", "strength of the screws", "wood density, screw length or diameter is unknown", FIELDS
        )
        return
    done, left = cut_uses(ctx)
    for tool, because in left:
        yield NotChecked("FORCE-06", f"cutting force of T{tool}", because)
    for cut in done:
        side, lift, at = worst_force(cut)
        place = ctx.program.motions.end_mm[cut.rows[at]]
        needed = _most_loaded_n(screws, side, lift, (float(place[0]), float(place[1])))
        if needed > holds_n:
            need, has = ctx.say.newtons(needed, holds_n)
            yield ctx.say.finding(
                "FORCE-06",
                Severity.STOP if needed > 3 * holds_n else Severity.WARNING,
                f"the most loaded screw would need {need} of pull; this board holds about "
                f"{has} with a reserve of five (side force {ctx.say.newton(side)}, "
                f"lift {ctx.say.newton(lift)})",
                rows=[int(cut.rows[at])],
                share=1.0,
                compared=(needed, holds_n, "N"),
                action=f"{int(np.ceil(len(screws) * needed / holds_n))} screws around the cut, longer ones, "
                "or shallower passes",
            )


def screw_pulls(ctx: Context) -> tuple[Floats, float] | None:
    """Pull that the most loaded screw needs in every cut, where listed screws alone hold.

    Returns: One a motion, NaN where unknown [N] (shape (n,)), and what a screw bears [N]; None where other things
      hold too, or a strength is unknown.
    """
    setup = ctx.setup
    if setup is None or on_the_bed(setup) or any(c.holds for c, _ in setup.clamps or ()):
        return None
    screws, holds_n = [s for s in setup.screws or () if s.holds], screws_bear_n(setup)
    done = cut_uses(ctx)[0]
    if holds_n is None or len(screws) < 2 or sum(len(cut.rows) for cut in done) > tuning.PULLS_AT_MOST:
        return None
    pulls = np.full(ctx.facts.n, np.nan)
    for cut in done:
        ends = ctx.program.motions.end_mm[cut.rows, :2]
        for row, side, lift, end in zip(cut.rows.tolist(), *cut_forces(cut), ends, strict=True):
            pulls[row] = _most_loaded_n(screws, float(side), float(lift), (float(end[0]), float(end[1])))
    return pulls, holds_n


def _most_loaded_n(
    screws: Sequence[Keepout], side_n: float, lift_n: float, at_mm: tuple[float, float]
) -> float:
    """Pull that the most loaded screw needs for a force at a place."""
    x, y = np.array([s.x_mm for s in screws]), np.array([s.y_mm for s in screws])
    most = max(
        float(np.hypot(*fastener_loads_n(x, y, fx * side_n, fy * side_n, *at_mm).T).max())
        for fx, fy in ((1, 0), (0, 1))
    )
    return most / tuning.HOLD_FRICTION + lift_n / len(screws)
