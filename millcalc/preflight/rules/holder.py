"""What sits above the flutes: shank, collet nut, spindle, dust shoe against the stock."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from millcalc.findings import Finding, NotChecked, Severity
from millcalc.job.setup import Box
from millcalc.limits.build import grips_flutes
from millcalc.limits.tuning import STICKOUT_CLEARANCE_MM
from millcalc.preflight.context import Context
from millcalc.preflight.geometry import gap_to_box
from millcalc.preflight.keepouts import Body, holder_bodies
from millcalc.preflight.registry import rule
from millcalc.stock.result import Removal


@rule("HOLDER-01", Severity.STOP, "collet nut comes down on the stock", needs=("cutters", "stock", "motions"),
      what="collet nut against the stock")  # fmt: skip
def _nut(ctx: Context, stock: Box) -> Iterator[Finding | NotChecked]:
    """The collet nut or the spindle reaches the stock's top.

    Flags: motions deeper than the stickout allows while the nut (or spindle body, or shoe) is over the stock:
      contact is a stop, less than 2 mm above the stock a warning.
    Why: the nut rubs, melts or burns its way in, and pushes the Z axis up so that steps are lost.
    Wrong: 12 mm deep with 12 mm of stickout.
    Right: stickout of the depth and 2 mm more; where nut and spindle both come down, one finding tells the longer.
    Limits of the rule: the stock counts as uncut unless the cut was simulated; the nut is a cylinder.
    Source: plane geometry; the 2 mm are common practice, no source.
    """
    facts = ctx.facts
    bodies = [body for body in holder_bodies(ctx) if body.name != "shank"]
    if not any(body.name == "collet nut" for body in bodies):
        yield NotChecked("HOLDER-01", "collet nut against the stock", "the nut's size is unknown",
                         ("nose.collet_nut_diameter_mm", "machine"))  # fmt: skip
    for tool in facts.tools:
        fitted = facts.fitted(tool)
        if fitted is not None and fitted.stickout_mm is None:
            yield NotChecked("HOLDER-01", f"collet nut of T{tool} against the stock", "its stickout is unknown",
                             (f"cutters.{tool}.stickout_mm",))  # fmt: skip
    low = list(_low_bodies(ctx, stock, bodies))
    for tool in dict.fromkeys(one.tool for one in low):
        for shoe in (False, True):
            mine = [one for one in low if one.tool == tool and (one.name == "dust shoe") is shoe]
            if mine:
                yield _comes_down(ctx, max(mine, key=lambda one: one.need_mm), mine)


def _comes_down(ctx: Context, lowest: _Low, others: Sequence[_Low]) -> Finding:
    """One finding for all bodies of a tool that the same remedy lifts: that of the one that needs most."""
    near, hits = ctx.say.mm(abs(lowest.above_mm)), lowest.above_mm <= 0
    return ctx.say.finding(
        "HOLDER-01",
        Severity.STOP if hits else Severity.WARNING,
        f"the {lowest.name} of T{lowest.tool} comes {near} {'below' if hits else 'near to'} the stock's top",
        rows=np.unique(np.concatenate([one.rows for one in others])),
        worst=lowest.worst,
        word="Z",
        compared=(lowest.above_mm, STICKOUT_CLEARANCE_MM, "mm"),
        action="hang the shoe higher"
        if lowest.name == "dust shoe"
        else f"stickout {ctx.say.mm(lowest.need_mm, 0.5)} or more"
        + _long_enough(ctx, lowest.tool, lowest.need_mm),
    )


class _Low(NamedTuple):
    """A body of the spindle near to the stock: in which motions, how far above it, stickout that is enough [mm]."""

    name: str
    tool: int
    rows: NDArray[np.intp]
    worst: int
    above_mm: float
    need_mm: float


def _low_bodies(ctx: Context, stock: Box, bodies: Sequence[Body]) -> Iterator[_Low]:
    """Bodies that come over the stock with less than the clearance below them."""
    for body in bodies:
        gap = gap_to_box(
            ctx.program.motions,
            sides_mm=(stock.x_min, stock.x_max, stock.y_min, stock.y_max),
            top_mm=stock.z_max + STICKOUT_CLEARANCE_MM,
            body_radius_mm=body.radius_mm,
            body_above_tip_mm=body.above_mm,
        ).gap_mm
        above = ctx.facts.z_low + body.above_mm - stock.z_max
        for tool, rows in ctx.facts.split(gap < 0):
            worst = int(rows[np.argmin(above[rows])])
            value = float(above[worst])
            if body.name == "collet nut" and ctx.removal is not None:
                touch = float(ctx.removal.holder_contact_mm[rows].max())
                if value < 0 and touch <= 0:
                    continue  # comes down where the stock was cut away before
            need = float(ctx.facts.stickout_mm[worst]) + STICKOUT_CLEARANCE_MM - value
            yield _Low(body.name, tool, rows, worst, value, need)


def _long_enough(ctx: Context, tool: int, need_mm: float) -> str:
    fitted = ctx.facts.fitted(tool)
    if fitted is None:
        return ""
    longest = fitted.cutter.overall_mm - 2 * fitted.cutter.shank_mm
    if need_mm > longest:
        return f"; this cutter is {ctx.say.mm(fitted.cutter.overall_mm)} long in all, a longer one is needed"
    return ""


@rule("HOLDER-02", Severity.STOP, "deeper than the flutes", needs=("cutters", "stock_top", "motions"),
      what="depth against flute length")  # fmt: skip
def _flutes(ctx: Context, top_mm: float) -> Iterator[Finding]:
    """The cutter goes deeper below the stock's top than its flutes are long.

    Flags: cuts deeper than the flute length, where the shank is at least as thick as the cutter: a stop from one
      diameter too deep; thinner shanks give a note. Where simulated: only where the shank touches what still stands.
    Why: the shank does not cut; it rubs, burns, and pushes the cutter off its line.
    Wrong: 14 mm deep with 12 mm of flutes.
    Right: a cutter with flutes longer than the depth, or a slot widened as it gets deeper.
    Limits of the rule: without a simulated cut the wall counts as standing to the stock's top.
    Source: plane geometry.
    """
    facts = ctx.facts
    for tool, rows, fitted in ctx.by_cutter(facts.cutting):
        cutter = fitted.cutter
        deep = top_mm - facts.z_low[rows]
        most = cutter.flute_length_mm + 0.01
        bad = deep > most
        if ctx.removal is not None:
            bad &= (ctx.removal.shank_contact_mm[rows] > 0) | (ctx.removal.axial_depth_mm[rows] > most)
        if not bad.any():
            continue
        thick = cutter.shank_mm >= cutter.diameter_mm - 0.05
        rows, deep = rows[bad], deep[bad]
        at = int(np.argmax(deep))
        far = deep[at] - cutter.flute_length_mm > cutter.diameter_mm
        yield ctx.say.finding(
            "HOLDER-02",
            (Severity.STOP if far else Severity.WARNING) if thick else Severity.NOTE,
            f"T{tool} goes {ctx.say.mm(deep[at])} deep; its flutes are {ctx.say.mm(cutter.flute_length_mm)} long"
            + ("" if thick else " (its shank is thinner than its cut)"),
            rows=rows,
            worst=int(rows[at]),
            word="Z",
            compared=(deep[at], cutter.flute_length_mm, "mm"),
            action=f"fit a cutter with flutes of {ctx.say.mm(np.ceil(deep[at] + 1))} or more",
        )


@rule("HOLDER-03", Severity.STOP, "shank stands against the wall", needs=("cutters", "removal", "motions"),
      what="shank against what still stands")  # fmt: skip
def _shank(ctx: Context, removal: Removal) -> Iterator[Finding]:
    """A shank thicker than the cutter touches what still stands beside the cut.

    Flags: simulated contact of the shank above the flutes with the remaining stock.
    Why: a thick shank in a narrow slot jams and breaks the cutter at the step.
    Wrong: a 2 mm cutter with a 3.175 mm shank and 6 mm of flutes, 8 mm deep.
    Right: a cutter with a long neck, or the slot opened wider above.
    Limits of the rule: as fine as the cells of the simulated cut.
    Source: the simulated cut.
    """
    facts = ctx.facts
    thick = facts.per_tool(
        {
            n: f.cutter.shank_mm - f.cutter.diameter_mm
            for n, f in (ctx.setup.cutters if ctx.setup else {}).items()
        }
    )
    touch = removal.shank_contact_mm.astype(float)
    with np.errstate(invalid="ignore"):
        mask = (thick > 0.05) & (touch > max(0.05, removal.depth_error_mm))
    for tool, rows in facts.split(mask):
        worst = int(rows[np.argmax(touch[rows])])
        yield ctx.say.finding(
            "HOLDER-03",
            Severity.STOP,
            f"the shank of T{tool} stands {ctx.say.mm(touch[worst])} into the wall beside the cut",
            rows=rows,
            worst=worst,
            compared=(touch[worst], 0.0, "mm"),
            action="use a cutter with longer flutes or a thinner shank, or widen the cut above",
        )


@rule("HOLDER-04", Severity.STOP, "flutes inside the collet", needs=("cutters", "motions"),
      what="flutes against the collet")  # fmt: skip
def _grips_flutes(ctx: Context) -> Iterator[Finding | NotChecked]:
    """The cutter is pushed so far in that the collet closes on its flutes.

    Flags: a stickout shorter than the flutes of a cutter that the program uses; `millcalc settings` refuses it too.
      A twist drill, which its hole steadies: a note.
    Why: a collet that grips flutes neither holds nor centres the cutter: it creeps out and is thrown.
    Wrong: a stickout of 12 mm with flutes of 20 mm.
    Right: a stickout of 20 mm or more, or a cutter with shorter flutes.
    Limits of the rule: the flute length is the cutter table's unless the job gives the measured one.
    Source: common practice, no source.
    """
    facts = ctx.facts
    for tool, rows, fitted in ctx.by_cutter(facts.feed):
        if fitted.stickout_mm is None:
            yield NotChecked("HOLDER-04", f"flutes of T{tool} against the collet", "its stickout is unknown",
                             (f"cutters.{tool}.stickout_mm",))  # fmt: skip
            continue
        if grips_flutes(fitted.cutter, fitted.stickout_mm):
            flutes = fitted.cutter.flute_length_mm
            yield ctx.say.finding(
                "HOLDER-04",
                Severity.NOTE if fitted.cutter.kind == "twist drill" else Severity.STOP,
                f"T{tool} sticks out {ctx.say.mm(fitted.stickout_mm)}, and its flutes are {ctx.say.mm(flutes)} long: "
                f"the collet grips {ctx.say.mm(flutes - fitted.stickout_mm)} of them",
                rows=rows,
                compared=(fitted.stickout_mm, flutes, "mm"),
                action=f"stickout {ctx.say.mm(flutes)} or more; if your own cutter's flutes are shorter, write "
                f"cutters.{tool}.flute_length in the job",
            )
