"""Pieces that come loose, tabs, and the order of inner and outer cuts."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from millcalc.findings import Finding, NotChecked, Severity, Span
from millcalc.mechanics.holddown import tab_section_mm2
from millcalc.preflight import tuning
from millcalc.preflight.context import Context
from millcalc.preflight.hold import untold
from millcalc.preflight.hold_balance import STOP_FROM, held_flat
from millcalc.preflight.moments import release
from millcalc.preflight.registry import rule
from millcalc.preflight.rules.bed import z_doubt_mm
from millcalc.preflight.tabs import THROUGH_MM, Tab, find_tabs
from millcalc.preflight.uses import cut_uses
from millcalc.stock.left import LoosePiece
from millcalc.stock.result import Removal
from millcalc.tables.models import Material


@rule(
    "LOOSE-01",
    Severity.STOP,
    "a piece comes free",
    needs=("removal", "motions"),
    what="pieces that come free",
)
def _free(ctx: Context, removal: Removal) -> Iterator[Finding]:
    """A piece is cut free of what holds the stock.

    Flags: pieces that no screw or clamp holds and no tab joins to the rest, with the line that frees them;
      pieces smaller than the cutter as a warning.
    Why: a freed piece jams between cutter and slot, is thrown, and breaks the cutter.
    Wrong: an outline right through a plate that is screwed down outside it only.
    Right: three tabs or more, or a screw inside the piece.
    Limits of the rule: on tape or vacuum it is a note where a piece wholly on it bears the cut that frees it, else
      a warning, from three times as much on a stop; whether all of it lies on them is not known. A warning where the
      job does not tell what holds the work. As fine as the cells of the simulated cut.
    Source: the simulated cut.
    """
    motions = ctx.program.motions
    after = np.concatenate(
        [np.cumsum(np.where(ctx.facts.cutting, motions.length_mm, 0.0)[::-1])[::-1], [0.0]]
    )
    for small in (False, True):
        pieces = [piece for piece in removal.loose if piece.small is small]
        if not pieces:
            continue
        worst = max(pieces, key=lambda piece: piece.area_mm2)
        left = float(after[worst.motion + 1])
        held = held_flat(ctx, worst.area_mm2, worst.motion)
        severity = Severity.WARNING if small else Severity.STOP
        if held is not None:
            weak = held[0] > STOP_FROM and not small
            severity = Severity.NOTE if held[0] <= 1.0 else Severity.STOP if weak else Severity.WARNING
        elif untold(ctx):
            severity = Severity.WARNING
        yield Finding(
            "LOOSE-01",
            severity,
            f"a piece of {_sized(ctx, removal, worst)} comes free at "
            f"{ctx.say.point(worst.place_mm)}"
            + (f"; {ctx.say.mm(left, 1.0)} are still cut after that" if left > 1 else "")
            + ("" if held is None else held[1])
            + ("; what holds it is unknown" if held is None and untold(ctx) else ""),
            f"see that all of it lies on {held[2]}, or leave tabs on it"
            if held is not None
            else "write under hold what lies under it, as - {kind: tape, area: 60 cm2}; or leave tabs on it"
            if untold(ctx)
            else "leave tabs on it, put a screw into it, or clear it away in small cuts"
            if not small
            else "expect it to be thrown; cover the cut, or leave it joined",
            spans=tuple(Span(piece.line) for piece in sorted([worst], key=lambda p: p.line)),
            place_mm=worst.place_mm,
            motion=worst.motion,
            share=release(ctx, worst),
            measured=worst.area_mm2,
            unit="mm2",
            count=len(pieces),
            last_line=max(piece.line for piece in pieces) if len(pieces) > 1 else None,
        )


def _sized(ctx: Context, removal: Removal, piece: LoosePiece) -> str:
    """Size of a piece, with what the cells leave open: an edge is known to about half a cell."""
    x, y = (ctx.say.mm(value, 0.1) for value in piece.size_mm)
    return f"{x} by {y}, give or take {ctx.say.mm(max(removal.cell_mm, 0.1), 0.1)},"


def _tabs(ctx: Context) -> list[Tab]:
    """Tabs of the last pass only: the lowest cut beside each place, one entry a place; each where it is unknown."""
    kept: dict[tuple[int, ...], Tab] = {}
    for tab in find_tabs(ctx):
        middle = _middle(ctx, tab)
        key = (tab.side,) if middle is None else (round(middle[0]), round(middle[1]))
        old = kept.get(key)
        if old is None or tab.low_mm <= old.low_mm:
            kept[key] = tab
    return list(kept.values())


def _middle(ctx: Context, tab: Tab) -> tuple[float, float, float] | None:
    """The middle of a tab's way across [mm]; None where the program leaves it unknown."""
    motions = ctx.program.motions
    x, y, z = (float(v) for v in (motions.start_mm[tab.side] + motions.end_mm[tab.side]) / 2)
    return (x, y, z) if np.isfinite((x, y, z)).all() else None


def tab_thickness_needed_mm(ctx: Context) -> float:
    """Least effective thickness of a tab in this material.

    ctx: Program and set-up.
    Returns: Thickness [mm].
    """
    material = ctx.setup.material if ctx.setup else None
    hard = material is not None and (material.is_metal or material.family == "laminate")
    return tuning.TAB_THICKNESS_HARD_MM if hard or material is None else tuning.TAB_THICKNESS_SOFT_MM


@rule("LOOSE-02", Severity.WARNING, "tabs too thin", needs=("stock_bottom", "stock_top", "motions"),
      what="thickness of tabs")  # fmt: skip
def _thin(ctx: Context, bottom_mm: float) -> Iterator[Finding]:
    """A tab thinner than it must be, after what is not known about the height.

    Flags: tabs whose thickness less thickness spread and bed flatness is under 0.5 mm in metal and laminate,
      1 mm in wood and plastic.
    Why: on a bowed plate the thinnest tab is gone before the outline is closed.
    Wrong: 0.4 mm tabs on a plate that is 0.2 mm uneven.
    Right: 1 mm tabs there.
    Limits of the rule: only as good as the measured thickness; spread and flatness count as 0 where not given.
    Source: common practice, no source.
    """
    doubt, need = z_doubt_mm(ctx), tab_thickness_needed_mm(ctx)
    thin = [(tab.top_mm - bottom_mm - doubt, tab) for tab in _tabs(ctx)]
    thin = [entry for entry in thin if entry[0] < need - 1e-6]
    if thin:
        value, tab = min(thin, key=lambda entry: entry[0])
        yield ctx.say.finding(
            "LOOSE-02",
            Severity.STOP if value <= 0 else Severity.WARNING,
            f"a tab of {ctx.say.mm(max(0.0, value))}"
            + (f" after {ctx.say.mm(doubt)} of doubt about the height" if doubt > 0 else "")
            + f"; {ctx.say.mm(need)} is the least",
            rows=np.array(sorted(t.side for _, t in thin)),
            worst=tab.side,
            word="Z",
            compared=(value, need, "mm"),
            place=_middle(ctx, tab),
            action=f"lift to Z {ctx.edit.mm(bottom_mm + need + doubt)} over the tabs",
        )


@rule("LOOSE-03", Severity.STOP, "tabs shorter than the cutter", needs=("stock_bottom", "stock_top", "cutters",
      "motions"), what="length of tabs")  # fmt: skip
def _short(ctx: Context) -> Iterator[Finding]:
    """A tab that the cutter's own width eats up.

    Flags: tabs whose way across, less the cutter's diameter, is under 0.5 mm (a stop when nothing is left).
    Why: the cutter reaches half its diameter under the tab from both sides; on paper it is there.
    Wrong: a 5 mm lift with a 6 mm cutter.
    Right: a lift of 10 mm leaves a tab of 4 mm.
    Limits of the rule: slopes count half; on curves the true length differs a little.
    Source: plane geometry.
    """
    facts = ctx.facts
    diameter = facts.diameter_mm
    short = [(tab.length_mm - float(diameter[tab.side]), tab) for tab in _tabs(ctx)]
    short = [entry for entry in short if entry[0] < 0.5]
    if short:
        value, tab = min(short, key=lambda entry: entry[0])
        yield ctx.say.finding(
            "LOOSE-03",
            Severity.STOP if value <= 0 else Severity.WARNING,
            f"a lift of {ctx.say.mm(tab.length_mm, 0.1)} leaves a tab of {ctx.say.mm(max(0.0, value), 0.1)} with a "
            f"{ctx.say.mm(diameter[tab.side], 0.01)} cutter",
            rows=np.array(sorted(t.side for _, t in short)),
            worst=tab.side,
            compared=(value, 0.5, "mm"),
            action=f"make the lift {ctx.edit.mm(diameter[tab.side] + 3, 0.5)} long for a tab of {ctx.edit.mm(3.0)}",
        )


@rule("LOOSE-04", Severity.WARNING, "too few tabs", needs=("stock_bottom", "stock_top", "motions"),
      what="number of tabs")  # fmt: skip
def _few(ctx: Context) -> Iterator[Finding]:
    """A part on one or two tabs.

    Flags: closed outlines through the stock with one or two tabs and no screw inside.
    Why: on two tabs the part swings about the line between them.
    Wrong: two tabs opposite each other.
    Right: three or more, spread round the outline.
    Limits of the rule: only outlines cut in one go without a rapid between; screws inside by the rectangle around it.
    Source: common practice, no source.
    """
    motions = ctx.program.motions
    tabs = {tab.side for tab in _tabs(ctx)}
    for run in closed_runs(ctx):
        mine = [row for row in tabs if run[0] <= row <= run[-1]]
        if not 1 <= len(mine) <= 2 or _screw_inside(ctx, run):
            continue
        yield ctx.say.finding(
            "LOOSE-04",
            Severity.WARNING,
            f"the outline is held by {len(mine)} tab{'s' if len(mine) > 1 else ''} only",
            rows=np.array(mine),
            compared=(len(mine), 3, "tabs"),
            place=tuple(float(v) for v in motions.end_mm[mine[0]]),  # type: ignore[arg-type]
            action="three tabs or more, spread round the outline",
        )


def _screw_inside(ctx: Context, run: NDArray[np.intp]) -> bool:
    x0, x1, y0, y1 = _box(ctx, run)
    screws = ctx.setup.screws if ctx.setup else None
    return any(x0 < s.x_mm < x1 and y0 < s.y_mm < y1 and s.holds for s in screws or ())


def _box(ctx: Context, run: NDArray[np.intp]) -> tuple[float, float, float, float]:
    low, high = ctx.facts.bounds
    return (
        float(np.fmin.reduce(low[run, 0])), float(np.fmax.reduce(high[run, 0])),
        float(np.fmin.reduce(low[run, 1])), float(np.fmax.reduce(high[run, 1])),
    )  # fmt: skip


def runs(ctx: Context) -> list[NDArray[np.intp]]:
    """Unbroken stretches of feed motions.

    ctx: Program and set-up.
    Returns: Rows of each stretch.
    """
    rows = np.flatnonzero(ctx.facts.feed)
    if not len(rows):
        return []
    return np.split(rows, np.flatnonzero(np.diff(rows) > 1) + 1)


def closed_runs(ctx: Context) -> list[NDArray[np.intp]]:
    """Stretches whose lowest level goes through the stock and closes on itself.

    ctx: Program and a set-up with a known underside.
    Returns: Rows of the through part of each.
    """
    facts, bottom = ctx.facts, ctx.facts.bottom_mm
    if bottom is None:
        return []
    closed = []
    end = facts.motions.end_mm
    for run in runs(ctx):
        low = np.flatnonzero(facts.z_low[run] <= bottom + THROUGH_MM)
        if not len(low):
            continue
        part = run[low[0] : low[-1] + 1]
        sideways = part[facts.plan_mm[part] > 1e-6]
        if not len(sideways) or float(facts.plan_mm[part].sum()) < 3.0:
            continue
        gap = np.hypot(*(facts.motions.start_mm[sideways[0]] - end[sideways[-1]])[:2])
        if gap < 0.1:
            closed.append(part)
    return closed


@rule("LOOSE-05", Severity.WARNING, "outline before what is inside", needs=("stock_bottom", "motions"),
      what="order of outlines and inner cuts")  # fmt: skip
def _order(ctx: Context) -> Iterator[Finding]:
    """Something inside a part is cut after the part's outline went through.

    Flags: cuts inside the rectangle around a closed through outline that come after it.
    Why: they are cut in a part that hangs on tabs, or is already loose: it vibrates and shifts.
    Wrong: outline first, then the holes.
    Right: holes, pockets, outline.
    Limits of the rule: by bounding boxes; parts nested into each other's corners may be flagged without need.
      Parts with a screw inside the outline are left out.
    Source: common practice, no source.
    """
    facts = ctx.facts
    stretches = runs(ctx)
    for outline in closed_runs(ctx):
        x0, x1, y0, y1 = _box(ctx, outline)
        if (x1 - x0) * (y1 - y0) < 25.0 or _screw_inside(ctx, outline):
            continue
        for run in stretches:
            if run[0] <= outline[-1] or not facts.cutting[run].any():
                continue
            a0, a1, b0, b1 = _box(ctx, run[facts.cutting[run]])
            inside = a0 > x0 + 0.05 and a1 < x1 - 0.05 and b0 > y0 + 0.05 and b1 < y1 - 0.05
            if inside:
                yield ctx.say.finding(
                    "LOOSE-05",
                    Severity.WARNING,
                    f"cut inside a part whose outline went through in line "
                    f"{int(facts.motions.line[outline[-1]])}",
                    rows=run[facts.cutting[run]],
                    action="cut the outline last",
                )
                break


@rule("LOOSE-06", Severity.WARNING, "tabs too weak", needs=("stock_bottom", "stock_top", "material", "cutters",
      "machine", "motions"), what="strength of tabs")  # fmt: skip
def _weak(ctx: Context, material: Material, bottom_mm: float) -> Iterator[Finding | NotChecked]:
    """The tabs together bear less than four times the force of the last pass.

    Flags: total section of the tabs of an outline under 4 F / tau, with the peak force along the table (upper
      published set) and the material's shear strength.
    Why: the last pass tears the part off its tabs.
    Wrong: two tabs of 2 by 0.5 mm in pine.
    Right: the section this rule names.
    Limits of the rule: across the grain wood is far weaker; bending of narrow tabs is not in the number.
    Source: section = S F / tau with S = 4, common practice; shear strength from the material table.
    """
    from millcalc.preflight.hold_loads import worst_force

    tabs = _tabs(ctx)
    if not tabs:
        return
    done, left = cut_uses(ctx)
    for tool, because in left:
        yield NotChecked("LOOSE-06", f"strength of the tabs cut with T{tool}", because)
    tau = material.shear_strength_n_mm2.lowest
    doubt = z_doubt_mm(ctx)
    for run in closed_runs(ctx):
        mine = [tab for tab in tabs if run[0] <= tab.side <= run[-1]]
        cuts = [cut for cut in done if mine and cut.tool == int(ctx.facts.tool[mine[0].side])]
        if not mine or not cuts or _screw_inside(ctx, run):
            continue
        diameter = ctx.facts.diameter_mm
        section = sum(
            max(0.0, tab.length_mm - float(diameter[tab.side])) * max(0.0, tab.top_mm - bottom_mm - doubt)
            for tab in mine
        )
        force = worst_force(cuts[0])[0]
        need = float(np.asarray(tab_section_mm2(force, tau, tuning.TAB_SAFETY)))
        if section < need:
            yield ctx.say.finding(
                "LOOSE-06",
                Severity.WARNING,
                f"{len(mine)} tab{'s' * (len(mine) != 1)} with {section:.1f} mm2 together; "
                f"{need:.1f} mm2 bear four times {ctx.say.newton(force)}",
                rows=np.array([tab.side for tab in mine]),
                compared=(section, need, "mm2"),
                action=f"{int(np.ceil(len(mine) * need / max(section, 0.1)))} tabs of this size, or thicker ones",
            )
