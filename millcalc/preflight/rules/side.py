"""On which side of the path the material stands: climb cuts with play, finishing against the feed."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millcalc.findings import Finding, Severity
from millcalc.preflight.context import Context
from millcalc.preflight.registry import rule
from millcalc.preflight.tuning import CLIMB_PULL_SHARE
from millcalc.preflight.uses import cut_uses
from millcalc.stock.result import SIDE_CLIMB, SIDE_CONVENTIONAL, Removal
from millcalc.tables.models import Machine, Material


@rule("FORCE-07", Severity.WARNING, "climb milling with backlash", needs=("machine", "removal", "motions"),
      what="climb milling against backlash")  # fmt: skip
def _climb(ctx: Context, machine: Machine, removal: Removal) -> Iterator[Finding]:
    """Climb cuts on a machine with play.

    Flags: cuts on the climb side where the machine's backlash is above 0.05 mm: a warning where the cut pulls with a
      quarter or more of what an axis may push, else a note.
    Why: the cutter pulls itself into the work through the play and takes a double bite.
    Wrong: roughing on the climb side with 0.15 mm of play.
    Right: roughing on the conventional side, or less play.
    Limits of the rule: slots contain both sides and are not flagged.
    Source: common practice, no source.
    """
    play = machine.backlash_mm
    if play <= 0.05:
        return
    facts = ctx.facts
    rows = np.flatnonzero(facts.cutting & facts.milling & (removal.side == SIDE_CLIMB))
    if len(rows):
        pull = np.zeros(facts.n)
        for cut in cut_uses(ctx)[0]:
            pull[cut.rows] = cut.uses["axis-thrust"]
        worst = int(rows[np.argmax(pull[rows])])
        yield ctx.say.finding(
            "FORCE-07",
            Severity.WARNING if pull[worst] >= CLIMB_PULL_SHARE else Severity.NOTE,
            f"climb cuts with {ctx.say.mm(play)} of backlash; the hardest pulls with {100 * pull[worst]:.0f} % of "
            "what an axis may push",
            rows=rows,
            worst=worst,
            compared=(play, 0.05, "mm"),
            action="turn the direction of the roughing passes round, or take the play out",
        )


@rule("FORCE-08", Severity.NOTE, "finishing against the feed in metal", needs=("material", "removal", "motions"),
      what="side of the finishing passes")  # fmt: skip
def _conventional_finish(ctx: Context, material: Material, removal: Removal) -> Iterator[Finding]:
    """Thin finishing passes on the conventional side in metal.

    Flags: sideways cuts in metal narrower than a tenth of the cutter, most of them on the conventional side.
    Why: the chip starts at nothing: the edge rubs first, and the wall comes out rough and undersize.
    Wrong: the outline clockwise inside a pocket with a 0.2 mm allowance.
    Right: the same pass the other way round.
    Limits of the rule: on a machine with play the conventional side may still be the better one.
    Source: common practice, no source.
    """
    if not material.is_metal:
        return
    facts, side = ctx.facts, removal.side
    with np.errstate(invalid="ignore"):
        thin = facts.cutting & facts.sideways & (facts.width_mm < 0.1 * facts.diameter_mm)
    rows = np.flatnonzero(thin & (side == SIDE_CONVENTIONAL))
    other = float(facts.motions.length_mm[thin & (side == SIDE_CLIMB)].sum())
    if len(rows) and float(facts.motions.length_mm[rows].sum()) > other:
        yield ctx.say.finding(
            "FORCE-08",
            Severity.NOTE,
            "thin finishing passes run on the conventional side",
            rows=rows,
            action="turn their direction round (material on the right of the way, for a clockwise spindle)",
        )
