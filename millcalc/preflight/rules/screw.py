"""Screws, clamps and keep-outs: exact distances of cutter, nut, body and shoe."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millcalc.findings import Finding, NotChecked, Severity
from millcalc.job.models import Clamp
from millcalc.job.setup import Box, Keepout, Setup
from millcalc.preflight.clearances import Gap, clearances
from millcalc.preflight.context import Context
from millcalc.preflight.keepouts import Body, cutter_body, holder_bodies
from millcalc.preflight.move_screw import new_places
from millcalc.preflight.registry import rule
from millcalc.preflight.wording import tops_mm, travel_over


def _judge(ctx: Context, code: str, gap: Gap, remedy: str) -> Iterator[Finding]:
    """Finding of one body against one keep-out: contact is a stop, within the margin a warning."""
    if not len(gap.near):
        return
    rapid = " in a rapid" if ctx.facts.rapid[gap.row] else ""
    fact = (
        f"the {gap.body} hits {gap.name}{rapid}: overlap {ctx.say.mm(-gap.gap_mm)}"
        if gap.gap_mm <= 0
        else f"the {gap.body} passes {ctx.say.mm(gap.gap_mm)} from {gap.name}{rapid}; "
        f"{ctx.say.mm(gap.kept_mm)} is kept"
    )
    yield ctx.say.finding(
        code,
        Severity.STOP if gap.gap_mm <= 0 else Severity.WARNING,
        fact,
        rows=gap.hits if len(gap.hits) else gap.near,
        worst=gap.row,
        compared=(gap.gap_mm, gap.kept_mm, "mm"),
        share=gap.share,
        action=f"{_move(ctx, gap)}, {remedy}",
    )


def _move(ctx: Context, gap: Gap) -> str:
    """Where a screw can stand instead, in the stock and clear of the whole path; a clamp only moves away."""
    away = f"move {gap.name} {ctx.say.mm(gap.kept_mm - gap.gap_mm, 0.1)} or more away from the path"
    if gap.clamp:
        return away
    place = new_places(ctx).get(gap.index)
    if place is None:
        return (
            f"no place near {gap.name} stands in the stock and clear of the path: leave more waste there, hold it "
            "with a clamp or tape instead, or take a larger blank"
        )
    return f"{away}, for example to X {ctx.say.mm(place[0], 0.1)}, Y {ctx.say.mm(place[1], 0.1)}"


@rule("SCREW-01", Severity.STOP, "cutter meets a screw", needs=("screws", "cutters", "motions"),
      what="distance of the cutter from the screws")  # fmt: skip
def _cutter_screw(ctx: Context, setup: Setup, screws: tuple[Keepout, ...]) -> Iterator[Finding | NotChecked]:
    """The cutter passes over, through or too near a screw.

    Flags: motions (rapids and entries too) that come nearer to a screw than its margin while the tip is lower
      than 0.5 mm above its head. Contact is a stop, less than the margin a warning.
    Why: steel breaks the cutter at once and throws sparks into the dust.
    Wrong: an outline 4 mm beside a screw with an 8 mm head, cut with a 6 mm cutter.
    Right: the screw where the distance is the margin or more.
    Limits of the rule: exact for the path the program words; a shape wider at the top than its full diameter does not
      exist here. A controller's corner rounding and a wrong zero are what the margin is for.
    Source: plane geometry; the margins are common practice, no source.
    """
    body = cutter_body(ctx)
    yield from _unknown_tools(ctx, "SCREW-01", body)
    yield from unknown_places(ctx, "SCREW-01")
    for field in setup.incomplete:
        if field.startswith("screws"):
            yield NotChecked("SCREW-01", "the full size of a screw", f"{field} is unknown", (field,))
    for screw in screws:
        if np.isnan(screw.z_top_mm):
            yield NotChecked("SCREW-01", screw.name, "the height of the stock top is unknown", ("zero.z",))
    for gap in clearances(ctx):
        if not gap.clamp and gap.body == "cutter":
            yield from _judge(ctx, "SCREW-01", gap, "or lift over it")


def unknown_places(ctx: Context, code: str) -> Iterator[NotChecked]:
    """What stays unchecked of motions whose place is unknown: the way from where the machine stands, mostly.

    ctx: Program and set-up.
    code: Rule that asks.
    Yields: At most one.
    """
    motions = ctx.program.motions
    unknown = (np.isnan(motions.start_mm) | np.isnan(motions.end_mm)).any(axis=1) & motions.moves
    count = int(unknown.sum())
    if not count:
        return
    rows = np.flatnonzero(unknown)
    known = np.flatnonzero(motions.moves & ~unknown)
    first = not len(known) or rows[-1] < known[0]
    yield NotChecked(
        code,
        f"the way to the first known place ({count} motion{'s' if count > 1 else ''})"
        if first
        else f"{count} motions, the first in line {int(motions.line[rows[0]])}",
        "where the machine stands then is not in the program",
    )


def _unknown_tools(ctx: Context, code: str, body: Body) -> Iterator[NotChecked]:
    unknown = np.isnan(body.radius_mm) & ctx.facts.motions.moves
    if unknown.any():
        tools = sorted({int(t) for t in ctx.facts.tool[unknown]})
        names = ", ".join(f"T{t}" if t >= 0 else "no tool number" for t in tools)
        yield NotChecked(
            code,
            f"{int(unknown.sum())} motions with {names}",
            f"the size of the {body.name} is unknown",
            tuple(f"cutters.{t}" for t in tools if t >= 0),
        )


@rule("SCREW-02", Severity.STOP, "holder meets a screw", needs=("screws", "cutters", "motions"),
      what="distance of collet nut, spindle and shoe from the screws")  # fmt: skip
def _holder_screw(ctx: Context, screws: tuple[Keepout, ...]) -> Iterator[Finding | NotChecked]:
    """Collet nut, spindle body or dust shoe comes down on a screw.

    Flags: motions that bring nut, body or shoe nearer to a screw head than 1 mm, sideways, while they are
      lower than 0.5 mm above it.
    Why: the nut shaves the head, pushes the Z axis up, or tears the screw out.
    Wrong: 12 mm stickout in a 10 mm deep pocket beside a screw head 4 mm high.
    Right: a longer stickout, or the screw farther out.
    Limits of the rule: nut and body are taken as cylinders; bristles of a shoe give way.
    Source: plane geometry; common practice, no source.
    """
    if not any(body.name == "collet nut" for body in holder_bodies(ctx)):
        yield NotChecked("SCREW-02", "collet nut against the screws", "the nut's size is unknown",
                         ("nose.collet_nut_diameter_mm", "machine"))  # fmt: skip
    for tool in ctx.facts.tools:
        fitted = ctx.facts.fitted(tool)
        if fitted is not None and fitted.stickout_mm is None:
            yield NotChecked("SCREW-02", f"holder of T{tool}", "its stickout is unknown",
                             (f"cutters.{tool}.stickout_mm",))  # fmt: skip
    for gap in clearances(ctx):
        if not gap.clamp and gap.body != "cutter":
            yield from _judge(ctx, "SCREW-02", gap, "or let the cutter stick out farther")


@rule("SCREW-03", Severity.STOP, "cutter or holder meets a clamp", needs=("clamps", "cutters", "motions"),
      what="distance of cutter and holder from the clamps")  # fmt: skip
def _clamps(ctx: Context, clamps: tuple[tuple[Clamp, Box], ...]) -> Iterator[Finding | NotChecked]:
    """The cutter or what holds it passes through or too near a clamp or keep-out box.

    Flags: contact (a stop) or less than the margin (a warning) while lower than 0.5 mm above the clamp.
    Why: a clamp that is hit breaks the cutter and lets the work go.
    Wrong: a rapid at Z5 over a clamp 15 mm high.
    Right: travel above the clamp, or around it.
    Limits of the rule: a clamp is taken as an upright box; its handle and bolt must be inside that box.
    Source: plane geometry; the margins are common practice, no source.
    """
    body = cutter_body(ctx)
    if not clamps:
        return
    yield from _unknown_tools(ctx, "SCREW-03", body)
    yield from unknown_places(ctx, "SCREW-03")
    for index, (clamp, box) in enumerate(clamps):
        name = clamp.name or f"clamp {index + 1}"
        if clamp.height_mm is None or np.isnan(box.z_max):
            yield NotChecked("SCREW-03", name, "its height is unknown", (f"clamps[{index}].height_mm",))
    for gap in clearances(ctx):
        if gap.clamp:
            yield from _judge(ctx, "SCREW-03", gap, "or travel above it")


@rule("SCREW-04", Severity.WARNING, "travel lower than the highest screw or clamp",
      needs=("hold_down", "stock_top", "motions"), what="travel height against screws and clamps")  # fmt: skip
def _travel_low(ctx: Context, setup: Setup) -> Iterator[Finding]:
    """The program travels lower than the highest head or clamp.

    Flags: a travel height (that of most rapid length) less than 1 mm above the highest screw or clamp, even
      if the present path misses it.
    Why: the first move from the parking place, or a screw placed differently next time, hits.
    Wrong: travel at Z3 with clamps 15 mm high.
    Right: travel at Z17.
    Limits of the rule: the way from where the machine stands at start is not in the program.
    Source: common practice, no source.
    """
    facts = ctx.facts
    tops = tops_mm(setup)
    level = facts.travel_level_mm
    if not tops or level is None:
        return
    need = max(tops) + 1.0
    if level < need:
        rows = np.flatnonzero(facts.rapid & ~(facts.plan_mm <= 0.1) & (facts.z_low < need))
        if len(rows):
            yield ctx.say.finding(
                "SCREW-04",
                Severity.WARNING,
                f"travels at Z {ctx.say.mm(level)}; the highest screw or clamp ends at Z "
                f"{ctx.say.mm(max(tops))}",
                rows=rows,
                compared=(level, need, "mm"),
                action=travel_over(ctx, setup, max(tops)),
            )
