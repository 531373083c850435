"""Ways into the material on a slope: ramps and helices."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millcalc.findings import Finding, Severity
from millcalc.limits.entries import DRILLS
from millcalc.mechanics.entries import ramp_length_mm
from millcalc.preflight.context import Context
from millcalc.preflight.facts import STEEP_DEG
from millcalc.preflight.limits import limited
from millcalc.preflight.registry import rule
from millcalc.preflight.tuning import RAMP_STOP
from millcalc.tables.models import Material


@rule("PLUNGE-04", Severity.STOP, "ramp too steep", needs=("material", "cutters", "motions"),
      what="ramp angle")  # fmt: skip
def _steep_ramp(ctx: Context, material: Material) -> Iterator[Finding]:
    """A ramp steeper than the material takes.

    Flags: straight ramps down into the material of up to 45 degrees, above the table's angle; a stop in metal from
      three times that angle.
    Why: the cutter's end has to cut what its sides do not reach; too steep is a plunge at side feed.
    Wrong: 2 mm down over 10 mm of path (11 degrees) in aluminium.
    Right: 2 mm down over 40 mm of path (3 degrees).
    Limits of the rule: arcs are judged by PLUNGE-05; without a simulated cut the stock counts as uncut.
    Source: the material table of the job.
    """
    yield from _ramps(ctx, material, "PLUNGE-04", arcs=False)


@rule("PLUNGE-05", Severity.STOP, "helix too steep", needs=("material", "cutters", "motions"),
      what="helix angle")  # fmt: skip
def _steep_helix(ctx: Context, material: Material) -> Iterator[Finding]:
    """A helix steeper than the material takes.

    Flags: arcs down into the material whose slope along the cutter's path is above the table's ramp angle; a stop
      in metal from three times that angle.
    Why: on a narrow bore a small pitch is already a steep ramp.
    Wrong: 1 mm a turn on a path of 2 mm diameter (9 degrees).
    Right: 0.3 mm a turn on the same path (2.7 degrees).
    Limits of the rule: the slope is that of the path of the cutter's centre.
    Source: pitch = pi (bore - cutter) tan(angle); the angle is the material table's.
    """
    yield from _ramps(ctx, material, "PLUNGE-05", arcs=True)


def _ramps(ctx: Context, material: Material, code: str, *, arcs: bool) -> Iterator[Finding]:
    facts = ctx.facts
    flat = facts.motions.plane == 17
    kind = facts.motions.is_arc & flat if arcs else ~facts.motions.is_arc
    mask = facts.cutting & facts.going_down & kind & (facts.drop_deg <= STEEP_DEG)
    for tool, rows, fitted, bound in limited(ctx, mask):
        if fitted.cutter.kind in DRILLS:
            continue
        angle = facts.drop_deg[rows]
        most = bound.ramp_angle_deg
        bad = angle > most * 1.05
        if not bad.any():
            continue
        at = int(np.argmax(angle))
        worst = int(rows[at])
        drop = float(-facts.dz[worst])
        if arcs:
            turn = float(facts.plan_mm[worst] / max(abs(facts.motions.sweep_rad[worst]), 1e-9)) * 2 * np.pi
            pitch = turn * np.tan(np.radians(most))
            action = f"a pitch of {ctx.edit.mm(pitch)} a turn or less on this diameter"
        else:
            length = float(np.asarray(ramp_length_mm(drop, most)))
            action = f"spread these {ctx.edit.mm(drop)} over {ctx.edit.mm(length, 1.0)} of path or more"
        yield ctx.say.finding(
            code,
            Severity.STOP if material.is_metal and angle[at] > RAMP_STOP * most else Severity.WARNING,
            f"T{tool} goes down at {ctx.say.deg(angle[at])}; {ctx.say.deg(most)} is the most in this material",
            rows=rows[bad],
            worst=worst,
            word="Z",
            compared=(angle[at], most, "deg"),
            action=action,
        )


@rule("PLUNGE-09", Severity.NOTE, "helix leaves a post or is nearly a plunge", needs=("cutters", "motions"),
      what="bore of helices")  # fmt: skip
def _helix_bore(ctx: Context) -> Iterator[Finding]:
    """A helix whose bore does not suit the cutter.

    Flags: helices with a bore under 1.1 cutter diameters (nearly a straight plunge) or over 2 (a post is left
      in the middle, which comes loose).
    Why: on a narrow bore the chips cannot leave; a post breaks off and jams beside the cutter.
    Wrong: a 6 mm cutter on a helix of 0.2 mm path radius, or of 4 mm.
    Right: a path radius of 0.1 to 0.4 cutter diameters.
    Limits of the rule: material inside the helix that was cleared before is only known when simulated.
    Source: common practice, no source.
    """
    facts, motions = ctx.facts, ctx.program.motions
    turn = np.abs(motions.sweep_rad)
    mask = facts.cutting & facts.going_down & motions.is_arc & (motions.plane == 17) & (turn > np.pi)
    for tool, rows, fitted in ctx.by_cutter(mask):
        if fitted.cutter.kind in DRILLS:
            continue
        cutter = fitted.cutter.diameter_mm
        x, y, _ = (motions.start_mm[rows] - motions.centre_mm[rows]).T
        radius = np.hypot(x, y)
        bore = 2 * radius + cutter
        for bad, text, action in (
            (
                bore < 1.1 * cutter,
                "is nearly a straight plunge",
                f"a bore of {ctx.say.mm(1.3 * cutter)} or more",
            ),
            (bore > 2.02 * cutter, "leaves a post in the middle", "clear the middle first, level by level"),
        ):
            if bad.any():
                yield ctx.say.finding(
                    "PLUNGE-09",
                    Severity.NOTE,
                    f"T{tool}: a helix of {ctx.say.mm(bore[bad][0])} bore {text}",
                    rows=rows[bad],
                    compared=(bore[bad][0], cutter, "mm"),
                    action=action,
                )
