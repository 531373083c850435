"""Findings about one place are one card; strips stand in the findings' order; dense ways let the depth show through."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

from millcalc.check.strips import SPEAKS_OF
from millcalc.report.cards import cards
from millcalc.report.headline import banner, cuts_nothing, headline, level
from tests.helpers import looking


def test_each_finding_is_on_one_card_and_one_place_is_one_card() -> None:
    report = looking.demo("sensor_plate", "bad").report
    made = cards(report)
    told = [place for card in made for place in card.findings]
    assert sorted(told) == list(range(len(report.findings)))
    heads = [report.findings[card.findings[0]] for card in made]
    for one, other in combinations(heads, 2):
        if one.line is not None and one.line == other.line and one.place_mm and other.place_mm:
            apart = abs(one.place_mm.x - other.place_mm.x) + abs(one.place_mm.y - other.place_mm.y)
            assert apart > 0.5, (one.code, other.code)
    for card in made:
        assert len(card.remedies) == len(set(card.remedies)) and (len(card.findings) == 1 or card.joined)
    first = next(card for card in made if report.findings[card.findings[0]].code == "SPIN-01")
    assert {report.findings[place].code for place in first.findings} >= {"SPIN-01", "PLUNGE-01", "PLUNGE-03"}
    assert len(first.remedies) == 3, "each edit once"


def test_strips_stand_in_the_order_of_the_findings() -> None:
    found = looking.demo("sensor_plate", "bad")
    order = [strip.key for strip in found.strips]
    first: dict[str, int] = {}
    for place, finding in enumerate(found.report.findings):
        for key in SPEAKS_OF.get(finding.code, SPEAKS_OF.get(finding.code.split("-")[0], ())):
            first.setdefault(key, place)
    spoken = [first[key] for key in order if key in first]
    assert spoken == sorted(spoken) and len(spoken) >= 6
    hold = next(strip for strip in found.strips if strip.key == "hold")
    pull = next(finding for finding in found.report.findings if finding.code == "FORCE-06")
    assert pull.measured is not None and pull.limit is not None and hold.used is not None
    assert abs(hold.used - pull.measured / pull.limit) < 1e-3, "strip and finding say the same"
    bend = next(strip for strip in found.strips if strip.key == "deflection")
    said = next(finding for finding in found.report.findings if finding.code == "FORCE-03")
    assert bend.used is not None and f"{bend.used:.2f} times" in said.fact


def test_dense_ways_are_translucent_and_plain_ones_are_not(tmp_path: Path) -> None:
    assert looking.demo("sensor_plate").scene.ways.dense is False
    rows = "".join(f"G1 Y{5 + 0.5 * k:.1f}\nG1 X{15 if k % 2 else 45}\n" for k in range(60))
    text = looking.SLOTS.replace("G1 X15 F390\nG0 Z10\nM5", f"G1 X15 F390\n{rows}G0 Z10\nM5")
    assert looking.looked(tmp_path, text).scene.ways.dense is True


def test_the_banner_says_it_in_a_few_words(tmp_path: Path) -> None:
    bad, good = looking.demo("sensor_plate", "bad").report, looking.demo("sensor_plate").report
    assert (banner(bad), level(bad)) == (f"Do not run: {bad.count('stop')} stops", "stop")
    things = good.count("note") + len(good.checklist)
    assert banner(good) == f"No stop, no warning found: {things} things to look at yourself"
    air = looking.looked(tmp_path, looking.SLOTS.replace("Z-0.5", "Z4")).report
    assert cuts_nothing(air) and not cuts_nothing(good)
    assert "cuts nothing" in headline(air) and "safe" not in headline(air) + banner(air)
