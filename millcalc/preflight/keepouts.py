"""Bodies that travel with the tip, and their exact gaps from screws and clamps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.job.setup import Box, Keepout
from millcalc.preflight.context import Context
from millcalc.preflight.geometry import Clearance, gap_to_box, gap_to_cylinder

Z_MARGIN_MM = 0.5  # mm; a tip or nut passing closer above a head than this counts as reaching it


@dataclass(frozen=True, slots=True)
class Body:
    """Something that travels with the tip: its name, radius [mm] and height above the tip [mm], per motion."""

    name: str
    radius_mm: NDArray[np.float64]
    above_mm: NDArray[np.float64]


def cutter_body(ctx: Context) -> Body:
    """The cutter, as a cylinder of its full diameter.

    ctx: Program and set-up.
    Returns: Radius of the table or as measured; NaN where the job names no cutter.
    """
    return Body("cutter", ctx.facts.diameter_mm / 2, np.zeros(ctx.facts.n))


def holder_bodies(ctx: Context) -> list[Body]:
    """Shank, collet nut, spindle body and dust shoe, as far as they are known.

    ctx: Program and set-up.
    Returns: From the tip upwards; a tool without a known stickout is left out (NaN).
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

    ctx: Program and set-up.
    screw: The screw; its margin is not deducted.
    body: What travels with the tip.
    Returns: Gaps [mm].
    """
    return gap_to_cylinder(
        ctx.program.motions,
        x_mm=screw.x_mm,
        y_mm=screw.y_mm,
        radius_mm=max(screw.head_radius_mm, screw.shank_radius_mm),
        top_mm=screw.z_top_mm + Z_MARGIN_MM,
        body_radius_mm=body.radius_mm,
        body_above_tip_mm=body.above_mm,
    )


def clamp_gap(ctx: Context, box: Box, body: Body) -> Clearance:
    """Gap of a body from a clamp's box for every motion.

    ctx: Program and set-up.
    box: The clamp in part coordinates [mm].
    body: What travels with the tip.
    Returns: Gaps [mm].
    """
    return gap_to_box(
        ctx.program.motions,
        sides_mm=(box.x_min, box.x_max, box.y_min, box.y_max),
        top_mm=box.z_max + Z_MARGIN_MM,
        body_radius_mm=body.radius_mm,
        body_above_tip_mm=body.above_mm,
    )
