"""Cuts whose depth, width, engagement and volume have a closed form. Kind of number: exact.

Volumes are held to 1 % at the default cell; widths and depths to the errors that the result itself states.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from millcalc.stock.cutter_shapes import ball, flat, tapered_ball, vee
from millcalc.stock.result import SIDE_CLIMB, SIDE_CONVENTIONAL, SIDE_SLOT
from tests.stock.paths import Box, arc_move, cut, run, turned

ANGLES = [0.0, math.pi / 4, math.pi / 2, 0.3, 1.0, 2.5]


@pytest.mark.parametrize("angle", ANGLES)
def test_slot(angle: float) -> None:
    """A slot of length L with a flat cutter: ap D L + ap pi D^2 / 4, engaged over half a turn."""
    diameter, length, depth = 6.0, 40.0, 1.5
    removal = run(cut(turned([(30, 40), (70, 40)], angle), -depth), flat(diameter))
    plunge, slot = 1, 2
    assert removal.volume_mm3[plunge] == pytest.approx(depth * math.pi * 9, rel=0.01)
    assert removal.volume_mm3[slot] == pytest.approx(depth * diameter * length, rel=0.01)
    assert removal.axial_depth_mm[slot] == pytest.approx(depth, abs=removal.depth_error_mm)
    assert removal.radial_width_mm[slot] == pytest.approx(diameter, abs=removal.width_error_mm)
    assert removal.engagement_rad[slot] == pytest.approx(math.pi, abs=0.01)
    assert removal.engagement_rad[plunge] == pytest.approx(2 * math.pi, abs=0.01)
    assert removal.section_mm2[slot] == pytest.approx(depth * diameter, rel=0.02)
    assert removal.side[slot] == SIDE_SLOT


@pytest.mark.parametrize("angle", ANGLES)
@pytest.mark.parametrize("width", [0.2, 0.6, 1.5, 3.0, 4.5])
def test_side_cut_of_known_width(width: float, angle: float) -> None:
    """A second pass beside a slot: ae is the offset, the engagement angle is acos(1 - 2 ae / D)."""
    diameter, depth = 6.0, 1.0
    moves = cut(turned([(20, 40), (80, 40)], angle), -depth)
    moves += cut(turned([(25, 40 - width), (75, 40 - width)], angle), -depth)
    removal = run(moves, flat(diameter))
    second = 6
    assert removal.radial_width_mm[second] == pytest.approx(width, abs=removal.width_error_mm)
    exact = math.acos(1 - 2 * width / diameter)
    least, most = (
        math.acos(1 - 2 * min(max(width + error, 0), diameter) / diameter)
        for error in (-removal.width_error_mm, removal.width_error_mm)
    )
    assert least <= removal.engagement_rad[second] <= most
    # a long cut is measured in many places: the greatest is within a tenth of a cell's error or a little above
    assert removal.engagement_rad[second] > exact - 0.12
    assert removal.volume_mm3[second] == pytest.approx(depth * width * 50, rel=0.02, abs=0.5)
    # the cutter moves along +x (turned) with the material on its right
    assert removal.side[second] == (SIDE_CLIMB if width < 4 else SIDE_SLOT)


def test_side_depends_on_the_hand() -> None:
    moves = (
        cut([(20, 40), (80, 40)], -1.0)
        + cut([(25, 41.5), (75, 41.5)], -1.0)
        + cut([(75, 38.5), (25, 38.5)], -1.0)
    )
    removal = run(moves, flat(6.0))
    assert removal.side[6] == SIDE_CONVENTIONAL  # material on the left
    assert removal.side[10] == SIDE_CONVENTIONAL  # other wall, other direction
    again = run(cut([(20, 40), (80, 40)], -1.0) + cut([(75, 41.5), (25, 41.5)], -1.0), flat(6.0))
    assert again.side[6] == SIDE_CLIMB


def test_pocket_corner() -> None:
    """Towards an inside corner along one wall: pi / 2 + the angle at which the rim meets the other wall.

    Both walls stand 0.6 mm thick before the pass that cuts one of them; the pass ends 2.4 mm from the other, whose
    face the rim of R = 3 then meets at acos(2.4 / 3) from straight ahead: pi / 2 + acos(0.8) in all.
    """
    radius, left = 3.0, 0.6
    inner = [(30.0, 30.0), (60.0, 30.0), (60.0, 50.0), (30.0, 50.0), (30.0, 30.0)]
    clear: list[tuple[float, float]] = []
    for row in range(41):  # clear the inside, its edge at x = 63, y = 27 .. 53
        y = 30 + row * 0.5
        clear += [(30.0, y), (60.0, y)] if row % 2 == 0 else [(60.0, y), (30.0, y)]
    moves = cut([*clear, *inner], -1.0)
    # the finishing pass cuts 'left' from the walls y = 27 and x = 63
    moves += cut([(35.0, 30 - left), (60 + left, 30 - left)], -1.0)
    removal = run(moves, flat(2 * radius))
    last = len(moves) - 2
    exact_width = radius + radius * 0.6  # from the near wall to the offset at which the rim meets the other
    exact = math.pi / 2 + math.acos(0.8)
    assert removal.radial_width_mm[last] == pytest.approx(exact_width, abs=removal.width_error_mm)
    error = exact - math.pi / 2 - math.asin(0.6 - removal.width_error_mm / radius)
    assert removal.engagement_rad[last] == pytest.approx(exact, abs=error)
    before = math.acos(1 - left / radius)
    jump = [j for j in removal.jumps if j.motion == last and j.before_rad > 0.3]
    assert len(jump) == 1
    assert jump[0].before_rad == pytest.approx(before, abs=0.15)
    assert jump[0].after_rad == pytest.approx(exact, abs=error)
    assert jump[0].place_mm[0] > 56


def test_drilled_hole() -> None:
    """A 118 degree point: the cone's volume and the cylinder's, to the bottom of the stock at most."""
    diameter, depth = 5.0, 4.0
    removal = run(cut([(50, 40)], -depth), vee(diameter, 118.0), cell_mm=0.05)
    tip = diameter / 2 / math.tan(math.radians(59))
    exact = math.pi * diameter**2 / 4 * (depth - tip * 2 / 3)
    assert removal.volume_mm3[1] == pytest.approx(exact, rel=0.01)
    assert removal.axial_depth_mm[1] == pytest.approx(depth, abs=removal.depth_error_mm)


def test_through_hole_reports_the_bed() -> None:
    removal = run(cut([(50, 40)], -6.7), flat(5.0), cell_mm=0.1)
    assert removal.volume_mm3[1] == pytest.approx(math.pi * 6.25 * 6.0, rel=0.01)
    assert removal.axial_depth_mm[1] == pytest.approx(6.0, abs=0.01)
    assert removal.bed_depth_mm[1] == pytest.approx(0.7, abs=1e-6)
    assert removal.bed_depth_mm[0] == 0


@pytest.mark.parametrize("angle", [0.0, 0.7])
def test_ball_groove(angle: float) -> None:
    """A groove of depth d with a ball: a segment of a circle, width 2 sqrt(2 R d - d^2)."""
    radius, depth, length = 3.0, 0.8, 40.0
    removal = run(cut(turned([(30, 40), (70, 40)], angle), -depth), ball(2 * radius))
    half = math.sqrt(2 * radius * depth - depth**2)
    theta = 2 * math.asin(half / radius)
    section = radius**2 / 2 * (theta - math.sin(theta))
    assert removal.volume_mm3[2] == pytest.approx(section * length, rel=0.01)
    assert removal.radial_width_mm[2] == pytest.approx(2 * half, abs=removal.width_error_mm)
    assert removal.axial_depth_mm[2] == pytest.approx(depth, abs=removal.depth_error_mm)
    assert removal.engagement_rad[2] == pytest.approx(math.pi, abs=0.05)


@pytest.mark.parametrize("tip", [0.0, 0.4])
def test_vee_groove(tip: float) -> None:
    """A groove of depth d with a vee: a trapezium, width 2 d tan(half angle) + tip."""
    depth, length = 1.2, 40.0
    removal = run(cut([(30, 40), (70, 40)], -depth), vee(6.0, 60.0, tip), cell_mm=0.1)
    width = 2 * depth * math.tan(math.radians(30)) + tip
    assert removal.volume_mm3[2] == pytest.approx((width + tip) / 2 * depth * length, rel=0.01)
    assert removal.radial_width_mm[2] == pytest.approx(width, abs=removal.width_error_mm)


def test_tapered_ball_groove() -> None:
    """Ball tip below the join, cone above it: both parts of the section by their closed forms."""
    tip, half, depth, length = 0.8, math.radians(7.5), 2.0, 40.0
    shape = tapered_ball(6.0, tip, 15.0)
    removal = run(cut([(30, 40), (70, 40)], -depth), shape, cell_mm=0.08)
    join, rise = tip * math.cos(half), tip * (1 - math.sin(half))
    theta = 2 * (math.pi / 2 - half)
    lower = tip**2 / 2 * (theta - math.sin(theta))
    top = join + (depth - rise) * math.tan(half)
    assert removal.volume_mm3[2] == pytest.approx((lower + (join + top) * (depth - rise)) * length, rel=0.01)
    assert removal.radial_width_mm[2] == pytest.approx(2 * top, abs=removal.width_error_mm)


def test_bull_nose_slot() -> None:
    """A slot with a corner radius: the rectangle less the two corners, (1 - pi / 4) r^2 each."""
    diameter, corner, depth, length = 6.0, 1.0, 1.5, 40.0
    removal = run(cut([(30, 40), (70, 40)], -depth), flat(diameter, corner))
    section = diameter * depth - 2 * (1 - math.pi / 4) * corner**2
    assert removal.volume_mm3[2] == pytest.approx(section * length, rel=0.01)


def test_ramp() -> None:
    """A straight ramp from the surface with a flat cutter, summed over strips along the path."""
    diameter, length, depth = 6.0, 40.0, 2.0
    moves = [{"kind": 0, "to": (30, 40, 5)}, {"to": (30, 40, 0)}, {"to": (70, 40, -depth)}]
    removal = run(moves, flat(diameter))
    # a cell ends at the height of the tip when the cutter's rim leaves it: integrate that over the swept area
    offsets = np.linspace(-3, 3, 401)
    along = np.linspace(26, 74, 4801)
    strips = []
    for offset in offsets:
        half = math.sqrt(max(9 - offset**2, 0))
        last = np.minimum(along + half, 70)
        over = (np.maximum(along - half, 30) <= last) & (last >= 30)
        strips.append(np.trapezoid(np.where(over, (last - 30) / length * depth, 0.0), along))
    total = float(np.trapezoid(strips, offsets))
    assert removal.volume_mm3[2] == pytest.approx(total, rel=0.01)
    assert removal.axial_depth_mm[2] == pytest.approx(depth, rel=0.06)


@pytest.mark.parametrize("sweep", [2 * math.pi, -2 * math.pi, math.pi / 2, -1.0])
def test_arc_slot(sweep: float) -> None:
    """A slot along an arc of radius r: D r |sweep| and no facets."""
    start, centre = (62.0, 40.0, -1.0), (50.0, 40.0, -1.0)
    moves = [{"kind": 0, "to": (62, 40, 5)}, {"to": start}, arc_move(start, centre, sweep)]
    removal = run(moves, flat(4.0))
    exact = 4.0 * 12 * abs(sweep)
    if abs(sweep) > 6:
        exact -= math.pi * 4  # the disc that the plunge took
    assert removal.volume_mm3[2] == pytest.approx(exact, rel=0.01)
    assert removal.engagement_rad[2] == pytest.approx(math.pi, abs=0.02)


def test_helix_bore() -> None:
    """Helix to a depth and a full turn there: a cylinder of radius r + R, less nothing when r <= R."""
    path, radius, depth, turns = 2.0, 3.0, 3.0, 6
    start, centre = (52.0, 40.0, 0.0), (50.0, 40.0, 0.0)
    helix = arc_move(start, centre, turns * 2 * math.pi, rise=-depth)
    low = arc_move((52.0, 40.0, -depth), (50.0, 40.0, -depth), 2 * math.pi)
    removal = run([{"kind": 0, "to": (52, 40, 5)}, {"to": start}, helix, low], flat(2 * radius))
    assert removal.volume_mm3.sum() == pytest.approx(math.pi * (path + radius) ** 2 * depth, rel=0.01)
    # what the last level turn has to take is the wedge of one pitch: half a pitch on average, less its overlap
    pitch = depth / turns
    assert removal.axial_depth_mm[3] <= pitch + removal.depth_error_mm
    assert removal.axial_depth_mm[3] > 0.5 * pitch


def test_arc_in_a_vertical_plane() -> None:
    """A ball on a half circle in XZ: the tip reaches the arc's lowest point and the volume is that of the sweep."""
    start, centre = (45.0, 40.0, 0.0), (50.0, 40.0, 0.0)
    quarter = arc_move(start, centre, -math.pi / 2, plane=18)["to"]
    assert quarter[2] == pytest.approx(-5.0)  # this sweep dips below the chord
    arc = arc_move(start, centre, -math.pi, plane=18)
    removal = run([{"kind": 0, "to": (45, 40, 5)}, {"to": start}, arc], flat(4.0), stock=Box(z_min=-8))
    assert removal.axial_depth_mm[2] == pytest.approx(5.0, abs=0.1)
    assert removal.final.height_mm.min() == pytest.approx(-5.0, abs=0.05)


def test_recutting_air_and_rapids() -> None:
    """The same slot again removes nothing; a rapid through material is counted like any cut."""
    moves = cut([(30, 40), (70, 40)], -1.0) + cut([(30, 40), (70, 40)], -1.0)
    moves.append({"kind": 0, "to": (70, 60, -0.5)})
    removal = run(moves, flat(6.0))
    assert removal.volume_mm3[4:8].sum() == 0
    assert not removal.cuts[6] and removal.engagement_rad[6] == 0
    assert np.isnan(removal.peak_place_mm[6]).all()
    assert removal.volume_mm3[8] > 0 and removal.axial_depth_mm[8] == pytest.approx(0.5, abs=0.2)
