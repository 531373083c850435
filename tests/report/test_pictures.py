"""What the pictures show, held against closed forms, Shapely and the simulation itself."""

from __future__ import annotations

import math
import re
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiLineString, Point

from millcalc.advise.advice import advise
from millcalc.advise.operating_map import advice_map
from millcalc.check.coarse_ways import nice_length
from millcalc.check.program_maps import program_maps
from millcalc.check.scene import Scene, make_scene
from millcalc.check.side_view import make_side_view, section_path
from millcalc.check.strips import Strip, make_strips
from millcalc.check.timeline import Spans, Timeline, cut_at, keys, make_timeline
from millcalc.limits.build import make_tooling
from millcalc.limits.judge import depth_uses
from millcalc.limits.request import CutRequest
from millcalc.report import characters, check_text, palette
from millcalc.report.map_drawing import MapDrawing
from millcalc.report.page_drawings import StripDrawing, clock, scale_bar
from millcalc.report.plots import check_picture, map_picture
from millcalc.stock.cutter_shapes import shape_from_cutter
from millcalc.stock.frame_points import Pieces, points_of
from millcalc.stock.frames import heights_over_time
from millcalc.tables import load_cutter, load_machine, load_material
from tests.helpers import looking


@pytest.fixture(scope="module")
def slots(tmp_path_factory: pytest.TempPathFactory) -> looking.Looked:
    return looking.looked(tmp_path_factory.mktemp("slots"))


def _timeline(found: looking.Looked) -> Timeline:
    timeline = make_timeline(found.ctx)
    assert timeline is not None
    return timeline


def _scene(found: looking.Looked) -> Scene:
    scene = make_scene(found.ctx, found.report)
    assert scene is not None
    return scene


def _strips(found: looking.Looked) -> dict[str, Strip]:
    return {strip.key: strip for strip in make_strips(found.ctx, _timeline(found))}


# ---- time ------------------------------------------------------------------------------------------


@settings(max_examples=15, deadline=None)
@given(count=st.integers(1, 400), program=st.sampled_from(["good", "bad"]))
def test_pieces_make_up_every_motion_and_end_at_the_moments(count: int, program: str) -> None:
    timeline = _timeline(looking.demo("sensor_plate", program))
    moments = np.linspace(0.0, timeline.total, count + 1)[1:]
    pieces, done = cut_at(timeline, moments)
    covered = np.bincount(pieces.row, pieces.last - pieces.first, minlength=len(timeline.ends))
    assert covered == pytest.approx(np.ones(len(timeline.ends)), abs=1e-9)
    assert (np.diff(pieces.row) >= 0).all() and (np.diff(done) >= 0).all() and done[-1] == len(pieces.row)
    length = timeline.ends - timeline.starts
    end = timeline.starts[pieces.row] + pieces.last * length[pieces.row]
    for moment, index in zip(moments, done, strict=True):
        assert index == 0 or end[index - 1] <= moment + 1e-6
        assert index == len(end) or end[index] >= moment - 1e-6


def test_the_tool_is_where_feed_and_time_put_it(slots: looking.Looked) -> None:
    timeline = _timeline(slots)
    found = keys(timeline, [], 1)  # evenly spaced beyond one motion
    assert not found.whole
    shares = np.linspace(0.0, 1.0, 401)
    row = int(np.flatnonzero(slots.ctx.program.motions.line == 10)[0])
    found = keys(timeline, [(row, float(share)) for share in shares], 100_000)
    assert found.whole and (np.diff(found.moments) >= 0).all()
    line = slots.ctx.program.motions.line
    across = np.flatnonzero(line[found.row] == 10)  # G1 X15 F390 from X45
    x = found.place_mm[across, 0]
    went = np.diff(found.moments[across]) > 0
    speed = -np.diff(x)[went] / np.diff(found.moments[across])[went] * 60
    # the ends of the motion accelerate; the model gives one mean feed a motion
    assert np.allclose(speed, slots.ctx.feeds.mean_quick_mm_min[found.row[across[0]]], rtol=1e-6)
    assert np.allclose(found.place_mm[-1], slots.ctx.program.motions.end_mm[-1])


def test_points_of_an_arc_lie_on_its_circle() -> None:
    motions = looking.demo("sensor_plate").ctx.program.motions
    arcs = np.flatnonzero(motions.is_arc)[:50]
    for share in (0.0, 0.3, 1.0):
        points = points_of(motions, arcs, np.full(len(arcs), share))
        radius = np.hypot(*(motions.start_mm[arcs] - motions.centre_mm[arcs])[:, :2].T)
        assert np.allclose(np.hypot(*(points - motions.centre_mm[arcs])[:, :2].T), radius, atol=2e-3)
    assert np.allclose(points_of(motions, arcs, np.ones(len(arcs))), motions.end_mm[arcs])


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.just(0.0) | st.floats(1e-5, 9), st.floats(-5, 5)), min_size=1, max_size=40),
    st.integers(1, 30),
)
def test_bands_hold_every_value_of_their_span(pairs: list[tuple[float, float]], count: int) -> None:
    took, values = (np.array(column) for column in zip(*pairs, strict=True))
    ends = np.cumsum(took)
    if ends[-1] == 0:
        return
    motions = looking.demo("sensor_plate").ctx.program.motions
    timeline = Timeline(motions, "s", ends)
    bands = Spans(timeline, count).bands(values)
    width = ends[-1] / count
    for k in range(count):
        # by hand: every motion that takes time and overlaps the span by more than rounding
        inside = (took > 0) & (ends > k * width + 1e-9) & (ends - took < (k + 1) * width - 1e-9)
        assert np.isfinite(bands.high[k]) or not inside.any()
        if inside.any():
            assert bands.high[k] >= values[inside].max() and bands.low[k] <= values[inside].min()


def test_cutting_in_pieces_leaves_the_same_stock_as_cutting_whole() -> None:
    found = looking.demo("sensor_plate")
    setup, motions = found.ctx.setup, found.ctx.program.motions
    assert setup is not None and setup.stock is not None
    shapes = {n: shape_from_cutter(f.cutter) for n, f in setup.cutters.items()}
    timeline = _timeline(found)
    pieces, done = cut_at(timeline, np.linspace(0.0, timeline.total, 61)[1:])
    many = heights_over_time(motions, setup.stock, shapes, pieces, done, most_cells=6000)
    n = len(motions)
    whole = Pieces(np.arange(n), np.zeros(n), np.ones(n))
    once = heights_over_time(motions, setup.stock, shapes, whole, np.array([n]), most_cells=6000)
    assert (np.diff(many.levels.astype(int), axis=0) <= 0).all(), "material never comes back"
    assert (many.levels[0] == 255).all()
    differs = np.abs(many.levels[-1].astype(int) - once.levels[-1]) > 3
    assert differs.mean() < 0.004, "only cells at a wall, where a step's ends round differently"


# ---- strips ----------------------------------------------------------------------------------------


def test_strips_of_a_slot_are_the_closed_forms(slots: looking.Looked) -> None:
    strips = _strips(slots)
    assert set(strips) == {"feed", "chip", "engagement", "depth", "force", "power", "deflection", "speed"}
    # a slot: the greatest chip is the feed per tooth, 390 / (13200 * 1) mm; the engagement is half a turn
    assert np.nanmax(strips["chip"].bands.high) == pytest.approx(390 / 13200, rel=0.02)
    assert np.nanmax(strips["engagement"].bands.high) == pytest.approx(180.0)
    assert np.nanmax(strips["depth"].bands.high) == pytest.approx(0.5, abs=0.02)
    assert np.nanmax(strips["feed"].bands.high) == pytest.approx(390, rel=0.02)
    assert not any(strip.over.any() for strip in strips.values())


def test_a_limit_that_fails_is_marked_where_it_fails(tmp_path: Path) -> None:
    text = looking.SLOTS.replace("G1 X15 F390\nG0 Z10\nM5", "G1 X15 F30\nG0 Z10\nM5")
    found = looking.looked(tmp_path, text)
    strip = _strips(found)["chip"]
    timeline = _timeline(found)
    rows = np.flatnonzero(found.ctx.program.motions.line == 15)
    begin, end = timeline.starts[rows[0]] / timeline.total, timeline.ends[rows[-1]] / timeline.total
    over = np.flatnonzero(strip.over) / len(strip.over)
    assert len(over), "30 / 13200 mm a tooth is thinner than what cuts"
    assert over.min() == pytest.approx(begin, abs=0.004) and over.max() == pytest.approx(end, abs=0.004)


def test_force_and_power_strips_are_those_of_the_findings() -> None:
    found = looking.demo("sensor_plate", "bad")
    strips = _strips(found)
    finding = next(f for f in found.report.findings if f.code == "FORCE-01")
    ratio = np.nanmax(strips["power"].bands.high / strips["power"].limits[0].values)
    assert ratio == pytest.approx(finding.measured, rel=0.01)


def test_without_a_machine_strips_run_along_the_way(tmp_path: Path) -> None:
    job = looking.JOB.replace("machine: gantry-800w\n", "")
    found = looking.looked(tmp_path, job=job)
    timeline = _timeline(found)
    assert timeline.unit == "mm"
    assert timeline.total == pytest.approx(float(np.nansum(found.ctx.program.motions.length_mm)))
    assert {"feed", "engagement"} <= set(_strips(found))


def test_the_strip_is_drawn_to_scale(slots: looking.Looked) -> None:
    drawing = StripDrawing(_strips(slots)["depth"], _timeline(slots), False)
    numbers = [float(part.split("H")[0]) for part in drawing.band.split("V")[1:]]
    highest = 72 * (1 - np.nanmax(drawing.strip.bands.high) / drawing.strip.top)
    assert min(numbers) == pytest.approx(highest, abs=0.02) and max(numbers) <= 72
    assert drawing.range.endswith("mm") and not drawing.over


# ---- ways ------------------------------------------------------------------------------------------


def test_ways_stay_within_the_stated_step_of_the_path() -> None:
    found = looking.demo("sensor_plate")
    ways = _scene(found).ways
    drawn = MultiLineString([line for kind in ("rapid", "air", "cut") for line in ways.places_mm(kind)])
    motions = found.ctx.program.motions
    rows = np.flatnonzero(motions.moves & (found.ctx.facts.plan_mm > 1e-6))
    rows = rows[np.isfinite(motions.start_mm[rows]).all(axis=1)]
    for share in (0.0, 0.37, 0.81):
        for x, y, _ in points_of(motions, rows, np.full(len(rows), share)):
            assert drawn.distance(Point(x, y)) <= 1.5 * ways.step_mm
    path = MultiLineString(
        [LineString(points_of(motions, np.full(60, r), np.linspace(0, 1, 60))[:, :2]) for r in rows]
    )
    ends = np.vstack([line for kind in ("rapid", "air", "cut") for line in ways.places_mm(kind)])
    assert max(path.distance(Point(*end)) for end in ends) <= 1.5 * ways.step_mm


def test_repeated_passes_are_drawn_once(tmp_path: Path) -> None:
    square = "G1 X40 F390\nG1 Y30\nG1 X20\nG1 Y10\n"
    body = "".join(f"G1 Z{-0.2 * k:.1f} F75\n{square}" for k in range(1, 6))
    text = f"G21 G90 G17\nT1 M6\nS13200 M3\nG4 P6\nG0 Z10\nG0 X20 Y10\n{body}G0 Z10\nM5\nM2\n"
    ways = _scene(looking.looked(tmp_path, text)).ways
    assert len(ways.segments["cut"]) == 4
    length = sum(LineString(line).length for line in ways.places_mm("cut"))
    assert length == pytest.approx(80.0, abs=4 * ways.step_mm)
    assert ways.path_data("cut").count("M") == 1, "one closed line"


def test_many_lines_become_few(tmp_path: Path) -> None:
    rng = np.random.default_rng(5)
    steps = "\n".join(f"X{x:.3f} Y{y:.3f}" for x, y in rng.uniform((8, 8), (50, 30), (40_000, 2)))
    text = f"G21 G90 G17\nT1 M6\nS13200 M3\nG4 P6\nG0 Z10\nG0 X20 Y10\nG1 Z5 F390\n{steps}\nM5\nM2\n"
    options = looking.CheckOptions(simulate=False)
    ways = _scene(looking.looked(tmp_path, text, options=options)).ways
    assert sum(len(part) for part in ways.segments.values()) <= 24_000
    assert ways.step_mm > 0


# ---- scene -----------------------------------------------------------------------------------------


def test_signs_cover_neither_each_other_nor_leave_the_picture() -> None:
    scene = _scene(looking.demo("sensor_plate", "bad"))
    unit = 0.018 * scene.width_mm
    at = [(m.x_mm + m.aside[0] * unit, m.y_mm + m.aside[1] * unit) for m in scene.marks]
    assert len(at) > 12
    for i, one in enumerate(at):
        assert scene.box[0] < one[0] < scene.box[1] and scene.box[2] < one[1] < scene.box[3]
        assert all(math.dist(one, other) > 2 * unit for other in at[:i])


def test_the_loose_piece_has_the_shape_the_simulation_found() -> None:
    found = looking.demo("sensor_plate", "bad")
    shape = _scene(found).loose[0]
    rows = re.findall(r"h([-.\d]+)v([-.\d]+)h", shape.path)
    area = sum(float(width) * float(height) for width, height in rows)
    piece = found.ctx.removal.loose[0]
    assert area == pytest.approx(piece.area_mm2, rel=0.02)


def test_screws_keep_their_margin_in_the_picture(slots: looking.Looked) -> None:
    keep = slots.ctx.setup.screws[0]
    drawn = _scene(slots).screws[0]
    assert drawn.keep_mm == pytest.approx(keep.head_radius_mm + keep.margin_mm)
    assert (drawn.x_mm, drawn.y_mm) == (5.0, 5.0)


def test_the_section_shows_the_slots_depth(slots: looking.Looked) -> None:
    scene = _scene(slots)
    side = make_side_view(slots.ctx, scene)
    assert side is not None and scene.finished is not None
    assert side.lowest_mm == pytest.approx(-0.5)
    path = side.stock_path(scene.finished, 12.0)
    heights = [-float(part.split("H")[0]) / side.stretch for part in path.replace("Z", "").split("V")[1:]]
    assert max(heights) == pytest.approx(0.0, abs=0.02)
    assert min(h for h in heights if h > -5.9) == pytest.approx(-0.5, abs=0.04)


def test_section_of_a_cut_through_has_two_parts() -> None:
    row = np.array([255, 255, 0, 0, 128, 255], np.uint8)
    path = section_path(row, 0.0, 6.0, 10.0, 0.0)
    assert path.count("M") == path.count("Z") == 2
    assert path.startswith("M0.00 10.00V0.00H2.00V10.00Z")


def test_colours_differ_in_lightness_alone_too() -> None:
    table = palette.height_colours()[1:, :3].astype(float)
    light = table @ np.array([0.2126, 0.7152, 0.0722])
    assert (np.diff(light) >= 0).all() and (light[4:] > light[:-4]).all(), "deeper is darker, also in grey"
    assert palette.height_colours()[0, 3] == 0


# ---- operating map ---------------------------------------------------------------------------------


@pytest.mark.parametrize("cutter", ["flat-6mm-1f", "flat-3mm-2f", "ball-6mm-2f"])
@pytest.mark.parametrize("cut", ["slot", "side"])
def test_every_line_of_the_map_is_where_its_limit_is_used_up(cutter: str, cut: str) -> None:
    tooling = make_tooling(load_machine("gantry-800w"), load_material("al-6082-t6"), load_cutter(cutter))
    advice = advise(tooling, CutRequest(cut))  # type: ignore[arg-type]
    found = advice_map(advice)
    titles = {limit.title: limit.key for limit in advice.limits}
    shown = 0
    for title, depths in found.depths_mm.items():
        inside = np.flatnonzero(depths < found.top_mm * 0.999)
        if not len(inside):
            continue
        shown += 1
        use = depth_uses(
            tooling, advice.request, found.speeds_rpm[inside], advice.settings.feed_per_tooth_mm, depths[inside],
            np.full(len(inside), advice.settings.radial_width_mm),
        )[titles[title]]  # fmt: skip
        assert use == pytest.approx(np.ones(len(inside)), rel=0.01), title
    assert shown >= 1
    if advice.fits and not found.holds_always:
        ceiling = np.interp(advice.settings.speed_rpm, found.speeds_rpm, found.ceiling_mm)
        assert advice.settings.axial_depth_mm <= ceiling * 1.001, "the advice lies where every limit holds"


def test_program_maps_hold_the_programs_cuts(slots: looking.Looked) -> None:
    (found,) = program_maps(slots.ctx)
    assert {speed for speed, _ in found.points} == {13200.0}
    assert max(depth for _, depth in found.points) == pytest.approx(0.5, abs=0.02)
    drawing = MapDrawing(found, False)
    labels = sorted(line["label_y"] for line in drawing.lines)
    assert all(b - a >= 16.9 for a, b in pairwise(labels))
    assert drawing.area and drawing.lines[0]["title"] == found.governing()[0]


# ---- files and characters --------------------------------------------------------------------------


def test_pictures_are_files_of_their_kind_and_the_same_each_time(slots: looking.Looked) -> None:
    from matplotlib.image import imread

    png = check_picture(slots)
    assert png is not None and png.startswith(b"\x89PNG") and b"Software\x00millcalc" in png[:8192]
    import io

    image = imread(io.BytesIO(png))
    assert image.shape[1] > 1000 and float(image[..., :3].std()) > 0.05
    found = program_maps(slots.ctx)[0]
    svg = map_picture(found, form="svg")
    assert svg == map_picture(found, form="svg") and b"<dc:title>millcalc</dc:title>" in svg[:8192]


def test_a_dollar_sign_in_a_name_is_no_formula(tmp_path: Path) -> None:
    found = looking.looked(tmp_path, name="part_$x$_$\\frac{1}{2}$.nc")
    assert check_picture(found) is not None


@pytest.mark.parametrize("width", [40, 78, 100])
@pytest.mark.parametrize("unicode", [True, False])
def test_characters_fit_the_width_and_the_terminal(width: int, unicode: bool) -> None:
    found = looking.demo("sensor_plate", "bad")
    lines = characters.picture(found, width, unicode=unicode)
    assert lines and max(len(line) for line in lines) <= width
    if not unicode:
        assert "\n".join(lines).isascii()
    text = "\n".join(lines)
    assert text.count("O") >= 3 and "^" in text, "screws, and moments over a limit"


def test_characters_show_the_slots_where_they_are(slots: looking.Looked) -> None:
    scene = _scene(slots)
    lines = characters.top_lines(scene, 78, unicode=False)[:-1]
    for y, x in ((12, 38), (28, 38)):
        row = int((scene.box[3] - y) / scene.height_mm * len(lines))
        column = int((x - scene.box[0]) / scene.width_mm * max(map(len, lines)))
        assert lines[row][column] == ".", "0.5 mm of 6 mm is the lightest shade"
    middle = int((scene.box[3] - 20) / scene.height_mm * len(lines))
    assert set(lines[middle].strip()) == {"'"}


def test_terminal_and_page_round_a_moment_alike(slots: looking.Looked) -> None:
    for seconds in (0.5, 1.5, 2.5, 174.5, 88.49):
        whole = int(seconds + 0.5)
        assert clock(seconds) == f"{whole // 60}:{whole % 60:02d}"
        said = f"{whole} s" if whole < 90 else f"{whole // 60} min {whole % 60:02d} s"
        assert check_text.clock(seconds) == slots.ctx.say.clock(seconds) == said


def test_small_words() -> None:
    assert (clock(59.6), clock(3600)) == ("1:00", "1:00:00")
    assert nice_length(40.0) == 20.0 and nice_length(99.0) == 50.0
    bar = scale_bar(_scene(looking.demo("sensor_plate")))
    assert bar.length_mm <= _scene(looking.demo("sensor_plate")).width_mm / 4
