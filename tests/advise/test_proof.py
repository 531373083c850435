"""The proof strip: inside the limits, counted, on the scrap, and clean under the project's own check."""

from __future__ import annotations

import re
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from millcalc.advise.proof import Strip, make_strip, step_advice, strip_job
from millcalc.errors import InputError
from millcalc.job import build_setup, load_job
from millcalc.limits.build import make_tooling
from millcalc.limits.judge import deepest_mm
from millcalc.limits.tooling import Margins, Tooling
from millcalc.report.proof_text import card_text
from millcalc.tables import list_names, load_cutter, load_machine, load_material
from millcalc.tables.locate import demo_root


def tooling(
    machine: str = "gantry-800w", material: str = "al-6082-t6", cutter: str = "flat-6mm-1f"
) -> Tooling:
    return make_tooling(load_machine(machine), load_material(material), load_cutter(cutter))


def moves(strip: Strip) -> list[dict[str, float]]:
    """Motions by a reader of a few lines: letters and numbers, modal."""
    state: dict[str, float] = {}
    found = []
    for line in strip.program.splitlines():
        words = {k: float(v) for k, v in re.findall(r"([A-Z])(-?[\d.]+)", re.sub(r"\(.*?\)", "", line))}
        if words.get("G") in (0.0, 1.0) or {"X", "Y", "Z"} & set(words):
            state = {**state, **words}
            found.append(dict(state))
    return found


@pytest.mark.parametrize("machine", list_names("machines"))
@pytest.mark.parametrize("ladder", ["depth", "chip"])
def test_every_step_is_inside_the_hard_limits(machine: str, ladder: str) -> None:
    for material, cutter in (("al-6082-t6", "flat-6mm-1f"), ("plywood-birch", "flat-6mm-2f")):
        built = tooling(machine, material, cutter)
        strip = make_strip(built, ladder)  # type: ignore[arg-type]
        assert len(strip.steps) >= 3
        rising = [step.depth_mm if ladder == "depth" else step.chip_mm for step in strip.steps]
        assert all(b > a for a, b in pairwise(rising))
        assert len({step.chip_mm if ladder == "depth" else step.depth_mm for step in strip.steps}) == 1
        lengths = [step.length_mm for step in strip.steps]
        assert lengths == sorted(lengths) and lengths[-1] > lengths[0]
        for step in strip.steps:
            deepest = deepest_mm(built, strip.speed_rpm, step.feed_mm_min)
            assert step.depth_mm <= deepest * (1 + 1e-9)
            assert step_advice(strip, step).fits
            high = built.chip_band_mm("slot")[2]
            assert built.smallest_chip_mm <= step.chip_mm <= high * (1 + 1e-9)


def test_the_program_stays_on_the_scrap_and_never_plunges() -> None:
    strip = make_strip(tooling())
    previous: dict[str, float] = {"X": 0.0, "Y": 0.0, "Z": 8.0}
    lowest = max(step.depth_mm for step in strip.steps)
    seen_floor = set()
    for move in moves(strip):
        if "X" in move:
            assert 3 <= move["X"] <= strip.size_mm[0] - 3 and 3 <= move["Y"] <= strip.size_mm[1] - 3
        if move["G"] == 0.0 and "X" in move and "X" in previous and move["X"] != previous["X"]:
            assert move["Z"] >= 8.0, "rapids across only at travel height"
        if move["G"] == 1.0 and move.get("Z", 0.0) < -1e-9:
            fall = previous["Z"] - move["Z"]
            way = np.hypot(move["X"] - previous.get("X", 0.0), move["Y"] - previous.get("Y", 0.0))
            assert fall <= way * np.tan(np.radians(3.0)) + 1e-3
            seen_floor.add(round(move["Z"], 3))
        previous = {**previous, **move}
    assert min(seen_floor) == pytest.approx(-lowest, abs=1e-3)
    assert strip.program.splitlines()[-1] == "M30" and "M5" in strip.program


@pytest.mark.parametrize("cutter", ["flat-6mm-1f", "flat-1-8in-1f", "flat-2mm-1f", "ball-6mm-2f"])
def test_each_step_carries_as_many_marks_as_its_number(cutter: str) -> None:
    """Swept areas by shapely: marks are apart from each other and clear of every slot."""
    strip = make_strip(tooling(cutter=cutter), "chip" if cutter == "flat-2mm-1f" else "depth")
    radius = strip.tooling.cutter.diameter_mm / 2
    parts = re.split(r"^\(step (\d+):.*$", strip.program, flags=re.M)[1:]
    marks: list[BaseGeometry] = []
    slots: list[BaseGeometry] = []
    for number, text in zip(parts[::2], parts[1::2], strict=True):
        found: list[list[tuple[float, float]]] = []
        at: dict[str, float] = {}
        for line in text.splitlines():
            words = {k: float(v) for k, v in re.findall(r"([GXYZ])(-?[\d.]+)", line)}
            at = {**at, **words}
            if line.startswith("G0 X"):
                found.append([])
            if line.startswith("G1") and at["Z"] < 0:
                found[-1].append((at["X"], at["Y"]))
        here = [LineString(way).buffer(radius) for way in found if way]
        assert len(here) == int(number) + 1, "one slot and its marks"
        marks += here[:-1]
        slots.append(here[-1])
    assert len(marks) == sum(range(1, len(strip.steps) + 1))
    assert min(a.distance(b) for a, b in combinations(marks, 2)) >= 1.0
    assert min(mark.distance(slot) for mark in marks for slot in slots) >= 2.0
    assert min(a.distance(b) for a, b in combinations(slots, 2)) >= 4.9


def test_the_advised_depth_is_never_out_of_reach_of_the_ladder() -> None:
    for machine in list_names("machines"):
        strip = make_strip(tooling(machine))
        assert strip.steps[-1].depth_mm >= strip.first_cut.settings.axial_depth_mm * 0.94


def test_what_the_log_taught_lowers_a_strip_and_never_raises_it() -> None:
    built = tooling("belt-small-trim-router")
    plain = make_strip(built).steps[-1].depth_mm
    lower = make_strip(built.with_changes(margins=Margins(deflection=0.5, chatter=0.5, thrust=0.5)))
    higher = make_strip(built.with_changes(margins=Margins(deflection=2.0, chatter=2.0, thrust=2.0)))
    assert lower.steps[-1].depth_mm < 0.8 * plain
    assert higher.steps[-1].depth_mm == plain


def test_card_shows_every_step_with_its_numbers_in_80_columns() -> None:
    strip = make_strip(tooling("belt-small-trim-router"), "chip")
    card = card_text(strip)
    assert "dial at" in card
    assert sum(line.count("[][]") for line in card.splitlines()) == 4 * len(strip.steps)
    for text in (card, card_text(strip, "in"), card_text(make_strip(tooling()))):
        assert max(map(len, text.splitlines())) <= 80
    assert "in/min" in card_text(strip, "in")


def test_a_given_feed_and_speed_are_proven_and_a_chip_ladder_takes_no_feed() -> None:
    strip = make_strip(tooling(), speed_rpm=15000, feed_mm_min=450)
    assert strip.speed_rpm == 15000 and {step.feed_mm_min for step in strip.steps} == {450}
    with pytest.raises(InputError, match="feed"):
        make_strip(tooling(), "chip", feed_mm_min=450)


def test_what_does_not_fit_is_refused() -> None:
    with pytest.raises(InputError, match="drill"):
        make_strip(tooling(cutter="drill-3mm-hss"))
    with pytest.raises(InputError):
        strip_job(make_strip(tooling()), 0.2)
    path = demo_root() / "sensor_plate" / "job.yaml"
    job = load_job(path)
    small = job.model_copy(update={"stock": job.stock.model_copy(update={"size_x_mm": 40.0})})
    with pytest.raises(InputError) as caught:
        make_strip(tooling(), "depth", build_setup(small, path))
    assert caught.value.field == "stock"


@pytest.mark.parametrize("ladder", ["depth", "chip"])
def test_own_check_finds_nothing_wrong(ladder: str) -> None:
    """On the demo plate as scrap, with its screws, zero and controller: nothing but notes."""
    from millcalc.check.proof_held import held_strip
    from millcalc.findings import Severity
    from millcalc.limits.fitted import tooling_for

    path = demo_root() / "sensor_plate" / "job.yaml"
    setup = build_setup(load_job(path), path)
    built = tooling_for(setup)
    whole = make_strip(built, ladder, setup)  # type: ignore[arg-type]
    strip, report = held_strip(
        whole,
        lambda held_mm: make_strip(built, ladder, setup, held_mm=held_mm),  # type: ignore[arg-type]
        setup,
        "strip.nc",
    )
    assert not [f for f in report.findings if f.severity != Severity.NOTE.word]
    deepest = whole.steps[-1].depth_mm
    if (
        ladder == "depth"
    ):  # its deepest step would ask a screw of the demo for more than the 87 N it is counted on for
        assert 0.85 * deepest < strip.steps[-1].depth_mm < deepest
    else:
        assert strip.steps[-1].depth_mm == deepest


def test_the_person_reads_why_the_strip_stops(tmp_path: Path) -> None:
    from typer.testing import CliRunner

    from millcalc.cli.main import app

    path = demo_root() / "sensor_plate" / "job.yaml"
    told = CliRunner().invoke(app, ["proof", "-o", str(tmp_path / "strip.nc"), "--job", str(path)])
    assert told.exit_code == 0, told.output
    assert "the deepest step is 1.2 mm instead of 1.35 mm: what holds the scrap" in told.output
    assert "  6   1.2 mm" in told.output
