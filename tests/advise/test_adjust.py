"""Symptom to next settings: every row works, changes go the right way, and never over a limit that held."""

from __future__ import annotations

import pytest

from millcalc.advise.adjust import adjust, answers_to
from millcalc.advise.adjust_changes import Change, next_change
from millcalc.advise.adjust_data import CHANGES, EVIDENCE, find_symptom, symptoms
from millcalc.advise.adjust_evidence import evidence_for
from millcalc.advise.advice import advise
from millcalc.advise.in_use import InUse
from millcalc.errors import InputError
from millcalc.limits.build import make_tooling
from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.tables import load_cutter, load_machine, load_material

ROWS = [(key, row.answer) for key, symptom in symptoms().items() for row in symptom.rows]


def tooling(
    machine: str = "gantry-800w", material: str = "al-6082-t6", cutter: str = "flat-6mm-1f", **changes: float
) -> Tooling:
    return make_tooling(load_machine(machine), load_material(material), load_cutter(cutter), **changes)  # type: ignore[arg-type]


def used(
    built: Tooling | None = None,
    cut: str = "slot",
    speed: float = 18000.0,
    feed: float = 500.0,
    depth: float = 0.4,
    width: float | None = None,
    tone: float | None = None,
) -> InUse:
    built = built or tooling()
    return InUse(built, cut, speed, feed, depth, width or built.cutter.diameter_mm, None, tone, True)  # type: ignore[arg-type]


def situations() -> list[InUse]:
    return [
        used(feed=400.0, depth=0.3),
        used(feed=60.0),
        used(depth=1.5),
        used(
            tooling("belt-small-trim-router", "plywood-birch", "flat-1-4in-2f"),
            speed=26000,
            feed=2500,
            depth=3,
        ),
        used(tooling("gantry-1500w", "acrylic-cast", "flat-1-8in-2f"), "side", 20000, 900, 2.0, 0.5),
    ]


def test_the_table_is_large_enough_and_every_name_in_it_is_used() -> None:
    assert len(ROWS) >= 40 and len(set(ROWS)) == len(ROWS)
    rows = [row for symptom in symptoms().values() for row in symptom.rows]
    assert {row.evidence for row in rows} == set(EVIDENCE)
    assert {change for row in rows for change in row.changes} == set(CHANGES)
    for symptom in symptoms().values():
        assert symptom.ask.endswith("?")
        for row in symptom.rows:
            assert row.changes or row.then
            assert row.never and row.look


@pytest.mark.parametrize(("key", "answer"), ROWS)
def test_every_row_gives_an_answer_and_no_change_breaks_a_limit_that_held(key: str, answer: str) -> None:
    for situation in (situations()[1], situations()[2 + len(answer) % 3]):
        found = adjust(key, situation, answer)
        assert {cause.row.answer for cause in found.causes} >= {answer}
        assert [c.weight for c in found.causes] == sorted((c.weight for c in found.causes), reverse=True)
        before = set(situation.over())
        for cause in found.causes:
            assert 0.0 <= cause.evidence.score <= 1.0 and cause.evidence.text
            assert len(cause.changes) + len(cause.not_possible) == len(cause.row.changes)
            for change in cause.changes:
                assert set(change.settings.over()) <= before, (change.what, change.settings.over())


@pytest.mark.parametrize("situation", situations(), ids=lambda s: s.tooling.material.name)
def test_changes_go_the_way_their_names_say(situation: InUse) -> None:
    def made(name: str) -> InUse | None:
        change = next_change(situation, name)
        return change.settings if isinstance(change, Change) else None

    if (after := made("chip-up")) is not None:
        assert after.feed_per_tooth_mm > 1.04 * situation.feed_per_tooth_mm
        assert after.speed_rpm == situation.speed_rpm and after.depth_mm == situation.depth_mm
    if (after := made("speed-down")) is not None:
        assert after.speed_rpm < situation.speed_rpm
        assert after.feed_per_tooth_mm >= situation.feed_per_tooth_mm * 0.999
    if (after := made("speed-up")) is not None:
        assert after.speed_rpm > situation.speed_rpm
        assert after.feed_per_tooth_mm == pytest.approx(situation.feed_per_tooth_mm, rel=0.05)
    for name in ("depth-half", "depth-less"):
        if (after := made(name)) is not None:
            assert after.depth_mm < situation.depth_mm and after.feed_mm_min == situation.feed_mm_min
            assert after.use("deflection") < situation.use("deflection")
    if (after := made("stickout-less")) is not None:
        assert after.use("chatter") <= situation.use("chatter")
    if (after := made("width-less")) is not None:
        assert after.width_mm < situation.width_mm
    if (after := made("one-flute")) is not None:
        assert after.tooling.cutter.flutes == 1
        assert after.feed_per_tooth_mm == pytest.approx(situation.feed_per_tooth_mm)


def test_rubbing_never_slows_the_feed_and_always_thickens_the_chip() -> None:
    """The same tone has opposite cures: powder asks for more chip, slanted marks for less depth."""
    thin = used(feed=80.0)
    powder = adjust("squeal", thin, "powder").causes[0]
    assert powder.row.cause == "rubbing" and powder.evidence.score > 0.9
    assert powder.changes[0].settings.feed_mm_min > thin.feed_mm_min
    assert powder.changes[0].settings.depth_mm == thin.depth_mm
    slanted = adjust("squeal", used(depth=1.5), "slanted").causes[0]
    assert slanted.row.cause == "chatter"
    assert slanted.changes[0].settings.depth_mm < 1.5
    assert slanted.changes[0].settings.feed_mm_min == 500.0


def test_following_the_advice_ends_the_rubbing() -> None:
    """Changing the chip again and again reaches the band and stops there."""
    now, steps = used(feed=70.0), 0
    low, _, high = now.tooling.chip_band_mm("slot")
    while isinstance(change := next_change(now, "chip-up"), Change):
        now, steps = change.settings, steps + 1
        assert steps < 20
    assert low <= now.feed_per_tooth_mm <= high * (1 + 1e-9)
    assert evidence_for(now, "rubbing").score < 0.1


def test_an_answer_the_numbers_contradict_is_told() -> None:
    found = adjust("squeal", used(feed=500.0, depth=2.0), "powder")
    assert "speak against rubbing" in found.contradiction
    assert "chatter" in found.contradiction
    assert not adjust("squeal", used(feed=60.0), "powder").contradiction


def test_evidence_follows_the_settings() -> None:
    for name, low, high in (
        ("rubbing", used(feed=700.0), used(feed=60.0)),
        ("chatter", used(depth=0.1), used(depth=2.0)),
        ("deflection", used(depth=0.1), used(depth=2.0)),
        ("power", used(depth=0.1), used(depth=5.0)),
        ("acceleration", used(feed=300.0), used(feed=3500.0)),
        (
            "runout",
            used(tooling(cutter="flat-6mm-2f"), feed=1500),
            used(tooling(cutter="flat-6mm-2f"), feed=100),
        ),
    ):
        assert evidence_for(low, name).score < evidence_for(high, name).score, name


def test_speed_is_tuned_to_the_tone() -> None:
    """Published rule n = 60 f / (z k): 950 Hz, one flute, gives 28 500, 19 000, 14 250 (see mechanics/stability)."""
    change = next_change(used(tone=950.0, depth=0.3), "speed-tune")
    assert isinstance(change, Change)
    assert change.settings.speed_rpm == pytest.approx(19000, rel=0.01)


def test_dialled_spindles_get_a_dial_mark() -> None:
    built = tooling("belt-small-trim-router", "plywood-birch", "flat-1-4in-2f")
    change = next_change(used(built, speed=26000, feed=2500, depth=2), "speed-down")
    assert isinstance(change, Change)
    assert change.settings.speed_rpm in {mark.rpm for mark in built.machine.spindle.dial}
    assert "dial at" in change.what


def test_words_find_their_symptom_and_unknown_ones_are_told() -> None:
    for key, symptom in symptoms().items():
        assert find_symptom(key)[0] == key
        assert find_symptom(key.upper())[0] == key
        del symptom
    assert find_symptom("chatter")[0] == "squeal"
    assert find_symptom("lost steps")[0] == "shifted"
    for text in ("", "quantum", "marks"):
        try:
            found = find_symptom(text)[0]
        except InputError as error:
            assert error.accepted
        else:
            assert found in symptoms()
    with pytest.raises(InputError) as caught:
        adjust("squeal", used(), "maybe")
    assert caught.value.field == "--answer" and "powder" in caught.value.accepted


def test_only_answers_for_the_material_are_offered() -> None:
    dust = symptoms()["dust"]
    assert {row.answer for row in answers_to(dust, "aluminium")} == {"metal"}
    assert {row.answer for row in answers_to(dust, "wood panel")} == {"wood", "board"}


def test_advised_settings_are_not_told_to_change_for_rubbing_or_power() -> None:
    built = tooling()
    s = advise(built, CutRequest("slot"), buys=False).settings
    now = used(built, speed=s.speed_rpm, feed=s.feed_mm_min, depth=s.axial_depth_mm)
    assert not now.over()
    assert evidence_for(now, "rubbing").score < 0.35 and evidence_for(now, "power").score < 0.3
