"""The entry: what is skipped and why, tools, chunks, progress, interruption, cell size, the field handed out."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from shapely.geometry import LineString, Point
from shapely.ops import unary_union

import millcalc.stock.simulate as module
from millcalc.stock.bed import bed_depth_mm
from millcalc.stock.cutter_shapes import ball, flat
from millcalc.stock.grid import OUTSIDE, choose_cell_mm
from millcalc.stock.result import NOT_A_MOVE, POSITION_UNKNOWN, RAN, SKIP_NAMES, TOOL_UNKNOWN, Removal
from millcalc.stock.shapes import CutterShape
from millcalc.stock.simulate import simulate
from tests.helpers.tables import table
from tests.stock.paths import PLATE, Box, arc_move, cut, moves_table, run


def test_unknown_positions_are_skipped_and_counted() -> None:
    moves = cut([(30, 40), (70, 40)], -1.0)
    motions = table(moves)  # begins at 0, 0, 0
    motions.start_mm[0] = np.nan
    removal = simulate(motions, PLATE, {1: flat(6.0)})
    assert removal.skip_reason.tolist() == [POSITION_UNKNOWN, RAN, RAN, RAN]
    assert removal.skipped.tolist() == [True, False, False, False]
    assert removal.volume_mm3[2] > 0
    motions.end_mm[1, 2] = motions.start_mm[2, 2] = np.nan
    removal = simulate(motions, PLATE, {1: flat(6.0)})
    assert removal.skipped.tolist() == [True, True, True, False]
    assert removal.volume_mm3[:3].sum() == 0 and removal.bed_depth_mm.tolist() == [0, 0, 0, 0]
    assert SKIP_NAMES[POSITION_UNKNOWN] == "position unknown"


def test_arc_without_centre_is_skipped() -> None:
    arc = arc_move((60.0, 40.0, -1.0), (50.0, 40.0, -1.0), math.pi)
    motions = moves_table([{"kind": 0, "to": (60, 40, 5)}, {"to": (60, 40, -1)}, arc])
    motions.centre_mm[2, 0] = np.nan
    assert simulate(motions, PLATE, {1: flat(6.0)}).skip_reason[2] == POSITION_UNKNOWN
    motions.centre_mm[2, 0] = 50.0
    motions.centre_mm[2, 2] = np.nan  # the axis the arc turns about does not matter
    assert simulate(motions, PLATE, {1: flat(6.0)}).skip_reason[2] == RAN


def test_unknown_cutters_and_dwells() -> None:
    moves = [
        *cut([(30, 40), (70, 40)], -1.0),
        {"kind": 4, "to": (70, 40, 5)},
        *cut([(30, 60), (70, 60)], -1.0),
    ]
    motions = moves_table(moves)
    motions.tool[5:] = 7
    removal = simulate(motions, PLATE, {1: flat(6.0)})
    assert removal.skip_reason.tolist() == [RAN] * 4 + [NOT_A_MOVE] + [TOOL_UNKNOWN] * 4
    motions.tool[5:] = -1
    assert simulate(motions, PLATE, {1: flat(6.0)}).skip_reason[-1] == TOOL_UNKNOWN
    assert simulate(motions, PLATE, {1: flat(6.0)}, assume_tool=1).skip_reason[-1] == RAN
    nothing = simulate(motions, PLATE, {})
    assert (nothing.skip_reason != RAN).all() and nothing.final.volume_mm3 == pytest.approx(
        100 * 80 * 6, rel=0.001
    )


def test_two_cutters_each_with_its_own_width() -> None:
    motions = moves_table(cut([(30, 40), (70, 40)], -1.0) + cut([(30, 40), (65, 40)], -1.0))
    motions.tool[4:] = 2
    removal = simulate(motions, PLATE, {1: flat(3.0), 2: flat(6.0)})
    assert removal.volume_mm3[2] == pytest.approx(120, rel=0.01)
    line = LineString([(30, 40), (65, 40)])
    rest = (
        line.buffer(3.0)
        .difference(unary_union([LineString([(30, 40), (70, 40)]).buffer(1.5), Point(30, 40).buffer(3.0)]))
        .area
    )
    assert removal.volume_mm3[6] == pytest.approx(rest, rel=0.01)
    # the wider cutter finds material at both sides and a gap of 3 mm between
    assert removal.radial_width_mm[6] == pytest.approx(3.0, abs=2 * removal.width_error_mm)
    assert removal.engagement_rad[6] < math.radians(140)
    assert removal.cell_mm == pytest.approx(3.0 / 32)


def test_chunks_do_not_change_the_result(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(3)
    moves = [
        m
        for _ in range(6)
        for m in cut(rng.uniform((5, 5), (95, 75), (4, 2)).tolist(), -rng.uniform(0.2, 6.3))
    ]
    whole = run(moves, ball(6.0))
    monkeypatch.setattr(module, "REMOVAL_CHUNK_STEPS", 7)
    seen: list[tuple[int, int]] = []
    parts = run(moves, ball(6.0), progress=lambda done, all_of_them: seen.append((done, all_of_them)))
    assert len(seen) > 10 and seen[-1] == (len(moves), len(moves))
    assert [done for done, _ in seen] == sorted({done for done, _ in seen})
    for name in ("volume_mm3", "engagement_rad", "radial_width_mm", "axial_depth_mm", "engagement_start_rad"):
        assert np.array_equal(getattr(whole, name), getattr(parts, name)), name
    assert np.array_equal(whole.final.height_mm, parts.final.height_mm)
    assert whole.jumps == parts.jumps


def test_interruption_comes_through(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "REMOVAL_CHUNK_STEPS", 10)

    def stop(_done: int, _total: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run(cut([(30, 40), (70, 40)], -1.0), flat(6.0), progress=stop)


def test_memory_limit_makes_the_cells_coarser() -> None:
    moves = cut([(10, 10), (90, 70)], -1.0)
    fine = run(moves, flat(1.2))
    coarse = run(moves, flat(1.2), memory_limit_bytes=2_000_000)
    assert fine.cell_mm == pytest.approx(1.2 / 32)
    assert coarse.cell_mm > 2 * fine.cell_mm
    assert coarse.width_error_mm == pytest.approx(2 * coarse.cell_mm)
    assert coarse.depth_error_mm > fine.depth_error_mm
    assert choose_cell_mm([], 100.0, 10**9, None) == pytest.approx(6 / 32)


@pytest.mark.parametrize("cell", [0.0, -1.0, float("nan"), float("inf")])
def test_impossible_cell_size(cell: float) -> None:
    with pytest.raises(ValueError, match="positive"):
        run(cut([(30, 40), (70, 40)], -1.0), flat(6.0), cell_mm=cell)


def test_stock_without_volume() -> None:
    with pytest.raises(ValueError, match="without volume"):
        run(cut([(30, 40), (70, 40)], -1.0), flat(6.0), Box(z_min=0.0))


def test_no_motions_and_motions_beside_the_stock() -> None:
    empty = run([], flat(6.0))
    assert len(empty.volume_mm3) == 0 and empty.final.volume_mm3 == pytest.approx(48000, rel=0.001)
    beside = run(cut([(300, 300), (400, 300)], -1.0), flat(6.0))
    assert beside.volume_mm3.sum() == 0 and beside.loose == ()
    above = run(cut([(30, 40), (70, 40)], 0.0), flat(6.0))
    assert above.volume_mm3.sum() == 0 and above.axial_depth_mm.max() == 0


def test_stock_in_any_corner_of_the_coordinates() -> None:
    """The same cut with program zero elsewhere gives the same numbers."""
    here = run(cut([(30, 40), (70, 40)], -1.0), flat(6.0))
    moved = Box(100 - 250, 80 - 250, -6.0, -250.0, -250.0)
    there = run(cut([(-220, -210), (-180, -210)], -1.0), flat(6.0), moved)
    assert there.volume_mm3[2] == pytest.approx(here.volume_mm3[2], rel=0.003)


def test_field_is_handed_out_straight_and_whole() -> None:
    removal = run(cut([(30, 40), (70, 40)], -2.0) + cut([(50, 60)], -7.0), flat(6.0))
    field = removal.final
    rows, columns = field.height_mm.shape
    assert rows * field.cell_mm == pytest.approx(80, abs=field.cell_mm)
    assert columns * field.cell_mm == pytest.approx(100, abs=field.cell_mm)

    def at(x: float, y: float) -> float:
        return float(
            field.height_mm[
                round((y - field.y0_mm) / field.cell_mm), round((x - field.x0_mm) / field.cell_mm)
            ]
        )

    assert at(50, 40) == -2 and at(50, 42.7) == -2 and at(50, 43.3) == 0 and at(5, 5) == 0
    assert at(50, 60) == -6 == field.floor_mm and at(50, 62.7) == -6
    assert field.height_mm.min() > OUTSIDE and field.height_mm.max() == 0
    assert field.volume_mm3 == pytest.approx(48000 - removal.volume_mm3.sum(), rel=0.001)


def test_jumps_and_start_of_engagement() -> None:
    moves = cut([(30, 40), (50, 40), (70, 40)], -1.0)
    removal = run(moves, flat(6.0))
    assert removal.engagement_start_rad[3] == pytest.approx(math.pi, abs=0.01)
    assert removal.engagement_start_rad[2] == 0
    (entry,) = removal.jumps
    assert (entry.motion, entry.line, entry.before_rad) == (2, 3, 0)
    assert entry.after_rad == pytest.approx(math.pi, abs=0.01)
    assert removal.jumps_left_out == 0


def test_jumps_beyond_the_number_kept_are_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "REMOVAL_JUMPS_KEPT", 2)
    moves = [m for k in range(5) for m in cut([(20, 10 + 12 * k), (40, 10 + 12 * k)], -1.0)]
    removal = run(moves, flat(6.0))
    assert len(removal.jumps) == 2 and removal.jumps_left_out >= 3


def test_a_pass_along_an_earlier_arc_counts_no_slivers_as_depth() -> None:
    """The chords of an arc cut again in another rhythm leave slivers; they are no cut of full depth."""
    start, centre = (62.0, 40.0, -4.0), (50.0, 40.0, -4.0)
    rough = arc_move(start, centre, 2 * math.pi)
    halves = [
        arc_move(start, centre, 1.3),
        arc_move((50 + 12 * math.cos(1.3), 40 + 12 * math.sin(1.3), -4.0), centre, 2),
    ]
    removal = run([{"kind": 0, "to": (62, 40, 5)}, {"to": start}, rough, *halves], flat(6.0))
    assert removal.axial_depth_mm[3:].max() == 0 and removal.engagement_rad[3:].max() == 0


@pytest.mark.parametrize("height", [-1.0, -4.0])
@pytest.mark.parametrize("shape", [flat(6.0), ball(6.0)], ids=["flat", "ball"])
def test_a_motion_from_afar_cuts_what_its_pieces_cut(height: float, shape: CutterShape) -> None:
    ends = [(-1500.0, 30.0), (1500.0, 45.0), (1500.0, 900.0), (40.0, -1200.0)]
    pieces = []
    for one, two in pairwise(ends):
        pieces += [
            (one[0] + k / 400 * (two[0] - one[0]), one[1] + k / 400 * (two[1] - one[1])) for k in range(400)
        ]
    whole = simulate(table(cut(ends, height)), PLATE, {1: shape})
    split = simulate(table(cut([*pieces, ends[-1]], height)), PLATE, {1: shape})
    assert whole.volume_mm3.sum() == pytest.approx(split.volume_mm3.sum(), rel=1e-9)
    assert whole.volume_mm3.sum() > 100
    assert whole.axial_depth_mm.max() == split.axial_depth_mm.max()
    assert whole.radial_width_mm.max() == pytest.approx(split.radial_width_mm.max(), rel=0.05)


def test_turns_without_end_change_what_three_turns_change() -> None:
    def turned(turns: float) -> Removal:
        arc = arc_move((60.0, 40.0, -1.0), (50.0, 40.0, -1.0), 2 * math.pi * turns)
        moves = [{"kind": 0, "to": (60, 40, 5)}, {"to": (60, 40, -1)}, arc, {"to": (80, 40, -1)}]
        return simulate(moves_table(moves), PLATE, {1: flat(6.0)})

    few, many = turned(3.0), turned(3000.0)
    assert many.volume_mm3 == pytest.approx(few.volume_mm3, rel=1e-3)
    assert many.engagement_rad == pytest.approx(few.engagement_rad, abs=0.05)


def test_depth_error_by_hand() -> None:
    """Cells of 0.1 mm: rounding 0.001, a twentieth of a cell; a ball stands 3 - (9 - 0.1^2 / 2)^0.5 higher there."""
    assert module.depth_error_mm([flat(6.0)], 0.1) == pytest.approx(0.006)
    higher = 3.0 - math.sqrt(9.0 - 0.005)
    assert module.depth_error_mm([flat(3.0), ball(6.0)], 0.1) == pytest.approx(0.006 + higher)


def test_a_motion_to_an_unknown_height_is_not_in_the_bed() -> None:
    ends = (-7.5, math.nan, 1.0)
    assert bed_depth_mm(table([{"to": (0, 0, z)} for z in ends]), -6.0).tolist() == [1.5, 0.0, 0.0]


@pytest.mark.parametrize(
    ("plane", "start", "sweep", "deep"),
    [(18, (-5, 0, -2), -math.pi, 1.0), (18, (-5, 0, -2), math.pi, 0.0),
     (19, (0, -5, -2), math.pi, 1.0), (19, (0, -5, -2), -math.pi, 0.0)],
)  # fmt: skip
def test_an_arc_dips_into_the_bed_at_its_bottom_not_at_its_ends(plane, start, sweep, deep) -> None:
    """Half a turn of radius 5 about Z-2, through Z-7 or Z3; the bed begins at Z-6."""
    move = arc_move(start, (0, 0, -2), sweep, plane=plane)
    assert bed_depth_mm(table([move]), -6.0) == pytest.approx([deep])
