"""What an unknown metal may be: by hand for pieces that are known, and that nothing lets magnesium through."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.advise.identify import Answers, identify
from millcalc.advise.metals import metals
from millcalc.tables import load_material, load_sources

ALUMINIUM = tuple(alloy.material for alloy in metals()["aluminium"].alloys)
MAGNET = st.sampled_from([None, "sticks", "no"])
VINEGAR = st.sampled_from([None, "bubbles", "none"])
BEND = st.sampled_from([None, "flat", "springs", "cracks"])
DRILL = st.sampled_from([None, "strings", "short"])


def weighed(density: float, share: float = 0.02) -> tuple[float, float, float]:
    return density * (1 - share), density, density * (1 + share)


@pytest.mark.parametrize(
    ("density", "magnet", "verdict", "families"),
    [
        (1740, None, "refuse", {"magnesium"}),
        (1740, "no", "refuse", {"magnesium"}),
        (2700, None, "known", {"aluminium"}),
        (4500, None, "refuse", {"titanium"}),
        (11_340, None, "refuse", {"lead"}),
        (2200, None, "nothing", set()),
        (3500, None, "nothing", set()),
        (7850, "sticks", "unclear", {"steel", "stainless"}),
        (8500, "no", "unclear", {"brass", "bronze"}),
        (2700, "sticks", "nothing", set()),
    ],
)
def test_pieces_of_known_density(density: float, magnet: str, verdict: str, families: set[str]) -> None:
    found = identify(Answers(weighed(density, 0.01), magnet))  # type: ignore[arg-type]
    assert found.verdict == verdict and set(found.families) == families
    assert bool(found.materials) == (verdict in ("known", "unclear"))


def test_every_alloy_of_the_tables_stays_possible_for_its_own_piece() -> None:
    """A solid piece of any row, weighed within 2 %, keeps its row, whatever it may answer."""
    for metal in metals().values():
        for alloy in metal.alloys:
            density = load_material(alloy.material).density_kg_m3.value
            for bend in alloy.bend:
                for drill in alloy.drill:
                    found = identify(Answers(weighed(density), None, None, bend, drill))
                    assert alloy.material in found.materials, (alloy.material, bend, drill)


def test_a_piece_with_holes_never_loses_the_heavier_alloys() -> None:
    """A light reading, as holes give it, leaves out nothing; a heavy one leaves out the light alloys."""
    assert identify(Answers(weighed(2640, 0.005))).materials == ALUMINIUM
    heavy = identify(Answers(weighed(2830, 0.005)))
    assert "al-7075-t6" in heavy.materials and "al-1050" not in heavy.materials


def test_bending_and_drilling_narrow_and_contradictions_do_not() -> None:
    flat = identify(Answers(weighed(2700), bend="flat", drill="strings"))
    assert flat.materials == ("al-1050", "al-5754", "al-5083")
    cracks = identify(Answers(weighed(2700), bend="cracks"))
    assert not {"al-1050", "al-5754", "al-5083"} & set(cracks.materials)
    assert {"al-7075-t6", "al-cast-plate", "al-2017"} <= set(cracks.materials), "these cannot be told apart"
    odd = identify(Answers(weighed(2850, 0.001), bend="flat"))
    assert odd.materials == ALUMINIUM and "contradict" in odd.reasons[-1]


@settings(deadline=None, max_examples=60)
@given(
    density=st.floats(1730, 1850),
    share=st.floats(0, 0.3),
    read=st.floats(-1, 1),
    magnet=st.sampled_from([None, "no"]),
    vinegar=VINEGAR,
    bend=BEND,
    drill=DRILL,
)
def test_magnesium_is_never_let_through(
    density: float, share: float, read: float, magnet: str, vinegar: str, bend: str, drill: str
) -> None:
    """Whatever is read within the stated range of true magnesium, and whatever else is answered."""
    middle = density / (1 + read * share)
    found = identify(
        Answers((middle * (1 - share), middle, middle * (1 + share)), magnet, vinegar, bend, drill)  # type: ignore[arg-type]
    )
    if found.answers.density_kg_m3[0] <= density <= found.answers.density_kg_m3[2]:  # type: ignore[index]
        assert found.verdict == "refuse" and not found.materials


@settings(deadline=None, max_examples=30)
@given(magnet=MAGNET, vinegar=VINEGAR, bend=BEND, drill=DRILL)
def test_without_a_weight_nothing_light_is_settled(magnet: str, vinegar: str, bend: str, drill: str) -> None:
    found = identify(Answers(None, magnet, vinegar, bend, drill))  # type: ignore[arg-type]
    if magnet == "sticks":
        assert "magnesium" not in found.families
    else:
        assert found.verdict in ("weigh", "refuse") and not found.materials
        assert any("--weight" in test for test in found.next_tests)


@settings(deadline=None, max_examples=40)
@given(density=st.floats(1000, 12_000), share=st.floats(0.001, 0.1), bend=BEND, drill=DRILL, magnet=MAGNET)
def test_a_test_more_never_adds_an_alloy(
    density: float, share: float, bend: str, drill: str, magnet: str
) -> None:
    before = identify(Answers(weighed(density, share)))
    after = identify(Answers(weighed(density, share), magnet, None, bend, drill))  # type: ignore[arg-type]
    if not any("contradict" in reason for reason in after.reasons):
        assert set(after.materials) <= set(before.materials)
    assert set(after.families) <= set(before.families)


def test_bubbles_on_a_light_metal_refuse_it() -> None:
    found = identify(Answers(weighed(2700), vinegar="bubbles"))
    assert found.verdict == "refuse" and "magnesium" in found.families
    assert identify(Answers(weighed(7000), vinegar="bubbles")).verdict != "refuse", "zinc may bubble"
    assert identify(Answers(weighed(2700), vinegar="none")).verdict == "known"


def test_every_row_has_a_source_and_every_alloy_is_in_the_tables() -> None:
    known = load_sources()
    for metal in metals().values():
        assert metal.source in known and metal.density_kg_m3.source in known
        assert metal.density_kg_m3.low < metal.density_kg_m3.high
        for alloy in metal.alloys:
            row = load_material(alloy.material)
            assert row.grade_known
            assert metal.density_kg_m3.low <= row.density_kg_m3.value <= metal.density_kg_m3.high
