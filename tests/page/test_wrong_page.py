"""Help when it sounds wrong: one question a screen, and the same answer as the command line's."""

from __future__ import annotations

import html
import re
from pathlib import Path
from typing import Any

import pytest

from millcalc.advise.adjust_data import symptoms
from millcalc.page.plain import unoptioned
from tests.helpers.command import run
from tests.page.doors import Visitor, told

CUT = {"machine": "gantry-800w", "material": "al-6082-t6", "cutter": "flat-6mm-1f", "cut": "slot"}
USED = {"rpm": "13200", "feed": "390", "ap": "1.5"}


def links(answer: Any) -> list[str]:
    return [html.unescape(one) for one in re.findall(r'<li><a href="(/wrong[^"]+)"', answer.text)]


def test_every_symptom_is_one_tap_and_asks_its_one_question(me: Visitor) -> None:
    first = me.get("/wrong")
    assert len(links(first)) == len(symptoms())
    for key, row in symptoms().items():
        answer = me.get("/wrong", params={**CUT, "symptom": key})
        assert row.ask in told(answer) and (not row.stop or unoptioned(row.stop) in told(answer))
        assert links(answer)


def test_it_ends_in_the_command_lines_next_settings(me: Visitor, tmp_path: Path) -> None:
    page = me.get("/wrong", params={**CUT, "symptom": "squeal"})
    slanted = next(one for one in links(page) if "answer=slanted" in one)
    numbers = me.get(slanted)
    assert "Are these the numbers in use?" in told(numbers) and 'value="13200"' in numbers.text
    answer = me.get(slanted, params=None)
    answer = me.get("/wrong", params={**CUT, **USED, "symptom": "squeal", "answer": "slanted", "sure": "1"})
    text = told(answer)
    words = [word for name, value in {**CUT, **USED}.items() for word in (f"--{name}", value)]
    said = " ".join(run(["adjust", "squeal", "--answer", "slanted", *words], tmp_path).stdout.split())
    change = re.search(r"change first: (.+?) (?:still over|if that|not:|by hand)", said)
    assert change and f"Change first: {change[1]}" in text
    for words_of in ("look for: ", "never: "):
        tail = said.split(words_of, 1)[1][:20]
        assert tail in text
    settings = re.search(r'href="(/settings\?[^"]+)"', answer.text)
    assert settings and "0.75 mm" in told(me.get(html.unescape(settings[1])))


def test_from_the_settings_the_cut_and_its_numbers_are_known_already(me: Visitor) -> None:
    name = re.search(r'data-advice="([^"]+)"', me.post("/settings/answer", {**CUT, "ap": "1.2"}).text)
    assert name
    first = me.get(f"/wrong?from={name[1]}")
    assert "Flat, 6 mm, one flute" in told(first)
    question = me.get(next(one for one in links(first) if "symptom=squeal" in one))
    numbers = me.get(links(question)[0])
    assert 'name="ap" value="1.2"' in numbers.text


@pytest.mark.parametrize(
    ("more", "reads"),
    [
        ({"symptom": "ghosts"}, "accepted"),
        ({"symptom": "squeal", "answer": "maybe", "sure": "1"}, "answer the question"),
        ({"symptom": "squeal", "cut": "drill"}, "for a drill"),
        ({"symptom": "squeal", "answer": "slanted", "sure": "1", "tone": "high"}, "pitch"),
    ],
)
def test_what_cannot_be_is_told(me: Visitor, more: dict[str, str], reads: str) -> None:
    answer = me.get("/wrong", params={**CUT, **more})
    assert answer.status_code == 422 and reads in told(answer).lower() and "--" not in told(answer)


def test_without_a_cut_it_is_asked_for_once(me: Visitor) -> None:
    page = me.get("/wrong", params={"symptom": "squeal"})
    assert "Which cut is it?" in told(page) and 'name="symptom" value="squeal"' in page.text
