"""Room at places, held against Shapely and against a plain loop over every motion.

Source: Shapely (GEOS) computes distances of polylines, points and boxes independently of us. Tolerance: 1e-5 mm, the
touch allowance of heights (1e-6 mm) on a slope; arcs as 4000 chords, whose sagitta on 20 mm is under 1e-5 mm, and
whose chord at the height limit is under 0.04 mm long.
"""

from __future__ import annotations

import numpy as np
import pytest
from shapely import MultiPoint, Point, box
from shapely.geometry import LineString

from millcalc.holding.clearance import Clearance
from millcalc.preflight.geometry import gap_to_cylinder
from millcalc.preflight.keepouts import Z_MARGIN_MM, cutter_body, holder_bodies
from tests.holding.cases import HEAD, context, plate, program, ring

SHALLOW = plate(cutters={"T1": {"cutter": "flat-6mm-1f", "stickout": "6 mm"}})


def random_program(seed: int, count: int = 120) -> str:
    rng = np.random.default_rng(seed)
    lines = [*HEAD, "G0 X20 Y20", "G1 Z3 F300"]
    for _ in range(count):
        x, y, z = rng.uniform(15, 145), rng.uniform(15, 95), rng.uniform(-8, 6)
        lines.append(f"{'G0' if rng.random() < 0.2 else 'G1'} X{x:.3f} Y{y:.3f} Z{z:.3f} F600")
    return "\n".join([*lines, "G0 Z20", "M30"]) + "\n"


def shapes_below(motions, level: float) -> list:
    """What each straight motion covers below a height, seen from above."""
    found = []
    for start, end in zip(motions.start_mm, motions.end_mm, strict=True):
        if np.isnan(start).any() or np.isnan(end).any() or min(start[2], end[2]) >= level:
            continue
        a, b = start, end
        if (a[2] < level) != (b[2] < level):
            cut = a + (level - a[2]) / (b[2] - a[2]) * (b - a)
            a, b = (a, cut) if a[2] < level else (cut, b)
        found.append(Point(a[:2]) if np.allclose(a[:2], b[:2]) else LineString([a[:2], b[:2]]))
    return found


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("job", [None, SHALLOW], ids=["long", "short stickout"])
def test_room_against_shapely(seed: int, job) -> None:
    ctx = context(random_program(seed), job, cell_mm=1.0)
    rng = np.random.default_rng(seed + 100)
    top, radius = 2.8, 4.0
    clearance = Clearance(ctx, top, 3.0)
    places = rng.uniform((-10, -10), (170, 120), (40, 2))
    corners = np.column_stack([places[:, 0], places[:, 0] + 8, places[:, 1], places[:, 1] + 15])
    discs, boxes = clearance.discs(places, radius), clearance.boxes(corners)
    wanted_disc, wanted_box = np.full(40, np.inf), np.full(40, np.inf)
    for body in (cutter_body(ctx), *holder_bodies(ctx)):
        size, above = float(np.nanmax(body.radius_mm)), float(np.nanmax(body.above_mm))
        need = 3.0 if body.name == "cutter" else 1.0
        for shape in shapes_below(ctx.program.motions, top + Z_MARGIN_MM - above):
            for k, (x, y) in enumerate(places):
                wanted_disc[k] = min(wanted_disc[k], shape.distance(Point(x, y)) - size - radius - need)
                there = box(x, y, x + 8, y + 15)
                wanted_box[k] = min(wanted_box[k], shape.distance(there) - size - need)
    assert discs.spare_mm == pytest.approx(wanted_disc, abs=1e-5)
    assert boxes.spare_mm == pytest.approx(wanted_box, abs=1e-5)
    if job is not None:  # the short one must bring nut or body into play, or the test shows nothing
        assert (discs.body > 0).any()


def test_arcs_against_shapely() -> None:
    ctx = context(program(ring(60, 50, 20, 3.0), ring(110, 60, 12, 6.3)), cell_mm=1.0)
    rng = np.random.default_rng(5)
    places = rng.uniform((0, 0), (160, 110), (60, 2))
    found = Clearance(ctx, 2.8, 1.0).discs(places, 4.0)
    motions, level = ctx.program.motions, 2.8 + Z_MARGIN_MM
    clouds = [np.zeros((0, 2))]
    for row in np.flatnonzero(motions.is_arc):
        share = np.linspace(0, 1, 4001)
        offset = motions.start_mm[row, :2] - motions.centre_mm[row, :2]
        turned = complex(*offset) * np.exp(1j * motions.sweep_rad[row] * share)
        z = motions.start_mm[row, 2] + share * (motions.end_mm[row, 2] - motions.start_mm[row, 2])
        at = motions.centre_mm[row, :2] + np.column_stack([turned.real, turned.imag])
        clouds.append(at[z < level])
    arcs = MultiPoint(np.vstack(clouds))
    lines = shapes_below_lines(motions, level)
    for place, spare in zip(places, found.spare_mm, strict=True):
        wanted = (
            min([arcs.distance(Point(place)), *(s.distance(Point(place)) for s in lines)]) - 3.0 - 4.0 - 1.0
        )
        assert spare == pytest.approx(wanted, abs=2e-4)


def shapes_below_lines(motions, level: float) -> list:
    from dataclasses import replace

    keep = ~motions.is_arc
    return shapes_below(replace(motions, start_mm=motions.start_mm[keep], end_mm=motions.end_mm[keep]), level)


def test_same_as_the_rules_measure() -> None:
    """The search's pruned kernel and the rules' own loop give the same gap, row for row."""
    ctx = context(random_program(11, 400), cell_mm=1.0)
    clearance = Clearance(ctx, 2.8, 1.0)
    rng = np.random.default_rng(3)
    for x, y in rng.uniform((0, 0), (160, 110), (25, 2)):
        least = clearance.discs(np.array([[x, y]]), 4.0)
        best = np.inf
        for body, need in zip((cutter_body(ctx), *holder_bodies(ctx)), clearance.needs_mm, strict=True):
            gap = gap_to_cylinder(
                ctx.program.motions,
                x_mm=x,
                y_mm=y,
                radius_mm=4.0,
                top_mm=2.8 + Z_MARGIN_MM,
                body_radius_mm=body.radius_mm,
                body_above_tip_mm=body.above_mm,
                reach_mm=500.0,
            )
            if gap.least is not None:
                best = min(best, float(gap.gap_mm[gap.least]) - need)
        assert least.spare_mm[0] == pytest.approx(best, abs=1e-9)


def test_nothing_comes_down() -> None:
    """A program that stays above leaves all the room there is."""
    ctx = context(program(["G0 X50 Y50", "G1 X100 Y60 F600"]), cell_mm=1.0)
    least = Clearance(ctx, 2.8, 3.0).discs(np.array([[75.0, 55.0]]), 4.0)
    assert np.isinf(least.spare_mm[0]) and least.body[0] == -1


def test_room_changes_no_faster_than_the_place() -> None:
    """What the search relies on when it skips coarse cells: a millimetre of way changes room by one at most."""
    ctx = context(random_program(2), SHALLOW, cell_mm=1.0)
    clearance = Clearance(ctx, 2.8, 1.0)
    rng = np.random.default_rng(8)
    one = rng.uniform((0, 0), (160, 110), (300, 2))
    two = one + rng.normal(0, 2, (300, 2))
    difference = np.abs(clearance.discs(one, 4.0).spare_mm - clearance.discs(two, 4.0).spare_mm)
    assert (difference <= np.hypot(*(one - two).T) + 1e-9).all()
