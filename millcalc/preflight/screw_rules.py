"""Screws, clamps and keep-outs: exact distances of cutter, nut, body and shoe."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import cast

import numpy as np
from numpy.typing import NDArray

from millcalc.findings import Finding, NotChecked, Severity
from millcalc.job.setup import Box, Keepout
from millcalc.preflight.context import Context
from millcalc.preflight.geometry import Clearance, gap_to_box, gap_to_cylinder, point_on_motion
from millcalc.preflight.registry import rule

Z_MARGIN_MM = 0.5  # mm; a tip or nut passing closer above a head than this counts as reaching it


@dataclass(frozen=True, slots=True)
class Body:
    """Something that travels with the tip: its name, radius [mm] and height above the tip [mm], per motion."""

    name: str
    radius_mm: NDArray[np.float64]
    above_mm: NDArray[np.float64]


def cutter_body(ctx: Context) -> Body:
    """The cutter, as a cylinder of its full diameter.

    Parameters
    ----------
    ctx : Context
        Program and set-up.

    Returns
    -------
    Body
        Radius of the table or as measured; NaN where the job names no cutter.
    """
    return Body("cutter", ctx.facts.diameter_mm / 2, np.zeros(ctx.facts.n))


def holder_bodies(ctx: Context) -> list[Body]:
    """Shank, collet nut, spindle body and dust shoe, as far as they are known.

    Parameters
    ----------
    ctx : Context
        Program and set-up.

    Returns
    -------
    list of Body
        From the tip upwards; a tool without a known stickout is left out (NaN).
    """
    facts, setup = ctx.facts, ctx.setup
    if setup is None:
        return []
    nose, spindle = setup.job.nose, setup.machine.spindle if setup.machine else None
    bodies: list[Body] = []
    shank = facts.per_tool(
        {n: f.cutter.shank_mm / 2 if f.cutter.shank_mm > f.cutter.diameter_mm else None
         for n, f in setup.cutters.items()}
    )  # fmt: skip
    flutes = facts.per_tool({n: f.cutter.flute_length_mm for n, f in setup.cutters.items()})
    if np.isfinite(shank).any():
        bodies.append(Body("shank", shank, flutes))
    nut = nose.collet_nut_diameter_mm or (spindle.collet_nut_diameter_mm if spindle else None)
    length = nose.collet_nut_length_mm or (spindle.collet_nut_length_mm if spindle else None)
    if nut is not None:
        bodies.append(Body("collet nut", np.where(np.isfinite(facts.stickout_mm), nut / 2, np.nan),
                           facts.stickout_mm))  # fmt: skip
    body = nose.body_diameter_mm or (spindle.body_diameter_mm if spindle else None)
    if body is not None and length is not None:
        bodies.append(Body("spindle body", np.where(np.isfinite(facts.stickout_mm), body / 2, np.nan),
                           facts.stickout_mm + length))  # fmt: skip
    if nose.shoe_radius_mm is not None and nose.shoe_height_mm is not None:
        bodies.append(Body("dust shoe", np.full(facts.n, nose.shoe_radius_mm),
                           np.full(facts.n, nose.shoe_height_mm)))  # fmt: skip
    return bodies


def screw_gap(ctx: Context, screw: Keepout, body: Body) -> Clearance:
    """Gap of a body from a screw for every motion.

    Parameters
    ----------
    ctx : Context
        Program and set-up.
    screw : Keepout
        The screw; its margin is not deducted.
    body : Body
        What travels with the tip.

    Returns
    -------
    Clearance
        Gaps [mm].
    """
    gap = gap_to_cylinder(
        ctx.program.motions,
        x_mm=screw.x_mm,
        y_mm=screw.y_mm,
        radius_mm=max(screw.head_radius_mm, screw.shank_radius_mm),
        top_mm=screw.z_top_mm + Z_MARGIN_MM,
        body_radius_mm=body.radius_mm,
        body_above_tip_mm=body.above_mm,
    )
    _remember(ctx, screw.name, body, gap)
    return gap


def _remember(ctx: Context, name: str, body: Body, gap: Clearance) -> None:
    row = gap.least
    ctx.__dict__.setdefault("_least", {})[name, body.name] = (
        None if row is None else (float(gap.gap_mm[row]), row)
    )


def least_gap(
    ctx: Context, name: str, body: Body, measure: Callable[[], Clearance]
) -> tuple[float, int] | None:
    """Smallest gap of a body from a keep-out, measured once.

    Parameters
    ----------
    ctx : Context
        Program and set-up.
    name : str
        Name of the screw or clamp.
    body : Body
        What travels with the tip.
    measure : callable
        Measures the gap where no rule has yet.

    Returns
    -------
    tuple of float and int, or None
        Gap [mm] and row of the motion [-]; None where nothing comes down to it.
    """
    known = ctx.__dict__.setdefault("_least", {})
    if (name, body.name) not in known:
        _remember(ctx, name, body, measure())
    return cast("tuple[float, int] | None", known[name, body.name])


def clamp_gap(ctx: Context, name: str, box: Box, body: Body) -> Clearance:
    """Gap of a body from a clamp's box for every motion.

    Parameters
    ----------
    ctx : Context
        Program and set-up.
    name : str
        Name of the clamp.
    box : Box
        The clamp in part coordinates [mm].
    body : Body
        What travels with the tip.

    Returns
    -------
    Clearance
        Gaps [mm].
    """
    gap = gap_to_box(
        ctx.program.motions,
        x_min_mm=box.x_min,
        x_max_mm=box.x_max,
        y_min_mm=box.y_min,
        y_max_mm=box.y_max,
        top_mm=box.z_max + Z_MARGIN_MM,
        body_radius_mm=body.radius_mm,
        body_above_tip_mm=body.above_mm,
    )
    _remember(ctx, name, body, gap)
    return gap


def _judge(
    ctx: Context, code: str, name: str, body: Body, gap: Clearance, margin_mm: float, reach: str
) -> Iterator[Finding | NotChecked]:
    """Findings of one body against one keep-out: contact is a stop, within the margin a warning."""
    near = np.isfinite(gap.gap_mm) & (gap.gap_mm < margin_mm - 1e-9)
    if not near.any():
        return
    worst = int(np.argmin(np.where(near, gap.gap_mm, np.inf)))
    value = float(gap.gap_mm[worst])
    touching = near & (gap.gap_mm <= 0)
    rows = np.flatnonzero(touching if touching.any() else near)
    rapid = " in a rapid" if ctx.facts.rapid[worst] else ""
    kind = "hits" if value <= 0 else "passes"
    fact = (
        f"the {body.name} {kind} {name}{rapid}: overlap {ctx.say.mm(-value)}"
        if value <= 0
        else f"the {body.name} passes {ctx.say.mm(value)} from {name}{rapid}; {ctx.say.mm(margin_mm)} is kept"
    )
    yield ctx.say.finding(
        code,
        Severity.STOP if value <= 0 else Severity.WARNING,
        fact,
        rows=rows,
        worst=worst,
        measured=value,
        limit=margin_mm,
        unit="mm",
        place=point_on_motion(ctx.program.motions, worst, max(0.0, float(gap.place[worst]))),
        action=f"move {name} {ctx.say.mm(margin_mm - value, 0.1)} or more away from the path, {reach}",
    )


def _away(ctx: Context, screw: Keepout, worst: int, share: float, need: float) -> str:
    """Where a screw would have to stand: pushed straight away from the nearest place of the path."""
    x, y, _ = point_on_motion(ctx.program.motions, worst, max(0.0, share))
    dx, dy = screw.x_mm - x, screw.y_mm - y
    size = float(np.hypot(dx, dy))
    if size < 1e-6:
        return "or the cut away from it"
    return (
        f"for example to X {ctx.say.mm(screw.x_mm + dx / size * need, 0.1)}, "
        f"Y {ctx.say.mm(screw.y_mm + dy / size * need, 0.1)}, or lift over it"
    )


@rule("SCREW-01", Severity.STOP, "cutter meets a screw", needs=("screws", "cutters", "motions"),
      what="distance of the cutter from the screws")  # fmt: skip
def _cutter_screw(ctx: Context) -> Iterator[Finding | NotChecked]:
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
    assert ctx.setup is not None and ctx.setup.screws is not None
    body = cutter_body(ctx)
    yield from _unknown_tools(ctx, "SCREW-01", body)
    yield from unknown_places(ctx, "SCREW-01")
    for field in ctx.setup.incomplete:
        if field.startswith("screws"):
            yield NotChecked("SCREW-01", "the full size of a screw", f"{field} is unknown", (field,))
    for screw in ctx.setup.screws:
        if np.isnan(screw.z_top_mm):
            yield NotChecked("SCREW-01", screw.name, "the height of the stock top is unknown", ("zero.z",))
            continue
        gap = screw_gap(ctx, screw, body)
        least = gap.least
        reach = ""
        if least is not None:
            need = screw.margin_mm - float(gap.gap_mm[least])
            reach = _away(ctx, screw, least, float(gap.place[least]), need)
        yield from _judge(ctx, "SCREW-01", screw.name, body, gap, screw.margin_mm, reach)


def unknown_places(ctx: Context, code: str) -> Iterator[NotChecked]:
    """What stays unchecked of motions whose place is unknown: the way from where the machine stands, mostly.

    Parameters
    ----------
    ctx : Context
        Program and set-up.
    code : str
        Rule that asks.

    Yields
    ------
    NotChecked
        At most one.
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
def _holder_screw(ctx: Context) -> Iterator[Finding | NotChecked]:
    """Collet nut, spindle body or dust shoe comes down on a screw.

    Flags: motions that bring nut, body or shoe nearer to a screw head than 1 mm, sideways, while they are
      lower than 0.5 mm above it.
    Why: the nut shaves the head, pushes the Z axis up, or tears the screw out.
    Wrong: 12 mm stickout in a 10 mm deep pocket beside a screw head 4 mm high.
    Right: a longer stickout, or the screw farther out.
    Limits of the rule: nut and body are taken as cylinders; bristles of a shoe give way.
    Source: plane geometry; common practice, no source.
    """
    assert ctx.setup is not None and ctx.setup.screws is not None
    bodies = holder_bodies(ctx)
    if not any(body.name == "collet nut" for body in bodies):
        yield NotChecked("SCREW-02", "collet nut against the screws", "the nut's size is unknown",
                         ("nose.collet_nut_diameter_mm", "machine"))  # fmt: skip
    for tool in ctx.facts.tools:
        fitted = ctx.facts.fitted(tool)
        if fitted is not None and fitted.stickout_mm is None:
            yield NotChecked("SCREW-02", f"holder of T{tool}", "its stickout is unknown",
                             (f"cutters.{tool}.stickout_mm",))  # fmt: skip
    for body in bodies:
        for screw in ctx.setup.screws:
            if np.isnan(screw.z_top_mm):
                continue
            gap = screw_gap(ctx, screw, body)
            yield from _judge(
                ctx, "SCREW-02", screw.name, body, gap, 1.0, "or let the cutter stick out farther"
            )


@rule("SCREW-03", Severity.STOP, "cutter or holder meets a clamp", needs=("clamps", "cutters", "motions"),
      what="distance of cutter and holder from the clamps")  # fmt: skip
def _clamps(ctx: Context) -> Iterator[Finding | NotChecked]:
    """The cutter or what holds it passes through or too near a clamp or keep-out box.

    Flags: contact (a stop) or less than the margin (a warning) while lower than 0.5 mm above the clamp.
    Why: a clamp that is hit breaks the cutter and lets the work go.
    Wrong: a rapid at Z5 over a clamp 15 mm high.
    Right: travel above the clamp, or around it.
    Limits of the rule: a clamp is taken as an upright box; its handle and bolt must be inside that box.
    Source: plane geometry; the margins are common practice, no source.
    """
    from millcalc.job.build import margin_mm

    assert ctx.setup is not None and ctx.setup.clamps is not None
    body = cutter_body(ctx)
    if not ctx.setup.clamps:
        return
    yield from _unknown_tools(ctx, "SCREW-03", body)
    yield from unknown_places(ctx, "SCREW-03")
    for index, (clamp, box) in enumerate(ctx.setup.clamps):
        name = clamp.name or f"clamp {index + 1}"
        if clamp.height_mm is None or np.isnan(box.z_max):
            yield NotChecked("SCREW-03", name, "its height is unknown", (f"clamps[{index}].height_mm",))
            continue
        for part in (body, *holder_bodies(ctx)):
            margin = margin_mm(clamp.placed) if part.name == "cutter" else 1.0
            gap = clamp_gap(ctx, name, box, part)
            yield from _judge(ctx, "SCREW-03", name, part, gap, margin, "or travel above it")


@rule("SCREW-04", Severity.WARNING, "travel lower than the highest screw or clamp",
      needs=("hold_down", "stock_top", "motions"), what="travel height against screws and clamps")  # fmt: skip
def _travel_low(ctx: Context) -> Iterator[Finding]:
    """The program travels lower than the highest head or clamp.

    Flags: a travel height (that of most rapid length) less than 1 mm above the highest screw or clamp, even
      if the present path misses it.
    Why: the first move from the parking place, or a screw placed differently next time, hits.
    Wrong: travel at Z3 with clamps 15 mm high.
    Right: travel at Z17.
    Limits of the rule: the way from where the machine stands at start is not in the program.
    Source: common practice, no source.
    """
    facts, setup = ctx.facts, ctx.setup
    assert setup is not None
    tops = [s.z_top_mm for s in setup.screws or ()] + [b.z_max for c, b in setup.clamps or ()
                                                        if c.height_mm is not None]  # fmt: skip
    tops = [t for t in tops if np.isfinite(t)]
    level = facts.travel_level_mm
    if not tops or level is None:
        return
    if level < max(tops) + 1.0 - 1e-9:
        rows = np.flatnonzero(facts.rapid & ~(facts.plan_mm <= 0.1) & (facts.z_low < max(tops) + 1.0))
        if len(rows):
            yield ctx.say.finding(
                "SCREW-04",
                Severity.WARNING,
                f"travels at Z {ctx.say.mm(level)}; the highest screw or clamp ends at Z "
                f"{ctx.say.mm(max(tops))}",
                rows=rows,
                measured=level,
                limit=max(tops) + 1.0,
                unit="mm",
                action=f"travel at Z {ctx.say.mm(max(tops) + 2.0, 0.1)} or higher",
            )


@rule("SCREW-05", Severity.NOTE, "screw positions guessed", needs=("screws", "motions"),
      what="how the screws were placed")  # fmt: skip
def _guessed(ctx: Context) -> Iterator[Finding]:
    """Screws whose position was guessed pass only with the wide margin.

    Flags: screws marked ``guessed`` (or not marked) that the cutter passes within 10 mm.
    Why: a position guessed by eye is off by a few millimetres, and the distance is worth no more than that.
    Wrong: no word on how the screws were placed.
    Right: ``placed: measured``, or holes drilled by the machine itself.
    Limits of the rule: none known.
    Source: common practice, no source.
    """
    assert ctx.setup is not None and ctx.setup.screws is not None
    body = cutter_body(ctx)
    for screw, entry in zip(ctx.setup.screws, ctx.setup.job.screws or (), strict=True):
        if entry.placed != "guessed" or np.isnan(screw.z_top_mm):
            continue
        gap = screw_gap(ctx, screw, body)
        least = gap.least
        if least is not None and screw.margin_mm <= gap.gap_mm[least] < 10.0:
            yield ctx.say.finding(
                "SCREW-05",
                Severity.NOTE,
                f"the cutter passes {ctx.say.mm(gap.gap_mm[least], 0.1)} from {screw.name}, "
                "whose position was guessed",
                rows=[least],
                measured=float(gap.gap_mm[least]),
                limit=10.0,
                unit="mm",
                action="measure it from program zero, or let the machine mark the holes",
            )


@rule(
    "SCREW-06",
    Severity.WARNING,
    "screw off the stock",
    needs=("screws", "stock"),
    what="where the screws stand",
)
def _off_stock(ctx: Context) -> Iterator[Finding]:
    """A screw that is said to hold the work stands beside it.

    Flags: screws marked as holding whose head does not reach over the stock.
    Why: either the position is mistyped, so the distances above are wrong, or the screw holds nothing.
    Wrong: X and Y swapped: a screw at (10, 190) on a plate of 200 by 100.
    Right: (190, 10).
    Limits of the rule: strap clamps with their screw beside the stock should be described as clamps.
    Source: plane geometry.
    """
    assert ctx.setup is not None and ctx.setup.screws is not None and ctx.setup.stock is not None
    stock = ctx.setup.stock
    for screw in ctx.setup.screws:
        dx = max(stock.x_min - screw.x_mm, screw.x_mm - stock.x_max, 0.0)
        dy = max(stock.y_min - screw.y_mm, screw.y_mm - stock.y_max, 0.0)
        off = float(np.hypot(dx, dy))
        if screw.holds and off > screw.head_radius_mm:
            swapped = stock.x_min <= screw.y_mm <= stock.x_max and stock.y_min <= screw.x_mm <= stock.y_max
            yield Finding(
                "SCREW-06",
                Severity.WARNING,
                f"{screw.name} stands {ctx.say.mm(off)} beside the stock, at "
                f"{ctx.say.point((screw.x_mm, screw.y_mm, 0.0))}",
                "X and Y look swapped; check the job"
                if swapped
                else "check its position in the job, or write holds: false",
                measured=off,
                limit=screw.head_radius_mm,
                unit="mm",
                place_mm=(screw.x_mm, screw.y_mm, screw.z_top_mm),
            )


@rule("SCREW-07", Severity.WARNING, "screw holes elsewhere than the screws", needs=("screws", "cutters", "motions"),
      what="drilled holes against the screws")  # fmt: skip
def _holes(ctx: Context) -> Iterator[Finding]:
    """The program drills a hole near a screw, but not at it.

    Flags: straight holes within 15 mm of a screw but more than 1 mm beside it, where another screw is hit
      exactly: the pattern is that of screw holes.
    Why: the screws then stand elsewhere than the job says, and every distance to them is wrong.
    Wrong: holes at (10, 10) and (190, 10), screws listed at (10, 10) and (185, 10).
    Right: the same positions in both.
    Limits of the rule: only straight plunges count as holes.
    Source: common practice, no source.
    """
    assert ctx.setup is not None and ctx.setup.screws is not None
    facts = ctx.facts
    rows = np.flatnonzero(facts.straight_down & facts.feed)
    if not len(rows) or not ctx.setup.screws:
        return
    x, y = facts.motions.end_mm[rows, 0], facts.motions.end_mm[rows, 1]
    found = []
    for screw in ctx.setup.screws:
        distance = np.hypot(x - screw.x_mm, y - screw.y_mm)
        at = int(np.argmin(np.nan_to_num(distance, nan=np.inf)))
        found.append((screw, float(distance[at]), int(rows[at])))
    if not any(distance <= 0.2 for _, distance, _ in found):
        return
    for screw, distance, row in found:
        if 1.0 < distance < 15.0:
            yield ctx.say.finding(
                "SCREW-07",
                Severity.WARNING,
                f"a hole is drilled {ctx.say.mm(distance)} beside {screw.name}; other screws stand in theirs",
                rows=[row],
                measured=distance,
                limit=1.0,
                unit="mm",
                action="correct the screw's position in the job, or the hole",
            )


@rule("SCREW-08", Severity.NOTE, "steel near the cut in wood", needs=("screws", "material", "cutters", "motions"),
      what="sparks from screws")  # fmt: skip
def _sparks(ctx: Context) -> Iterator[Finding]:
    """Steel screws close to cuts in wood.

    Flags: screws within 10 mm of a cut in wood or wood panels.
    Why: a touched screw throws sparks into dust that the vacuum carries on; it smoulders for hours.
    Wrong: steel screws 4 mm beside the outline.
    Right: brass, aluminium or nylon screws near cuts.
    Limits of the rule: the material of the screws is not asked for.
    Source: common practice, no source.
    """
    assert ctx.setup is not None and ctx.setup.screws is not None and ctx.setup.material is not None
    if ctx.setup.material.family not in ("wood", "wood panel"):
        return
    body = cutter_body(ctx)
    near: list[tuple[float, int, Keepout]] = []
    for screw in ctx.setup.screws:
        if np.isnan(screw.z_top_mm):
            continue
        gap = screw_gap(ctx, screw, body)
        if gap.least is not None and gap.gap_mm[gap.least] < 10.0:
            near.append((float(gap.gap_mm[gap.least]), gap.least, screw))
    if near:
        distance, row, screw = min(near, key=lambda entry: entry[0])
        yield ctx.say.finding(
            "SCREW-08",
            Severity.NOTE,
            f"{len(near)} screws within 10 mm of the cut in wood, nearest {screw.name} at "
            f"{ctx.say.mm(max(0.0, distance), 0.1)}",
            rows=[row],
            measured=distance,
            limit=10.0,
            unit="mm",
            action="use brass, aluminium or nylon there; look into the vacuum afterwards, and again later",
        )


@rule("SCREW-09", Severity.WARNING, "thin plate far from its screws",
      needs=("hold_down", "material", "thickness", "motions"), what="span between hold-downs")  # fmt: skip
def _span(ctx: Context) -> Iterator[Finding]:
    """Cuts in a thin plate far from anything that holds it.

    Flags: cuts in metal or plastic under 4 mm thick, farther than 25 times the thickness from the nearest
      screw or clamp.
    Why: an up-cut pulls the plate up between the screws: it buzzes, the depth varies, tabs disappear.
    Wrong: a 2 mm sheet with screws in the corners of a 300 mm square.
    Right: a screw or a weight near the cut, double-sided tape, or a down-cut.
    Limits of the rule: a rule of thumb from F L^3 / (48 E I) with 20 N of lift and 0.1 mm.
    Source: beam on two supports, closed form; the threshold is an estimate.
    """
    assert ctx.setup is not None and ctx.setup.material is not None
    thick = ctx.setup.job.stock.thickness_mm
    assert thick is not None
    if thick >= 4.0 or ctx.setup.material.family in ("foam", "steel"):
        return
    facts = ctx.facts
    rows = np.flatnonzero(facts.cutting & facts.sideways)
    holds = [(s.x_mm, s.y_mm, s.x_mm, s.y_mm) for s in ctx.setup.screws or () if s.holds]
    holds += [(b.x_min, b.y_min, b.x_max, b.y_max) for c, b in ctx.setup.clamps or () if c.holds]
    if not len(rows) or not holds:
        return
    x, y = facts.motions.end_mm[rows, 0], facts.motions.end_mm[rows, 1]
    nearest = np.full(len(rows), np.inf)
    for x0, y0, x1, y1 in holds:
        dx = np.maximum(np.maximum(x0 - x, x - x1), 0)
        dy = np.maximum(np.maximum(y0 - y, y - y1), 0)
        nearest = np.fmin(nearest, np.hypot(dx, dy))
    limit = 25.0 * thick
    if nearest.max() > limit:
        at = int(np.argmax(nearest))
        yield ctx.say.finding(
            "SCREW-09",
            Severity.WARNING,
            f"cuts {ctx.say.mm(nearest[at], 1.0)} from the nearest screw or clamp in a plate "
            f"{ctx.say.mm(thick)} thick",
            rows=rows[nearest > limit],
            worst=int(rows[at]),
            measured=float(nearest[at]),
            limit=limit,
            unit="mm",
            action=f"a screw or weight near {ctx.say.point(tuple(facts.motions.end_mm[rows[at]]))}",
        )


@rule("SCREW-10", Severity.WARNING, "screw longer than the board", needs=("screws", "spoilboard"),
      what="length of the screws")  # fmt: skip
def _too_long(ctx: Context) -> Iterator[Finding]:
    """A screw reaches through the board.

    Flags: screws whose depth in the bed is more than the sacrificial board, where metal is below it.
    Why: the tip stops on metal and the head stays proud of the work: it neither holds nor has its height.
    Wrong: 20 mm of thread in a 12 mm board on a metal frame.
    Right: 10 mm of thread, and more screws.
    Limits of the rule: through the board into wood is fine and not flagged.
    Source: common practice, no source.
    """
    assert ctx.setup is not None
    bed = ctx.setup.job.bed
    if bed.below != "metal" or bed.spoilboard_mm is None or ctx.setup.screws is None:
        return
    for screw, entry in zip(ctx.setup.screws, ctx.setup.job.screws or (), strict=True):
        if entry.depth_in_bed_mm is not None and entry.depth_in_bed_mm > bed.spoilboard_mm:
            yield Finding(
                "SCREW-10",
                Severity.WARNING,
                f"{screw.name} goes {ctx.say.mm(entry.depth_in_bed_mm)} into a board of "
                f"{ctx.say.mm(bed.spoilboard_mm)} on metal",
                "use a shorter screw, or a thicker board",
                measured=entry.depth_in_bed_mm,
                limit=bed.spoilboard_mm,
                unit="mm",
                place_mm=(screw.x_mm, screw.y_mm, screw.z_top_mm),
            )
