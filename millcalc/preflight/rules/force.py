"""Forces, power, deflection, hold-down: what the cut asks of spindle, axes, cutter and screws."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millcalc.findings import Finding, NotChecked, Severity
from millcalc.job.setup import Setup
from millcalc.limits.table import TITLES
from millcalc.limits.tuning import CHATTER_NOTE, CHATTER_WARNING
from millcalc.preflight.context import Context
from millcalc.preflight.registry import rule
from millcalc.preflight.uses import OVER, RESERVE_SLACK, cut_uses
from millcalc.preflight.wording import passes, tool_name, width_words

NEEDS = ("machine", "material", "cutters", "stock_top", "motions")


def _over(
    ctx: Context, code: str, key: str, text: tuple[str, str], stop_from: float
) -> Iterator[Finding | NotChecked]:
    """Findings for one limit: a note just over it (DEPTH-01 speaks too), a warning well over, then a stop."""
    done, left = cut_uses(ctx)
    for tool, because in left:
        yield NotChecked(code, f"{TITLES[key]} of T{tool_name(tool)}", because)
    for cut in done:
        use = cut.uses[key]
        bad = use > OVER
        if not bad.any():
            continue
        at = int(np.argmax(use))
        worst = int(cut.rows[at])
        severity = (
            Severity.NOTE if use[at] < 1.5 else Severity.WARNING if use[at] < stop_from else Severity.STOP
        )
        depth = float(cut.depth_mm[at])
        yield ctx.say.finding(
            code,
            severity,
            f"T{tool_name(cut.tool)}: {text[0]} {use[at]:.3g} times {text[1]}, at {ctx.say.mm(depth)} deep"
            + width_words(ctx),
            rows=cut.rows[bad],
            worst=worst,
            compared=(float(use[at]), 1.0, "of the limit"),
            action=passes(ctx, depth, depth / float(use[at])),
        )


@rule("FORCE-01", Severity.WARNING, "spindle power", needs=NEEDS, what="cutting power against the spindle's")
def _power(ctx: Context) -> Iterator[Finding | NotChecked]:
    """The cut asks for more power or torque than the spindle has at this speed.

    Flags: cutting power (Kienzle, upper published value) above the shaft power at the speed.
    Why: the speed falls, the chip grows, and the spindle stalls in the cut.
    Wrong: a 2 mm deep 6 mm slot in aluminium at F2000 on a 400 W motor at its lowest dial mark.
    Right: shallower, slower, or at a speed where the motor has its power.
    Limits of the rule: published specific forces of one alloy spread widely; the upper end is used.
    Source: Kienzle; the coefficients are the material table's, the power the machine table's.
    """
    yield from _over(ctx, "FORCE-01", "spindle-power", ("the cut takes", "the power of the spindle"), np.inf)


@rule("FORCE-02", Severity.STOP, "axis push", needs=NEEDS, what="cutting force against the axes' push")
def _thrust(ctx: Context) -> Iterator[Finding | NotChecked]:
    """The cut pushes harder than half of what stalls an axis.

    Flags: mean force in the plane (upper published set) above half of the weaker axis's push.
    Why: an axis that stalls loses steps, and everything after is displaced.
    Wrong: 1.5 mm deep in aluminium on a belt-driven gantry with 60 N of push.
    Right: shallower passes.
    Limits of the rule: a worn edge adds 30 to 50 %; the push is the table's for the class until it is measured.
    Source: linear-edge force model; coefficients and push from the tables.
    """
    yield from _over(
        ctx, "FORCE-02", "axis-thrust", ("the force along the table is", "half of the axis's push"), 2.0
    )


@rule("FORCE-03", Severity.WARNING, "deflection", needs=NEEDS, what="deflection of cutter and machine")
def _deflection(ctx: Context) -> Iterator[Finding | NotChecked]:
    """Cutter and machine bend more than the tolerance allows.

    Flags: deflection at the tip above the roughing allowance of job or material.
    Why: the slot comes out wide, walls lean, and the cut becomes rough and loud.
    Wrong: a 1.5 mm cutter with 20 mm stickout at 1 mm depth.
    Right: shorter stickout, a shorter drop, shallower passes.
    Limits of the rule: stiffness is the table's for the class of machine until it is measured.
    Source: springs in series; stepped cantilever with 0.8 diameters, Kops and Vo 1990.
    """
    yield from _over(ctx, "FORCE-03", "deflection", ("deflection is", "the allowance"), np.inf)


@rule("FORCE-04", Severity.STOP, "cutter strength", needs=NEEDS, what="bending stress of the cutter")
def _strength(ctx: Context) -> Iterator[Finding | NotChecked]:
    """The cutter is bent beyond what its material bears.

    Flags: bending stress at the root under the peak force (upper published set) above the allowed one.
    Why: thin cutters break, and the piece flies.
    Wrong: a 1 mm cutter with 8 mm stickout, 0.5 mm deep in aluminium at F600.
    Right: shallower, a smaller feed, or a thicker cutter.
    Limits of the rule: shock, run-out and packed chips, which break most small cutters, are not in the number.
    Source: estimate (a third of the transverse rupture strength).
    """
    yield from _over(
        ctx, "FORCE-04", "cutter-strength", ("the bending stress is", "what the cutter bears"), 1.5
    )


@rule("FORCE-05", Severity.WARNING, "prone to chatter", needs=NEEDS, what="how prone the cuts are to chatter")
def _chatter(ctx: Context) -> Iterator[Finding | NotChecked]:
    """A cut that may begin to howl.

    Flags: depth above the one at which spindle and collet alone stay quiet at any speed (a note), or, in
      metal, twice that (a warning); never a stop. Where this cutter was tapped in this spindle, DEPTH-01 judges it.
    Why: a howling cut leaves walls like a file and wears the cutter.
    Wrong: 3 mm deep in aluminium with two flutes on a trim router.
    Right: shallower, fewer flutes, or a speed that was found quiet; tap the cutter to know.
    Limits of the rule: a hint from the class of the spindle with a damping of 0.03; the frame's own mode is left out,
      and the cutter's bending where the wave it leaves is too short to grow. Outside metal the slope of the force is
      an estimate, so it is a note only.
    Source: Altintas and Budak 1995, zero-order limit.
    """
    done, left = cut_uses(ctx)
    for tool, because in left:
        yield NotChecked("FORCE-05", f"chatter of T{tool_name(tool)}", because)
    for cut in done:
        if not len(cut.rows) or cut.tooling.cutter_modes:
            continue
        hint = cut.chatter
        bad = hint > CHATTER_NOTE
        if not bad.any():
            continue
        at = int(np.argmax(hint))
        depth, quiet = float(cut.depth_mm[at]), float(cut.depth_mm[at] / hint[at])
        loud = hint[at] > CHATTER_WARNING and cut.tooling.material.is_metal
        yield ctx.say.finding(
            "FORCE-05",
            Severity.WARNING if loud else Severity.NOTE,
            f"T{tool_name(cut.tool)} may begin to howl at {ctx.say.mm(depth)} deep: spindle and collet of this class "
            f"stay quiet at any speed down to {ctx.say.mm(quiet)}" + width_words(ctx),
            rows=cut.rows[bad],
            worst=int(cut.rows[at]),
            compared=(float(hint[at]), CHATTER_NOTE, "of the quiet depth"),
            action=f"listen; if it howls, {passes(ctx, depth, quiet)}, or another speed (tap the cutter to know which)",
        )


@rule("FORCE-06", Severity.STOP, "hold-down", needs=(*NEEDS, "hold_down"), what="what holds the work down")
def _hold_down(ctx: Context, setup: Setup) -> Iterator[Finding | NotChecked]:
    """Screws and clamps hold less than the cut asks for.

    Flags: a job that says none to screws, clamps and every other hold (a stop); a single one (a warning); a
      side load, lift and turning moment above what screws, tape, vacuum, vice and side clamps bear together;
      tabs or a skin weaker than four times the last pass. How it is held not told: not checked, no stop.
    Why: the work shifts or lifts, and is thrown.
    Wrong: one 3 mm screw, 8 mm into MDF, for an aluminium plate.
    Right: four screws around the cut, 15 mm or more into sound wood.
    Limits of the rule: clean, flat, dry faces; the force of listed clamps is unknown; where jaws and unlisted
      screws stand is unknown, so the turning of work they hold is not judged.
    Source: USDA Wood Handbook FPL-GTR-282, withdrawal of wood screws; safety factor 15 700 / 2850, its allowable;
      Coulomb friction; definitions of pressure and shear; safety factor 2 of the others, common practice.
    """
    from millcalc.preflight.hold import judge_hold

    holds = [s for s in setup.screws or () if s.holds] + [c for c, _ in setup.clamps or () if c.holds]
    first = ctx.facts.first_cut
    if first is None:
        return
    told = setup.job.hold
    others = [h for h in told or () if h.kind not in ("tabs", "onion skin")]
    if not holds and not [h for h in others if h.kind != "unknown"]:
        if told == () and () in (setup.screws, setup.clamps):
            yield ctx.say.finding(
                "FORCE-06",
                Severity.STOP,
                "the job says that nothing holds the work",
                rows=[first],
                compared=(0, 2, "hold-downs"),
                action="write under hold what does, as - {kind: tape, area: 60 cm2}, or add two screws or clamps",
            )
        else:
            because = "no screw, clamp or other hold is described; write it under hold in the job"
            yield NotChecked("FORCE-06", "how is it held?", because, ("hold",))
        return
    if len(holds) == 1 and not others:
        yield ctx.say.finding(
            "FORCE-06",
            Severity.WARNING,
            "a single screw or clamp holds the work; it can turn about it",
            rows=[first],
            compared=(1, 2, "hold-downs"),
            action="add at least one more, on the other side of the cut",
        )
    yield from judge_hold(ctx, setup)


@rule(
    "FORCE-09",
    Severity.NOTE,
    "slender cutter",
    needs=("cutters", "motions"),
    what="stickout against diameter",
)
def _slender(ctx: Context) -> Iterator[Finding | NotChecked]:
    """A cutter that sticks out more than four times its diameter.

    Flags: stickout over four diameters (of the shank, where that is thinner) on tools that cut sideways.
    Why: bending grows with the third power of the length; such a cutter sings and breaks.
    Wrong: a 3 mm cutter with 20 mm stickout.
    Right: no longer than the cut needs; TOOL-06 says how short.
    Limits of the rule: deflection and chatter are computed where machine and material are known.
    Source: common practice, no source.
    """
    facts = ctx.facts
    for tool, rows, fitted in ctx.by_cutter(facts.cutting & facts.milling):
        if fitted.stickout_mm is None:
            yield NotChecked(
                "FORCE-09",
                f"slenderness of T{tool}",
                "its stickout is unknown",
                (f"cutters.{tool}.stickout_mm",),
            )
            continue
        thick = max(fitted.cutter.diameter_mm, fitted.cutter.shank_mm)
        ratio = fitted.stickout_mm / thick
        if ratio > 4.0:
            yield ctx.say.finding(
                "FORCE-09",
                Severity.NOTE,
                f"T{tool} sticks out {ctx.say.mm(fitted.stickout_mm)}, {ratio:.1f} times its thickness",
                rows=rows,
                compared=(ratio, 4.0, "diameters"),
                action="push it further into the collet as far as flutes and depth of cut allow",
            )


@rule(
    "FORCE-10", Severity.NOTE, "beyond a first cut's reserve", needs=NEEDS, what="the reserve of a first cut"
)
def _reserve(ctx: Context) -> Iterator[Finding]:
    """Every limit holds, but the cut uses more than a first cut should.

    Flags: sideways cuts within all limits that use more of a force limit than `millcalc settings` allows a first
      cut; jobs marked `proven` are left alone.
    Why: stiffness, force and wear are not known well; a first cut keeps a reserve for that.
    Wrong: a first cut at the depth at which deflection just holds.
    Right: the depth `millcalc settings` gives, then deeper step by step; `proven: true` once it went well.
    Limits of the rule: the reserve follows from estimated spreads.
    Source: sampled spreads, millcalc/tuning.py.
    """
    if ctx.setup is None or ctx.proven:
        return
    for cut in cut_uses(ctx)[0]:
        worst, _ = cut.worst()
        keys = list(cut.first)
        table = np.vstack([cut.first[key] for key in keys])
        beyond = (table.max(axis=0) > RESERVE_SLACK) & (worst <= OVER)
        if not beyond.any():
            continue
        some = np.flatnonzero(beyond)
        at = int(some[table.max(axis=0)[beyond].argmax()])
        key = keys[int(table[:, at].argmax())]
        use, most = float(cut.uses[key][at]), float(cut.uses[key][at] / cut.first[key][at])
        depth = float(cut.depth_mm[at])
        yield ctx.say.finding(
            "FORCE-10",
            Severity.NOTE,
            f"T{tool_name(cut.tool)}: {TITLES[key]} is used to {100 * use:.0f} %, a first cut should stay at "
            f"{100 * most:.0f} %, at {ctx.say.mm(depth)} deep" + width_words(ctx),
            rows=cut.rows[beyond],
            worst=int(cut.rows[at]),
            compared=(use, most, "of the limit"),
            action=passes(ctx, depth, depth * most / use),
        )
