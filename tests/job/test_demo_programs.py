"""The demo programs: current, and well made when read by a few lines that know nothing of millcalc's reader."""

from __future__ import annotations

import importlib.util
import math
import re
import sys
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

import pytest
from shapely.geometry import LineString, Point

from millcalc.advise.advice import advise
from millcalc.job import build_setup, load_job
from millcalc.job.setup import Setup
from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.tables.locate import demo_root

ROOT = demo_root()
JOBS = ("sensor_plate", "window", "window_taped", "box")
TABBED = tuple(name for name in JOBS if name != "window_taped")


def generator() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_programs", ROOT / "make_programs.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["make_programs"] = module
    quiet = sys.dont_write_bytecode
    sys.dont_write_bytecode = True  # leave no cache in a folder that is shipped
    try:
        spec.loader.exec_module(module)
    finally:
        sys.dont_write_bytecode = quiet
    return module


MAKE = generator()
CUTS = {
    "sensor_plate": MAKE.PLATE_CUT,
    "window": MAKE.WINDOW_CUT,
    "window_taped": MAKE.WINDOW_CUT,
    "box": MAKE.BOX_CUT,
}
SHEETS = {
    "sensor_plate": MAKE.PLATE_SHEET,
    "window": MAKE.WINDOW_SHEET,
    "window_taped": MAKE.WINDOW_SHEET,
    "box": MAKE.BOX_SHEET,
}


def setup_of(name: str) -> Setup:
    path = ROOT / name / "job.yaml"
    return build_setup(load_job(path), path)


@dataclass(frozen=True)
class Move:
    """One straight piece: arcs are cut into chords of at most 5 degrees."""

    word: int
    start: tuple[float, float, float]
    end: tuple[float, float, float]
    feed: float
    speed: float
    on: bool

    @property
    def flat(self) -> float:
        return math.dist(self.start[:2], self.end[:2])


def read(text: str) -> list[Move]:
    """The few words the generator writes: absolute millimetres, XY arcs with I and J."""
    at, word, feed, speed, on = [0.0, 0.0, 0.0], 0, 0.0, 0.0, False
    moves: list[Move] = []
    for line in text.splitlines():
        words = {m[1]: float(m[2]) for m in re.finditer(r"([A-Z])(-?[\d.]+)", re.sub(r"\(.*?\)", "", line))}
        if "G" in words and words["G"] in (0, 1, 2, 3):
            word = int(words["G"])
        feed, speed = words.get("F", feed), words.get("S", speed)
        on = {3: True, 5: False}.get(int(words.get("M", 0)), on)
        if not {"X", "Y", "Z"} & set(words) or words.get("G") == 4:
            continue
        end = [words.get(axis, at[i]) for i, axis in enumerate("XYZ")]
        points = [tuple(end)]
        if word in (2, 3):
            cx, cy = at[0] + words["I"], at[1] + words["J"]
            radius = math.hypot(words["I"], words["J"])
            assert abs(math.hypot(end[0] - cx, end[1] - cy) - radius) < 0.0015, line
            first = math.atan2(at[1] - cy, at[0] - cx)
            turn = (math.atan2(end[1] - cy, end[0] - cx) - first) * (1 if word == 3 else -1) % (2 * math.pi)
            turn = 2 * math.pi if turn < 1e-6 else turn
            n = math.ceil(turn / math.radians(5))
            signed = turn if word == 3 else -turn
            points = [
                (
                    cx + radius * math.cos(first + signed * k / n),
                    cy + radius * math.sin(first + signed * k / n),
                    at[2] + (end[2] - at[2]) * k / n,
                )
                for k in range(1, n + 1)
            ]
        for point in points:
            moves.append(Move(word, (at[0], at[1], at[2]), (point[0], point[1], point[2]), feed, speed, on))
            at = list(point)
    return moves


@pytest.mark.parametrize("name", sorted(MAKE.PROGRAMS))
def test_the_shipped_program_is_what_the_generator_writes(name: str) -> None:
    """Made by ``python demo_jobs/make_programs.py``."""
    assert (ROOT / name).read_bytes() == MAKE.PROGRAMS[name]().encode("utf-8")
    assert MAKE.PROGRAMS[name]() == MAKE.PROGRAMS[name]()


@pytest.mark.parametrize("name", JOBS)
def test_good_programs_have_their_frame(name: str) -> None:
    lines = [line for line in (ROOT / name / "good.nc").read_text(encoding="utf-8").splitlines() if line]
    code = [line for line in lines if not line.startswith("(")]
    assert code[0] == "G21 G90 G17 G94 G54"
    assert code[1] == f"T{CUTS[name].tool} M6"
    assert code[2].startswith("G0 Z")
    assert re.fullmatch(r"S\d+ M3", code[3])
    assert re.fullmatch(r"G4 P\d+", code[4])
    assert code[-3:] == ["M5", "G0 X0.0 Y0.0", "M30"]
    assert all(len(line) <= 80 and line.isascii() for line in lines)


@pytest.mark.parametrize("name", JOBS)
def test_good_programs_move_as_their_cut_says(name: str) -> None:
    cut, setup = CUTS[name], setup_of(name)
    assert setup.stock is not None
    moves = read((ROOT / name / "good.nc").read_text(encoding="utf-8"))
    lowest_rapid = min(min(m.start[2], m.end[2]) for m in moves[1:] if m.word == 0 and m.flat > 0)
    assert lowest_rapid >= 10.0
    for move in moves:
        below = min(move.start[2], move.end[2]) < setup.stock.z_max
        if not below or move.word == 0:
            assert move.word != 0 or move.end[2] >= 1.0 or move.flat == 0
            continue
        assert move.on and move.speed == cut.speed_rpm
        assert 0 < move.feed <= cut.feed_mm_min
        drop = move.start[2] - move.end[2]
        if drop > 1e-6:
            assert move.flat > 0, "a straight plunge into the stock"
            assert math.degrees(math.atan2(drop, move.flat)) <= cut.ramp_deg + 0.2  # three decimals, chords
    overcut = SHEETS[name].overcut_mm
    assert min(m.end[2] for m in moves) == pytest.approx(setup.stock.z_min - overcut)
    assert 0 < overcut < setup.job.bed.allowance_mm


@pytest.mark.parametrize("name", JOBS)
def test_good_programs_stay_clear_of_what_holds_the_stock(name: str) -> None:
    """Checked against Shapely: the path widened by the cutter, and by the collet nut, against every body."""
    setup = setup_of(name)
    (fitted,) = setup.cutters.values()
    assert setup.machine is not None and fitted.stickout_mm is not None
    nut = setup.machine.spindle.collet_nut_diameter_mm / 2
    moves = read((ROOT / name / "good.nc").read_text(encoding="utf-8"))
    for screw in setup.screws or ():
        head = Point(screw.x_mm, screw.y_mm).buffer(screw.head_radius_mm, 64)
        for radius, lift in ((fitted.cutter.diameter_mm / 2, 0.0), (nut, fitted.stickout_mm)):
            low = [m for m in moves if min(m.start[2], m.end[2]) + lift < screw.z_top_mm]
            gaps = [LineString([m.start[:2], m.end[:2]]).distance(head) - radius for m in low]
            assert min(gaps, default=99.0) > screw.margin_mm
    for _, box in setup.clamps or ():
        for m in moves[1:]:  # the first one lifts from wherever the machine stood
            if min(m.start[2], m.end[2]) < box.z_max:
                assert (
                    min(m.start[0], m.end[0]) - 3.0 > box.x_max or max(m.start[0], m.end[0]) + 3.0 < box.x_min
                )


@pytest.mark.parametrize("name", TABBED)
def test_good_programs_leave_four_tabs(name: str) -> None:
    """The last lap of the outline rises to the tab's height four times, over at least its width."""
    sheet = SHEETS[name]
    moves = read((ROOT / name / "good.nc").read_text(encoding="utf-8"))
    top = sheet.tab_thickness_mm - sheet.thickness_mm
    flat = [m for m in moves if m.word == 1 and m.start[2] == m.end[2] == pytest.approx(top) and m.flat > 0]
    last = [m for m in flat[-4:]]
    wide = CUTS[name].diameter_mm + sheet.tab_width_mm
    assert [round(m.flat, 3) for m in last] == [wide] * 4
    places = {
        (m.start[0] == m.end[0], round(m.start[0] if m.start[0] == m.end[0] else m.start[1])) for m in last
    }
    assert len(places) == 4  # one on each side


def test_holes_and_slots_come_before_the_outline() -> None:
    for name in JOBS:
        text = (ROOT / name / "good.nc").read_text(encoding="utf-8")
        assert text.index("(outline)") > max(
            m.start() for m in re.finditer(r"\((hole|slot|vent|cable)", text)
        )


@pytest.mark.parametrize("name", JOBS)
def test_settings_are_those_the_advice_gives(name: str) -> None:
    setup, cut = setup_of(name), CUTS[name]
    (fitted,) = setup.cutters.values()
    assert setup.machine is not None and setup.material is not None
    assert fitted.stickout_mm is not None and setup.job.bed.drop_mm is not None
    tooling = Tooling(setup.machine, setup.material, fitted.cutter, fitted.stickout_mm, setup.job.bed.drop_mm)
    advised = advise(tooling, CutRequest(cut="slot"), buys=False).settings
    assert cut.tool in setup.cutters
    assert cut.diameter_mm == fitted.cutter.diameter_mm
    assert cut.depth_mm <= advised.axial_depth_mm + 1e-9
    assert cut.speed_rpm == pytest.approx(advised.speed_rpm, rel=0.1)
    chip = cut.feed_mm_min / cut.speed_rpm / fitted.cutter.flutes
    assert chip == pytest.approx(advised.feed_per_tooth_mm, rel=0.1)
    assert cut.ramp_deg <= advised.ramp_angle_deg
    assert cut.ramp_feed_mm_min <= advised.ramp_feed_mm_min * 1.05
    assert cut.plunge_feed_mm_min <= advised.plunge_feed_mm_min * 1.05


def test_the_generator_runs_by_itself(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in JOBS:
        (tmp_path / name).mkdir()
    monkeypatch.setattr(MAKE, "HERE", tmp_path)
    MAKE.main()
    assert (tmp_path / "box/good.nc").read_bytes() == (ROOT / "box/good.nc").read_bytes()
    assert "sensor_plate/bad.nc" in capsys.readouterr().out
    assert sorted(p.suffix for p in tmp_path.rglob("*") if p.is_file()) == [".nc"] * len(MAKE.PROGRAMS)
