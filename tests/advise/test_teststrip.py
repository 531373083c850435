"""The test strip: inside the limits, on the scrap, and clean under the project's own check."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from millcalc.advise.judge import limits_for
from millcalc.advise.teststrip import Strip, card_text, make_strip, strip_job
from millcalc.advise.tooling import Tooling, make_tooling
from millcalc.errors import InputError
from millcalc.job import build_setup, load_job
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
def test_every_slot_is_inside_the_hard_limits(machine: str, ladder: str) -> None:
    for material, cutter in (("al-6082-t6", "flat-6mm-1f"), ("plywood-birch", "flat-6mm-2f")):
        built = tooling(machine, material, cutter)
        strip = make_strip(built, ladder)  # type: ignore[arg-type]
        assert len(strip.slots) >= 3
        rising = [slot.depth_mm if ladder == "depth" else slot.chip_mm for slot in strip.slots]
        assert all(b > a for a, b in pairwise(rising))
        assert len({slot.chip_mm if ladder == "depth" else slot.depth_mm for slot in strip.slots}) == 1
        lengths = [slot.length_mm for slot in strip.slots]
        assert lengths == sorted(lengths) and lengths[-1] > lengths[0]
        for slot in strip.slots:
            limits = limits_for(built, strip.speed_rpm, slot.feed_mm_min)
            assert slot.depth_mm <= limits.depth_max_mm
            assert limits.min_chip_mm <= slot.chip_mm <= limits.chip_high_mm * (1 + 1e-9)


def test_the_program_stays_on_the_scrap_and_never_plunges() -> None:
    strip = make_strip(tooling())
    previous: dict[str, float] = {"X": 0.0, "Y": 0.0, "Z": 8.0}
    lowest = max(slot.depth_mm for slot in strip.slots)
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


def test_card_shows_every_slot_with_its_numbers() -> None:
    strip = make_strip(tooling("belt-small-trim-router"), "chip")
    card = card_text(strip)
    assert "dial at" in card
    assert sum(line.count("[ ]") for line in card.splitlines()) == 10 * len(strip.slots)
    assert "in/min" in card_text(strip, "in")


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
def test_own_check_finds_nothing_wrong(tmp_path: Path, ladder: str) -> None:
    """On the demo plate as scrap, with its screws, zero and controller: no stop and no warning."""
    from millcalc.findings import Severity
    from millcalc.report.pipeline import check_program

    path = demo_root() / "sensor_plate" / "job.yaml"
    setup = build_setup(load_job(path), path)
    from millcalc.advise.fitted import tooling_for

    strip = make_strip(tooling_for(setup), ladder, setup)  # type: ignore[arg-type]
    program = tmp_path / "strip.nc"
    program.write_text(strip.program, encoding="utf-8")
    report = check_program(program, path)
    assert not [f for f in report.findings if f.severity != Severity.NOTE.word], report.findings
