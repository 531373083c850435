"""The job's own screws and clamps: what comes nearest to each, and the smallest move that clears it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from millcalc.holding import tuning
from millcalc.holding.clearance import Clearance, Least
from millcalc.holding.moves import axis_moves, smallest_move
from millcalc.holding.regions import Regions
from millcalc.holding.result import Move, Nearest, Verdict
from millcalc.holding.room import inside_room, room_beside
from millcalc.job.build import margin_mm
from millcalc.job.models import Clamp
from millcalc.job.setup import Box, Keepout
from millcalc.preflight.context import Context
from millcalc.preflight.geometry import point_on_motion
from millcalc.preflight.tuning import HEAD_EDGE_MM

Floats = NDArray[np.float64]
NOTHING = Nearest("", None, 0.0, None, None)


class Bench:
    """Distances of one program, kept for each height that was asked for.

    ctx: Program, set-up with a known stock, simulated cut.
    """

    def __init__(self, ctx: Context) -> None:
        self.ctx = ctx
        assert ctx.setup is not None and ctx.setup.stock is not None
        self.setup, self.stock = ctx.setup, ctx.setup.stock
        self._known: dict[tuple[float, float], Clearance] = {}

    def clearance(self, top_mm: float, cutter_margin_mm: float) -> Clearance:
        """Distances from what stands up to a height.

        top_mm: Height [mm].
        cutter_margin_mm: Distance to keep from the cutter [mm].
        Returns: Computed once for each pair.
        """
        key = (round(top_mm, 6), cutter_margin_mm)
        if key not in self._known:
            self._known[key] = Clearance(self.ctx, top_mm, cutter_margin_mm)
        return self._known[key]

    def of_screw(self, screw: Keepout) -> Clearance:
        """Distances from what is as high as a screw's head.

        screw: The screw.
        Returns: Its distances.
        """
        return self.clearance(screw.z_top_mm, screw.margin_mm)

    def nearest(self, clearance: Clearance, least: Least, index: int) -> Nearest:
        """One place's nearest body in words.

        clearance: Where the room was measured.
        least: What was found.
        index: Which place [-].
        Returns: Body, gap and line.
        """
        body = int(least.body[index])
        if body < 0:
            return NOTHING
        need, row = clearance.needs_mm[body], int(least.row[index])
        motions = self.ctx.program.motions
        return Nearest(
            clearance.names[body],
            float(least.spare_mm[index]) + need,
            need,
            int(motions.line[row]),
            point_on_motion(motions, row, max(0.0, float(least.share[index]))),
        )


def head_mm(screw: Keepout) -> float:
    """Radius of the widest part of a screw.

    screw: The screw.
    Returns: Radius [mm].
    """
    return max(screw.head_radius_mm, screw.shank_radius_mm)


def judge_screw(bench: Bench, index: int, regions: Regions) -> Verdict:
    """Judge one of the job's screws.

    bench: Program and set-up.
    index: Which screw [-].
    regions: The pieces that are left.
    Returns: With the smallest moves where it is in the way.
    """
    screws = bench.setup.screws or ()
    screw = screws[index]
    clearance, radius = bench.of_screw(screw), head_mm(screw)
    at = (screw.x_mm, screw.y_mm)
    place = np.array([at])
    least = clearance.discs(place, radius)
    clear = bool(least.spare_mm[0] >= -1e-9)
    notes = []
    piece = regions.under_head(*at, radius)
    beside = -float(inside_room(place, bench.stock, 0.0)[0] + HEAD_EDGE_MM)
    if beside > 0:
        over = "its head reaches over it" if piece >= 0 else "its head holds nothing"
        notes.append(f"stands {bench.ctx.say.mm(beside, 0.1)} beside the stock; {over}")
    elif screw.holds and piece < 0:
        notes.append("holds nothing: the stock is cut through there")
    entry = (bench.setup.job.screws or ())[index]
    bed = bench.setup.job.bed
    depth = entry.depth_in_bed_mm
    if bed.below == "metal" and bed.spoilboard_mm is not None and (depth or 0.0) > bed.spoilboard_mm:
        notes.append(
            f"{bench.ctx.say.mm(depth)} of thread in a board of {bench.ctx.say.mm(bed.spoilboard_mm)} on metal"
        )
    smallest: Move | None = None
    along: tuple[Move, ...] = ()
    if not clear:
        boxes = tuple(box for _, box in bench.setup.clamps or ())
        others = np.array([(s.x_mm, s.y_mm, head_mm(s)) for k, s in enumerate(screws) if k != index]).reshape(
            -1, 3
        )

        def room(places: Floats) -> Floats:
            found = np.minimum(
                clearance.discs(places, radius).spare_mm, room_beside(places, boxes, others, radius)
            )
            return np.minimum(found, inside_room(places, bench.stock, radius)) if screw.holds else found

        smallest, along = smallest_move(room, at), axis_moves(room, at)
        if smallest is None:
            notes.append("no move within reach clears it: take another place")
        elif screw.holds:
            to, _ = regions.look_up(np.array([smallest.to_mm]))
            if to[0] != piece and piece >= 0:
                notes.append("the smallest move takes it into another piece")
    nearest = bench.nearest(clearance, least, 0)
    return Verdict(screw.name, "screw", at, nearest, clear, smallest, along, tuple(notes), screw.holds)


def judge_clamp(bench: Bench, index: int) -> Verdict | None:
    """Judge one of the job's clamps.

    bench: Program and set-up.
    index: Which clamp [-].
    Returns: None where its height is unknown.
    """
    clamp, box = (bench.setup.clamps or ())[index]
    if clamp.height_mm is None or math.isnan(box.z_max):
        return None
    clearance = bench.clearance(box.z_max, margin_mm(clamp.placed))
    middle = ((box.x_min + box.x_max) / 2, (box.y_min + box.y_max) / 2)
    half = ((box.x_max - box.x_min) / 2, (box.y_max - box.y_min) / 2)
    stock = bench.stock

    def around(places: Floats) -> Floats:
        return np.column_stack(
            [
                places[:, 0] - half[0],
                places[:, 0] + half[0],
                places[:, 1] - half[1],
                places[:, 1] + half[1],
            ]
        )

    def grip(boxes: Floats) -> Floats:
        over_x = np.minimum(boxes[:, 1], stock.x_max) - np.maximum(boxes[:, 0], stock.x_min)
        over_y = np.minimum(boxes[:, 3], stock.y_max) - np.maximum(boxes[:, 2], stock.y_min)
        return np.asarray(np.minimum(over_x, over_y))

    here = around(np.array([middle]))
    least = clearance.boxes(here)
    clear = bool(least.spare_mm[0] >= -1e-9)
    has = float(grip(here)[0])
    notes = () if has > 0 or not clamp.holds else ("does not reach over the stock",)
    smallest: Move | None = None
    along: tuple[Move, ...] = ()
    if not clear:
        keep = min(has, tuning.SCREWS_CLAMP_GRIP_MM) if clamp.holds and has > 0 else -math.inf

        def room(places: Floats) -> Floats:
            boxes = around(places)
            return np.minimum(clearance.boxes(boxes).spare_mm, grip(boxes) - keep)

        smallest, along = smallest_move(room, middle), axis_moves(room, middle)
        if smallest is None:
            notes = (*notes, "no move within reach clears it: take a lower one, or another place")
    nearest = bench.nearest(clearance, least, 0)
    name = clamp.name or f"clamp {index + 1}"
    return Verdict(name, "clamp", middle, nearest, clear, smallest, along, notes, clamp.holds)


def clamp_areas(setup_clamps: tuple[tuple[Clamp, Box], ...] | None, regions: Regions) -> set[int]:
    """Pieces that a clamp of the job stands on.

    setup_clamps: The clamps.
    regions: The pieces that are left.
    Returns: Indices of the pieces.
    """
    field, held = regions.field, set()
    for clamp, box in setup_clamps or ():
        if not clamp.holds:
            continue
        left = max(0, math.ceil((box.x_min - field.x0_mm) / field.cell_mm))
        right = max(0, math.floor((box.x_max - field.x0_mm) / field.cell_mm) + 1)
        first = max(0, math.ceil((box.y_min - field.y0_mm) / field.cell_mm))
        last = max(0, math.floor((box.y_max - field.y0_mm) / field.cell_mm) + 1)
        held |= {int(k) for k in np.unique(regions.piece[first:last, left:right]) if k >= 0}
    return held
