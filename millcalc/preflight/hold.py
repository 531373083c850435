"""Whether the screws bear what the cut asks for: side force by friction under the heads, and lift."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from millcalc.findings import Finding, NotChecked, Severity
from millcalc.mechanics.holddown import fastener_loads_n, screw_withdrawal_n
from millcalc.preflight import tuning
from millcalc.preflight.uses import cut_uses

if TYPE_CHECKING:
    from millcalc.job.setup import Setup
    from millcalc.preflight.context import Context
    from millcalc.preflight.uses import CutUses

FIELDS = ("bed.wood_density_kg_m3", "screws.shank_diameter_mm", "screws.depth_in_bed_mm")


def judge_hold(ctx: Context, setup: Setup) -> Iterator[Finding | NotChecked]:
    """Compare the load on the most loaded screw with what the wood bears.

    ctx: Program and what was simulated.
    setup: A job with hold-downs.
    Yields: A finding when a screw is asked for more than its share.

    Note: Needed pull of a screw = side load / friction + share of the lift; available = withdrawal / 5.51. The
      board is taken as a panel (0.3 of the solid-wood formula): solid wood holds about three times as much.
    """
    screws = [s for s in setup.screws or () if s.holds]
    clamps = [c for c, _ in setup.clamps or () if c.holds]
    density = setup.job.bed.wood_density_kg_m3
    if clamps:
        yield NotChecked("FORCE-06", "force of the clamps", "how hard they are tightened cannot be known")
        return
    depths = [e.depth_in_bed_mm for e in setup.job.screws or () if e.holds]
    if (
        density is None
        or len(screws) < 2
        or any(d is None for d in depths)
        or any(s.shank_radius_mm <= 0 for s in screws)
    ):
        yield NotChecked(
            "FORCE-06", "strength of the screws", "wood density, screw length or diameter is unknown", FIELDS
        )
        return
    gravity = min(density / 1000.0 / 1.12, 1.3)  # oven-dry weight on volume at 12 % moisture
    holds_n = min(
        float(np.asarray(screw_withdrawal_n(
            gravity, 2 * s.shank_radius_mm, float(d or 0.0), tuning.PANEL_WITHDRAWAL_SHARE
        )))
        for s, d in zip(screws, depths, strict=True)
    ) / tuning.WITHDRAWAL_SAFETY  # fmt: skip
    x, y = np.array([s.x_mm for s in screws]), np.array([s.y_mm for s in screws])
    done, left = cut_uses(ctx)
    for tool, because in left:
        yield NotChecked("FORCE-06", f"cutting force of T{tool}", because)
    for cut in done:
        side, lift, at = worst_force(cut)
        place = ctx.program.motions.end_mm[cut.rows[at]]
        most = max(
            float(np.hypot(*fastener_loads_n(x, y, fx * side, fy * side, place[0], place[1]).T).max())
            for fx, fy in ((1, 0), (0, 1))
        )
        needed = most / tuning.HOLD_FRICTION + lift / len(screws)
        if needed > holds_n:
            yield ctx.say.finding(
                "FORCE-06",
                Severity.STOP if needed > 3 * holds_n else Severity.WARNING,
                f"the most loaded screw would need {ctx.say.newton(needed)} of pull; this board holds about "
                f"{ctx.say.newton(holds_n)} with a reserve of five (side force {ctx.say.newton(side)}, "
                f"lift {ctx.say.newton(lift)})",
                rows=[int(cut.rows[at])],
                compared=(needed, holds_n, "N"),
                action=f"{int(np.ceil(len(screws) * needed / holds_n))} screws around the cut, longer ones, "
                "or shallower passes",
            )


def worst_force(cut: CutUses) -> tuple[float, float, int]:
    """Greatest side force and lift of a tool's cuts, with the upper published coefficients.

    cut: The tool's cuts.
    Returns: Peak force along the table [N], lift [N], and the index of the cut [-].
    """
    from millcalc.limits.request import CutRequest
    from millcalc.limits.state import State

    key = "axis-thrust" if "axis-thrust" in cut.uses else next(iter(cut.uses))
    at = int(np.argmax(cut.uses[key]))
    facts_chip = cut.chip_mm[at : at + 1]
    state = State(
        cut.tooling,
        CutRequest(
            "slot" if cut.width_mm[at] >= 0.9 * cut.tooling.cutter.diameter_mm else "side", proven=True
        ),
        cut.rpm[at : at + 1],
        facts_chip,
        cut.depth_mm[at : at + 1],
        cut.width_mm[at : at + 1],
    )
    loads = state.loads(2)
    up = cut.tooling.cutter.spiral == "up"
    return float(loads.peak_n[0]), (float(loads.axial_n[0]) if up else 0.0), at
