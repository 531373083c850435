"""More never buys less: a stiffer frame, a shorter stickout, a smaller drop, more power, a softer material."""

from __future__ import annotations

import os

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.advise.solve import find
from millcalc.errors import InputError
from millcalc.limits.build import make_tooling
from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.tables import list_names, load_cutter, load_machine, load_material

MACHINES = [name for name in list_names("machines") if not name.startswith("belt")]
MATERIALS = (
    "al-6082-t6",
    "al-7075-t6",
    "brass-free-machining",
    "acrylic-cast",
    "mdf",
    "hardwood-dense",
    "g10-fr4",
)
CUTTERS = ("flat-2mm-1f", "flat-1-8in-1f", "flat-6mm-1f", "flat-6mm-2f", "flat-8mm-2f")
ALL = bool(os.environ.get("MILLCALC_ALL"))
EXAMPLES = 60 if ALL else 3
# what rounding to settable steps of depth, width and feed may take away [-]
ROUNDING = 0.06


def removal(tooling: Tooling, cut: str) -> float:
    """Removal rate of the advised setting, 0 where none holds [mm3/min]."""
    point, fits = find(tooling, CutRequest(cut))  # type: ignore[arg-type]
    return point.removal(tooling) if fits else 0.0


@st.composite
def toolings(draw: st.DrawFn) -> tuple[Tooling, str]:
    machine, cutter = (
        load_machine(draw(st.sampled_from(MACHINES))),
        load_cutter(draw(st.sampled_from(CUTTERS))),
    )
    material = load_material(draw(st.sampled_from(MATERIALS)))
    stickout = cutter.flute_length_mm * draw(st.floats(1.1, 1.5))
    drop = machine.drop_mm * draw(st.floats(0.7, 1.3))
    try:
        made = make_tooling(machine, material, cutter, stickout_mm=stickout, drop_mm=drop)
    except InputError:
        made = make_tooling(machine, material, cutter)
    return made, draw(st.sampled_from(["slot", "side", "face"]))


@settings(max_examples=EXAMPLES, deadline=None)
@given(toolings(), st.floats(1.1, 3.0))
def test_a_stiffer_frame_never_removes_less(case: tuple[Tooling, str], factor: float) -> None:
    tooling, cut = case
    axes = tooling.machine.stiffness_n_um
    stiff = axes.model_copy(update={axis: getattr(axes, axis) * factor for axis in "xyz"})
    stiffer = tooling.with_changes(machine=tooling.machine.model_copy(update={"stiffness_n_um": stiff}))
    assert removal(stiffer, cut) >= (1 - ROUNDING) * removal(tooling, cut)


@settings(max_examples=EXAMPLES, deadline=None)
@given(toolings(), st.floats(0.6, 0.95))
def test_a_shorter_stickout_or_drop_never_removes_less(case: tuple[Tooling, str], factor: float) -> None:
    tooling, cut = case
    before = removal(tooling, cut)
    lower = tooling.with_changes(drop_mm=tooling.drop_mm * factor)
    assert removal(lower, cut) >= (1 - ROUNDING) * before
    # no shorter than the flutes, so that the room below the collet stays what it was
    shorter = tooling.with_changes(
        stickout_mm=max(tooling.stickout_mm * factor, tooling.cutter.flute_length_mm + 2)
    )
    if shorter.stickout_mm < tooling.stickout_mm:
        assert removal(shorter, cut) >= (1 - ROUNDING) * before


@settings(max_examples=EXAMPLES, deadline=None)
@given(toolings(), st.floats(1.1, 3.0))
def test_more_power_never_removes_less(case: tuple[Tooling, str], factor: float) -> None:
    tooling, cut = case
    spindle = tooling.machine.spindle
    points = tuple(p.model_copy(update={"power_w": p.power_w * factor}) for p in spindle.power)
    strong = tooling.machine.model_copy(update={"spindle": spindle.model_copy(update={"power": points})})
    assert removal(tooling.with_changes(machine=strong), cut) >= (1 - ROUNDING) * removal(tooling, cut)


@pytest.mark.parametrize("machine", MACHINES[:: 1 if ALL else 3])
@pytest.mark.parametrize("cutter", CUTTERS[:: 1 if ALL else 2])
def test_a_harder_alloy_of_one_family_never_removes_more(machine: str, cutter: str) -> None:
    """7075 takes more force than 6082, and gets no more; 1050, 5083 and 6061 get no less than it."""

    def of(material: str) -> float:
        return removal(
            make_tooling(load_machine(machine), load_material(material), load_cutter(cutter)), "slot"
        )

    hard = of("al-7075-t6")
    assert hard <= of("al-6082-t6") * (1 + ROUNDING)
    for softer in ("al-5083", "al-6061-t6"):
        assert of(softer) >= hard * (1 - ROUNDING)


@pytest.mark.parametrize(
    "cutter", [n for n in list_names("cutters") if load_cutter(n).kind in ("flat", "ball", "bull-nose")]
)
def test_every_milling_cutter_has_a_setting_in_every_material_or_says_why_not(cutter: str) -> None:
    """On at least one shipped machine a slot or a side cut fits; a material that refuses the cutter says so."""
    missing = []
    for material in list_names("materials")[:: 1 if ALL else 20]:
        for machine in ("gantry-800w", "gantry-2200w", "bench-mill-small"):
            try:
                tooling = make_tooling(load_machine(machine), load_material(material), load_cutter(cutter))
            except InputError as error:
                assert error.accepted
                break
            if any(find(tooling, CutRequest(cut))[1] for cut in ("slot", "side")):  # type: ignore[arg-type]
                break
        else:
            missing.append(material)
    assert not missing
