"""Answers of settings, compare, alternatives, screws and proof as pages: a picture each, on a phone and in the dark."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from millcalc.cli.main import app
from millcalc.tables import demo_root

PLATE = demo_root() / "sensor_plate"
CUTTING = ["--machine", "gantry-800w", "--material", "6082", "--cutter", "flat-6mm-1f"]


@pytest.fixture(scope="module")
def answers(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Path, str]]:
    folder = tmp_path_factory.mktemp("answers")
    job = folder / "job.yaml"
    text = (PLATE / "job.yaml").read_text(encoding="utf-8")
    job.write_text(text.replace("x: 8 mm, y: 8 mm", "x: 17 mm, y: 14 mm", 1), encoding="utf-8")
    commands = {
        "settings": ["settings", *CUTTING],
        "alternatives": ["alternatives", *CUTTING],
        "compare": ["compare", str(PLATE / "good.nc"), str(PLATE / "bad.nc")],
        "screws": ["screws", str(PLATE / "good.nc"), "--job", str(job)],
        "proof": ["proof", "-o", str(folder / "p.nc"), *CUTTING],
    }
    made = {}
    for name, command in commands.items():
        done = CliRunner().invoke(app, [*command, "-o", str(folder / f"{name}.html")])
        assert "page written to" in done.output.replace("\n", " "), (name, done.output)
        made[name] = (folder / f"{name}.html", done.output)
    return made


@pytest.mark.parametrize("name", ["settings", "alternatives", "compare", "screws", "proof"])
def test_an_answers_page_shows_its_picture_and_says_what_the_terminal_says(
    browser: Any, violations: Callable[[], list[Any]], answers: dict[str, tuple[Path, str]], name: str
) -> None:
    path, printed = answers[name]
    for width, dark in ((390, False), (1600, True)):
        browser.screen(width, dark=dark)
        browser.open(path)
        found = browser.run(
            """const svg = document.querySelector('figure.drawing svg'), box = svg.getBoundingClientRect();
            return { wide: document.documentElement.scrollWidth, size: [box.width, box.height], text:
                document.querySelector('.words').textContent, marks: svg.querySelectorAll('path, rect, circle').length,
                scripts: document.scripts.length, banner: document.getElementById('banner').textContent.trim() }"""
        )
        assert found["wide"] <= width and found["scripts"] == 0 and browser.console() == []
        assert found["marks"] > 5 and min(found["size"]) > 150 and len(found["banner"]) > 8
    numbers = set(re.findall(r"\d+(?:\.\d+)? (?:mm|rpm|N|s)\b", " ".join(printed.split())))
    words = " ".join(found["text"].split())
    assert numbers and {number for number in numbers if number not in words} == set(), "one answer for all"
    assert violations() == []


def test_the_screw_in_the_way_is_crossed_out_and_others_are_proposed(
    browser: Any, answers: dict[str, tuple[Path, str]]
) -> None:
    browser.screen(768)
    browser.open(answers["screws"][0])
    kinds = browser.run(
        "return Array.from(document.querySelectorAll('figure.drawing > div > svg .hold')).map((c) => c.classList[1])"
    )
    assert kinds.count("bad") == 1 and kinds.count("good") == 3 and kinds.count("new") >= 1
    assert "1 screw or clamp in the way" in browser.run(
        "return document.getElementById('banner').textContent"
    )


def test_a_page_is_refused_where_there_is_no_picture_or_no_place(tmp_path: Path) -> None:
    beds = CliRunner().invoke(app, ["alternatives", *CUTTING, "--bed", "-o", str(tmp_path / "a.html")])
    assert beds.exit_code != 0 and "--bed" in str(beds.exception)
    wrong = CliRunner().invoke(app, ["settings", *CUTTING, "-o", str(tmp_path / "a.nc")])
    assert wrong.exit_code != 0 and ".html" in str(wrong.exception) and not list(tmp_path.iterdir())
