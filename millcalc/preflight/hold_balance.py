"""The balance of forces where tape, vacuum, vice, side clamps or screws through waste hold, and of tabs and skins."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from millcalc.findings import Finding, NotChecked, Severity
from millcalc.job.hold_fields import lacking
from millcalc.mechanics.holddown import hold_use, shear_hold_n
from millcalc.preflight import tuning
from millcalc.preflight.hold_kinds import FLAT, JOINS, Strength, given, grown, hold_words, strength
from millcalc.preflight.hold_loads import cut_forces, screws_bear_n
from millcalc.preflight.tabs import THROUGH_MM
from millcalc.preflight.uses import cut_uses

if TYPE_CHECKING:
    from millcalc.job.models import Hold
    from millcalc.job.setup import Setup
    from millcalc.preflight.context import Context
    from millcalc.preflight.uses import CutUses

Floats = NDArray[np.float64]
MOST_GROWN = 1000.0  # times as strong; beyond, no number of that kind is a remedy
STOP_FROM = 3.0  # times what is held; from here on it is a stop


@dataclass(frozen=True, slots=True)
class Balance:
    """What the cut that asks most of all holds together asks for.

    use: Share of what is held that it uses [-].
    side_n, lift_n, arm_mm: Its forces [N], and its distance from the middle of the stock; 0 where turning
      is not judged [mm].
    holds_side_n, holds_lift_n: What is held of each alone [N].
    holds_turning_n: Side force at that distance that is held by its turning moment alone; infinity where turning
      is not judged [N].
    row: Row of the motion table [-].
    """

    use: float
    side_n: float
    lift_n: float
    arm_mm: float
    holds_side_n: float
    holds_lift_n: float
    holds_turning_n: float
    row: int


def _unlisted(setup: Setup, holds: Sequence[Hold]) -> list[str]:
    """Fields that are lacking of some holds."""
    fields = [
        f"hold[{index}].{name}"
        for index, hold in enumerate(setup.job.hold or ())
        if hold in holds
        for name in lacking(hold)
    ]
    screws = any(hold.kind == "waste screws" for hold in holds)
    if screws and setup.job.bed.wood_density_kg_m3 is None:
        fields.append("bed.wood_density_kg_m3")
    return fields


def strengths(setup: Setup, holds: Sequence[Hold], *, screws: bool = True) -> list[Strength]:
    """Strengths of the holds that are known, the listed screws with them.

    setup: The job.
    holds: Its holds other than listed screws and clamps.
    screws: Whether the listed screws count.
    Returns: One for each that can be computed.
    """
    board = setup.job.bed.wood_density_kg_m3
    found = [
        strength(hold, setup.job)
        for hold in holds
        if not lacking(hold) and (hold.kind != "waste screws" or board is not None)
    ]
    each = screws_bear_n(setup)
    count = sum(1 for s in setup.screws or () if s.holds)
    if screws and each is not None and count:
        found.append(Strength(count * each * tuning.HOLD_FRICTION, count * each, 0.0, 0.0))
    return found


def balance(ctx: Context, cut: CutUses, known: Sequence[Strength], turning: bool) -> Balance | None:
    """The cut of a tool that uses most of what holds the work.

    ctx: Program and set-up with a known stock, where turning is judged.
    cut: The tool's cuts.
    known: What holds.
    turning: Whether the turning moment counts.
    Returns: The balance; None where nothing holds.
    """
    side_hold, lift_hold = sum(s.side_n for s in known), sum(s.lift_n for s in known)
    if min(side_hold, lift_hold) <= 0:
        return None
    side, lift = cut_forces(cut)
    arm, turn_hold = np.zeros(len(cut.rows)), 1.0
    if turning and ctx.setup is not None and ctx.setup.stock is not None:
        box, motions = ctx.setup.stock, ctx.program.motions
        middle = np.array([(box.x_min + box.x_max) / 2, (box.y_min + box.y_max) / 2])
        ends = (motions.start_mm[cut.rows, :2], motions.end_mm[cut.rows, :2])
        arm = np.nan_to_num(np.max([np.hypot(*(end - middle).T) for end in ends], axis=0))
        turn_hold = sum(s.turning_n_mm for s in known)
    use = np.atleast_1d(hold_use(side, lift, side * arm, side_hold, lift_hold, turn_hold))
    at = int(np.argmax(use))
    turns = turn_hold / float(arm[at]) if arm[at] > 0 else np.inf
    asked = (float(use[at]), float(side[at]), float(lift[at]), float(arm[at]))
    return Balance(*asked, side_hold, lift_hold, turns, int(cut.rows[at]))


def _counted(ctx: Context, found: Balance) -> str:
    """What is held, so that the three shares can be added up again."""
    newton = ctx.say.newton
    turning = f", {newton(found.holds_turning_n)} turning it from there" if found.arm_mm > 0 else ""
    return f"{newton(found.holds_side_n)} sideways, {newton(found.holds_lift_n)} upwards{turning}, each alone"


def judge_kinds(ctx: Context, setup: Setup, holds: Sequence[Hold]) -> Iterator[Finding | NotChecked]:
    """Judge holds whose strengths add up.

    ctx: Program and what was simulated.
    setup: The job.
    holds: Its holds other than listed screws and clamps; at least one.
    Yields: A finding for each tool that asks for more, and what could not be judged.
    """
    unknown = _unlisted(setup, holds)
    known = strengths(setup, holds)
    turning = judges_turning(setup, holds)
    if unknown:
        names = ", ".join(hold.kind for hold in holds if lacking(hold)) or "waste screws"
        because = f"{', '.join(unknown)} {'is' if len(unknown) == 1 else 'are'} not given"
        yield NotChecked("FORCE-06", f"strength of {names}", because, tuple(unknown))
    if not known:
        return
    if not turning:
        because = (
            "the stock's size or zero is unknown"
            if setup.stock is None
            else "where jaws, side clamps or unlisted screws stand is not described"
        )
        yield NotChecked("FORCE-06", "whether the work can turn", because)
    done, left = cut_uses(ctx)
    for tool, because in left:
        yield NotChecked("FORCE-06", f"cutting force of T{tool}", because)
    for cut in done:
        found = balance(ctx, cut, known, turning)
        if found is not None and found.use > 1.0 and not unknown:
            yield _too_weak(ctx, setup, cut, holds, found, turning)


def on_the_bed(setup: Setup) -> list[Hold]:
    """Holds of the job that keep the work on the bed, listed screws and clamps left out.

    setup: The job.
    Returns: All but tabs, skins and unknown ones.
    """
    return [hold for hold in setup.job.hold or () if hold.kind not in (*JOINS, "unknown")]


def together_words(ctx: Context, setup: Setup, holds: Sequence[Hold]) -> str:
    """What holds, in words, the listed screws with it where their strength is known.

    ctx: Gives the units.
    setup: The job.
    holds: Holds other than listed screws and clamps.
    Returns: Such as ``tape, 60 cm2 and the listed screws``.
    """
    words = [hold_words(hold, ctx.units) for hold in holds]
    if any(s.holds for s in setup.screws or ()) and screws_bear_n(setup) is not None:
        words.append("the listed screws")
    return " and ".join(words)


def balance_words(ctx: Context) -> tuple[str, ...]:
    """What every tool asks of tape, vacuum, vice and the like, and the share of what they bear.

    ctx: Program and set-up.
    Returns: A sentence for each tool; empty where there is no such hold, or its strength is not known.
    """
    setup = ctx.setup
    if setup is None:
        return ()
    holds = on_the_bed(setup)
    known = strengths(setup, holds)
    if not holds or not known or _unlisted(setup, holds):
        return ()
    told = []
    for cut in cut_uses(ctx)[0]:
        found = balance(ctx, cut, known, judges_turning(setup, holds))
        if found is not None:
            line = int(ctx.program.motions.line[found.row])
            turned = "" if found.arm_mm <= 0 else f", {ctx.say.mm(found.arm_mm, 1.0)} from the stock's middle"
            told.append(
                f"T{cut.tool}, line {line}: {ctx.say.newton(found.side_n)} along the table and "
                f"{ctx.say.newton(found.lift_n)} of lift{turned}: {max(1, round(100 * found.use))} % of what "
                f"{together_words(ctx, setup, holds)} may be counted on for "
                f"({_counted(ctx, found)})"
            )
    return tuple(told)


def held_flat(ctx: Context, area_mm2: float, row: int) -> tuple[float, str, str] | None:
    """How much of what tape or vacuum under a whole piece bears is asked by the tool that frees it.

    ctx: Program and set-up.
    area_mm2: Area of the piece [mm2].
    row: Motion that frees it [-].
    Returns: Share, above 1 where it may slip or cannot be computed [-]; that in words; the names of what
      holds. None where neither holds.
    """
    flat = [h for h in on_the_bed(ctx.setup) if h.kind in FLAT] if ctx.setup is not None else []
    if not flat or ctx.setup is None:
        return None
    names = " and ".join(hold.kind for hold in flat)
    under = [h.model_copy(update={"area_mm2": min(area_mm2, h.area_mm2 or 0.0) or None}) for h in flat]
    known = strengths(ctx.setup, under, screws=False)
    asked = [
        balance(ctx, cut, known, False) for cut in cut_uses(ctx)[0] if cut.tool == int(ctx.facts.tool[row])
    ]
    uses = [one.use for one in asked if one is not None]
    if not uses:
        return STOP_FROM, f"; what {names} under it bears is unknown", names
    share = max(1, round(100 * max(uses)))
    return max(uses), f"; the cut asks {share} % of what {names} under all of it may be counted on for", names


def judges_turning(setup: Setup, holds: Sequence[Hold]) -> bool:
    """Whether the turning moment can be judged.

    setup: The job.
    holds: Holds other than listed screws and clamps.
    Returns: True where the stock is placed and all of them lie under it.
    """
    return setup.stock is not None and all(hold.kind in FLAT for hold in holds)


def _too_weak(
    ctx: Context, setup: Setup, cut: CutUses, holds: Sequence[Hold], found: Balance, turning: bool
) -> Finding:
    say = ctx.say
    together = together_words(ctx, setup, holds)
    asked = f"{say.newton(found.side_n)} along the table and {say.newton(found.lift_n)} of lift"
    if found.arm_mm > 0:
        asked += f", {say.mm(found.arm_mm, 1.0)} from the middle of the stock"
    share = max(101, round(100 * found.use))
    guesses = [guess for one in strengths(setup, holds) for guess in one.estimates]
    return say.finding(
        "FORCE-06",
        Severity.STOP if found.use > STOP_FROM else Severity.WARNING,
        f"the cut asks for {asked}; {together} may be counted on for {_counted(ctx, found)}: "
        f"the cut is {share} % of it",
        rows=[found.row],
        compared=(100 * found.use, 100.0, "%"),
        action=_stronger(ctx, setup, cut, holds, turning),
        why="estimates in it: " + "; ".join(dict.fromkeys(guesses)) if guesses else "",
    )


def _stronger(ctx: Context, setup: Setup, cut: CutUses, holds: Sequence[Hold], turning: bool) -> str:
    """The smallest change of one hold with which the cut is held."""
    job = setup.job
    room = float("inf")
    if job.stock.size_x_mm is not None and job.stock.size_y_mm is not None:
        room = job.stock.size_x_mm * job.stock.size_y_mm

    def held(index: int, hold: Hold) -> bool:
        changed = [hold if k == index else one for k, one in enumerate(holds)]
        found = balance(ctx, cut, strengths(setup, changed), turning)
        return found is not None and found.use <= 1.0

    ways = []
    for index, hold in enumerate(holds):
        low, high = 1.0, MOST_GROWN
        most = grown(hold, high, ctx.units)
        if most is None or not held(index, most[0]):
            continue
        for _ in range(24):
            middle = (low * high) ** 0.5
            more = grown(hold, middle, ctx.units)
            low, high = (low, middle) if more is not None and held(index, more[0]) else (middle, high)
        done = grown(hold, high, ctx.units)
        if done is not None and (done[0].area_mm2 or 0.0) <= room:
            ways.append(done[1])
    return ", or ".join(
        [*ways, "shallower passes" if ways else "shallower passes, or screws or clamps besides"]
    )


def judge_joins(ctx: Context, setup: Setup) -> Iterator[Finding | NotChecked]:
    """Judge the tabs or the skin that the job describes: they hold the part while its outline is closed.

    ctx: Program and what was simulated.
    setup: The job.
    Yields: A finding where they are weaker than four times the force of the last pass.
    """
    joins = [hold for hold in setup.job.hold or () if hold.kind in JOINS]
    bottom, material = ctx.facts.bottom_mm, setup.material
    for hold in joins:
        index = (setup.job.hold or ()).index(hold)
        absent = tuple(f"hold[{index}].{name}" for name in lacking(hold))
        if absent or bottom is None or material is None:
            because = f"{', '.join(absent)} not given" if absent else "material or thickness is unknown"
            yield NotChecked("FORCE-06", f"strength of the {hold.kind}", because, absent)
            continue
        tau = material.shear_strength_n_mm2.lowest
        section = given(hold.length_mm) * given(hold.thickness_mm) * (hold.count or 1)
        bears = float(np.asarray(shear_hold_n(section, tau))) / tuning.TAB_SAFETY
        for cut in cut_uses(ctx)[0]:
            last = ctx.facts.z_low[cut.rows] <= bottom + given(hold.thickness_mm) + THROUGH_MM
            side = np.where(last, cut_forces(cut)[0], 0.0)
            at = int(np.argmax(side))
            if side[at] > bears:
                asked, has = ctx.say.newtons(float(side[at]), bears)
                share = float(side[at]) / bears
                yield ctx.say.finding(
                    "FORCE-06",
                    Severity.WARNING,
                    f"the last pass pushes with {asked}; the {hold.kind} of {section:.3g} mm2 may be counted on "
                    f"for {has}, four times in hand",
                    rows=[int(cut.rows[at])],
                    compared=(float(side[at]), bears, "N"),
                    action=_thicker(ctx, hold, share),
                )


def _thicker(ctx: Context, hold: Hold, share: float) -> str:
    if hold.kind == "tabs":
        return f"{int(np.ceil((hold.count or 1) * share))} tabs of this size, or thicker ones"
    thick = np.ceil(given(hold.thickness_mm) * share * 20 - 1e-9) / 20
    return f"leave a skin of {ctx.edit.mm(float(thick), 0.05)}, or a shallower last pass"
