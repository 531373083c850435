"""Thin webs, tabs, walls and skins: place, width and thickness. Kind of number: exact."""

from __future__ import annotations

import itertools
import math

import pytest

from millcalc.stock.cutter_shapes import flat
from tests.stock.paths import Box, arc_move, cut, run, turned

PLATE = Box(100.0, 60.0, -3.0)


def with_tab(width: float, height: float, angle: float = 0.0) -> list[dict[str, object]]:
    half = width / 2 + 1.5
    way = [(40 + half, 15.0), (60.0, 15.0), (60.0, 45.0), (20.0, 45.0), (20.0, 15.0), (40 - half, 15.0)]
    over = [(40 - half - 1, 15.0), (40 + half + 1, 15.0)]
    middle = (40.0, 30.0)
    return cut(turned(way, angle, middle), -3.2) + cut(turned(over, angle, middle), height - 3.0)


@pytest.mark.parametrize("angle", [0.0, 0.4, 1.2])
@pytest.mark.parametrize(("width", "height"), [(1.0, 1.0), (2.4, 2.0), (7.0, 0.6)])
def test_tab(width: float, height: float, angle: float) -> None:
    """A bridge left in a contour, lowered by a shallower pass: its length along the cut, its thickness."""
    removal = run(with_tab(width, height, angle), flat(3.0), PLATE, cell_mm=0.08)
    (web,) = removal.webs
    assert web.kind == "tab"
    assert web.width_mm == pytest.approx(width, abs=2 * removal.cell_mm)
    assert web.thickness_mm == pytest.approx(height, abs=0.01)
    # between two ends of the cut, each a half circle of 3 mm
    assert web.area_mm2 == pytest.approx(3 * width + (4 - math.pi) * 2.25, rel=0.01)
    (x, y) = turned([(40.0, 15.0)], angle, (40.0, 30.0))[0]
    assert math.hypot(web.place_mm[0] - x, web.place_mm[1] - y) < 1.5
    assert removal.loose == ()


def test_four_tabs_are_four_webs() -> None:
    moves: list[dict[str, object]] = []
    corners = [(20.0, 15.0), (60.0, 15.0), (60.0, 45.0), (20.0, 45.0), (20.0, 15.0)]
    for one, two in itertools.pairwise(corners):  # each side in two cuts, a tab in its middle
        middle = [(a + b) / 2 for a, b in zip(one, two, strict=True)]
        length = math.dist(one, two)
        back = [m - (b - a) / length * 2.2 for m, a, b in zip(middle, one, two, strict=True)]
        ahead = [m + (b - a) / length * 2.2 for m, a, b in zip(middle, one, two, strict=True)]
        moves += cut([one, back], -3.2) + cut([ahead, two], -3.2)
    removal = run(moves, flat(3.0), PLATE)
    assert [web.kind for web in removal.webs] == ["web"] * 4
    assert [web.width_mm for web in removal.webs] == pytest.approx([1.4] * 4, abs=2 * removal.cell_mm)
    assert all(web.thickness_mm == pytest.approx(3.0, abs=0.01) for web in removal.webs)


def pocket(y0: float, depth: float) -> list[dict[str, object]]:
    rows = [(x, y0 + 2 * k) for k in range(6) for x in ((20.0, 40.0) if k % 2 == 0 else (40.0, 20.0))]
    return cut(rows, -depth)


def test_wall_between_two_pockets() -> None:
    removal = run(pocket(15.0, 2.0) + pocket(28.9, 2.0), flat(3.0), PLATE)
    (wall,) = removal.webs
    assert wall.kind == "wall"
    assert wall.width_mm == pytest.approx(0.9, abs=2 * removal.cell_mm)
    assert wall.thickness_mm == pytest.approx(2.0, abs=0.01)
    assert wall.place_mm[1] == pytest.approx(26.95, abs=0.6)


def test_low_ridge_is_no_wall() -> None:
    assert run(pocket(15.0, 0.3) + pocket(28.9, 0.3), flat(3.0), PLATE).webs == ()


def test_skin_under_a_pocket() -> None:
    removal = run(pocket(20.0, 2.8), flat(3.0), PLATE)
    (skin,) = removal.webs
    assert skin.kind == "skin"
    assert skin.width_mm == pytest.approx(13.0, abs=removal.cell_mm)
    assert skin.thickness_mm == pytest.approx(0.2, abs=0.01)
    assert skin.area_mm2 == pytest.approx(23 * 13 - (4 - math.pi) * 2.25, rel=0.02)


def test_nothing_thin() -> None:
    assert run(pocket(20.0, 1.5), flat(3.0), PLATE).webs == ()
    assert run([{"kind": 0, "to": (10, 10, 5)}], flat(3.0), PLATE).webs == ()
    start = (50.0, 30.0, -3.2)
    hole = [{"kind": 0, "to": (50, 30, 5)}, {"to": start}, arc_move(start, (49.0, 30.0, -3.2), 2 * math.pi)]
    assert run(hole, flat(3.0), PLATE).webs == ()


def test_thin_rim_at_the_stock_edge() -> None:
    """A slot along the edge leaves a strip 1 mm wide."""
    (web,) = run(cut([(10.0, 2.5), (90.0, 2.5)], -3.2), flat(3.0), PLATE).webs
    assert web.kind == "web" and web.width_mm == pytest.approx(1.0, abs=2 * 0.1)
