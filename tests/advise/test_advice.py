"""The advice: every limit holds, stiffness decides, given numbers are judged, rounding goes down."""

from __future__ import annotations

import numpy as np
import pytest

from millcalc.advise.advice import advise
from millcalc.errors import InputError
from millcalc.limits.build import make_tooling
from millcalc.limits.request import CutRequest
from millcalc.limits.table import LIMITS
from millcalc.limits.tooling import Tooling
from millcalc.tables import list_names, load_cutter, load_machine, load_material

MACHINES = list_names("machines")
MATERIALS = list_names("materials")


def tooling(
    machine: str = "gantry-800w", material: str = "al-6082-t6", cutter: str = "flat-6mm-1f", **changes: float
) -> Tooling:
    return make_tooling(load_machine(machine), load_material(material), load_cutter(cutter), **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize("machine", MACHINES)
@pytest.mark.parametrize("cut", ["slot", "side", "face", "ramp", "helix", "plunge"])
def test_every_limit_holds_where_the_advice_says_it_fits(machine: str, cut: str) -> None:
    for material in ("al-6082-t6", "acrylic-cast", "plywood-birch", "brass-free-machining"):
        answer = advise(tooling(machine, material), CutRequest(cut), buys=False)  # type: ignore[arg-type]
        if cut != "plunge":
            # nothing is in the log here, so nothing has failed
            assert {limit.key for limit in answer.limits} == {limit.key for limit in LIMITS} - {"failed-here"}
            assert [limit.key for limit in answer.limits if not limit.binds] == ["chatter"]
        holds = all(limit.used <= 1 + 1e-6 for limit in answer.limits if limit.binds)
        scrapes = cut == "plunge" and any(note.startswith("no: Z cannot push") for note in answer.notes)
        assert answer.fits == (holds and not scrapes)
        if cut == "plunge" and not answer.fits:
            # a light machine cannot push an end mill straight into metal: it is told to ramp
            assert {limit.key for limit in answer.limits if limit.used > 1} <= {"axis-thrust", "deflection"}
            assert any("a ramp" in note for note in answer.notes)
            continue
        assert answer.fits, (machine, material, cut, answer.notes)


@pytest.mark.parametrize("material", MATERIALS)
def test_every_material_gets_an_answer_on_the_middle_machine(material: str) -> None:
    answer = advise(tooling(material=material), CutRequest("slot"), buys=False)
    settings = answer.settings
    assert settings.feed_mm_min > 0 and settings.axial_depth_mm > 0 and settings.speed_rpm > 0
    assert np.isclose(
        settings.feed_mm_min,
        settings.feed_per_tooth_mm * settings.speed_rpm * answer.tooling.cutter.flutes,
        rtol=1e-6,
    )
    if not answer.fits:
        assert load_material(material).suitability == "not recommended"
        assert any("no setting holds" in note for note in answer.notes)


@pytest.mark.parametrize("cutter", list_names("cutters"))
def test_every_cutter_gets_an_answer_or_a_reason(cutter: str) -> None:
    kind = load_cutter(cutter).kind
    cut = "drill" if "drill" in kind else "face" if kind == "facing" else "slot"
    try:
        answer = advise(tooling(machine="gantry-1500w", cutter=cutter), CutRequest(cut), buys=False)  # type: ignore[arg-type]
    except InputError as error:
        assert error.found and error.accepted
        return
    assert answer.settings.axial_depth_mm > 0
    assert answer.fits or answer.notes


def test_weakest_and_stiffest_machine_differ_and_the_answer_says_why() -> None:
    """A soft frame is held back by deflection; a stiff one cuts at least twice as deep."""
    by_stiffness = sorted(MACHINES, key=lambda name: load_machine(name).stiffness_n_um.x)
    weak = advise(tooling(by_stiffness[0]), CutRequest("slot"))
    stiff = advise(tooling(by_stiffness[-1]), CutRequest("slot"))
    assert stiff.settings.axial_depth_mm >= 2 * weak.settings.axial_depth_mm
    assert weak.governing.key == "deflection"
    assert any(reason.startswith("stiffness: a frame half as stiff") for reason in weak.reasons)
    assert weak.compliance_um_n["frame"] > 0.8 * sum(weak.compliance_um_n.values())


def test_a_thin_cutter_is_its_own_limit_a_thick_one_the_frames() -> None:
    """Below about 3 mm the cutter's own stiffness governs, above about 4 mm the frame's (issue of the trade)."""
    thin = advise(tooling("belt-small-trim-router", cutter="flat-1-8in-1f"), CutRequest("slot"))
    thick = advise(tooling("belt-small-trim-router"), CutRequest("slot"))
    assert thin.holds["depth"] in ("deflection", "chip-room") and thick.holds["depth"] == "deflection"
    assert thin.compliance_um_n["cutter"] > 3 * thick.compliance_um_n["cutter"]


def test_shorter_stickout_and_raised_bed_are_computed() -> None:
    answer = advise(tooling("belt-small-trim-router", stickout_mm=28), CutRequest("slot"))
    changes = " | ".join(buy.change for buy in answer.buys)
    assert "bed raised" in changes
    for buy in answer.buys:
        assert buy.gain >= 1.08 and buy.depth_mm > 0
    raised = next(buy for buy in answer.buys if "bed raised" in buy.change)
    again = advise(
        tooling("belt-small-trim-router", stickout_mm=28, drop_mm=answer.tooling.drop_mm - 30),
        CutRequest("slot"),
        buys=False,
    )
    assert again.settings.axial_depth_mm == pytest.approx(raised.depth_mm)


def test_given_numbers_are_judged_not_replaced() -> None:
    answer = advise(
        tooling(), CutRequest("slot", axial_depth_mm=3.0, feed_mm_min=200, speed_rpm=18000), buys=False
    )
    assert answer.settings.axial_depth_mm == 3.0
    assert answer.settings.feed_mm_min == pytest.approx(200)
    assert answer.settings.speed_rpm == 18000
    assert not answer.fits
    assert answer.governing.used > 1
    assert set(answer.given) == {"ap", "feed", "rpm"}


def test_first_cut_keeps_a_reserve_and_proven_uses_it() -> None:
    first = advise(tooling("screw-desktop-300w"), CutRequest("slot"), buys=False)
    proven = advise(tooling("screw-desktop-300w"), CutRequest("slot", proven=True), buys=False)
    assert proven.removal_cm3_min > 1.3 * first.removal_cm3_min
    deflection = next(limit for limit in first.limits if limit.key == "deflection")
    assert deflection.share <= 0.6 + 1e-6


def test_a_narrow_cut_feeds_faster_to_keep_the_chip() -> None:
    """Chip thinning: at a tenth of the diameter the feed rises by 1 / (2 sqrt(0.09)) = 1.67."""
    narrow = advise(tooling(), CutRequest("side", radial_width_mm=0.6), buys=False)
    chip = next(limit for limit in narrow.limits if limit.key == "chip-load")
    assert narrow.settings.feed_per_tooth_mm / chip.demand == pytest.approx(1.667, rel=0.01)


def test_rounding_is_downwards_and_in_the_persons_units() -> None:
    metric = advise(tooling(), CutRequest("slot"), buys=False).settings
    assert metric.axial_depth_mm * 20 == pytest.approx(round(metric.axial_depth_mm * 20))
    assert metric.feed_mm_min % 5 == pytest.approx(0)
    inch = advise(tooling(), CutRequest("slot"), units="in", buys=False).settings
    thousandths = inch.axial_depth_mm / 25.4 * 500
    assert thousandths == pytest.approx(round(thousandths), abs=1e-6)


def test_dialled_spindle_gets_a_dial_step() -> None:
    answer = advise(tooling("belt-small-trim-router"), CutRequest("slot"), buys=False)
    dial = {mark.rpm: mark.mark for mark in answer.tooling.machine.spindle.dial}
    assert answer.settings.dial_mark == dial[answer.settings.speed_rpm]


@pytest.mark.parametrize(
    ("request_", "field"),
    [
        (CutRequest("side", radial_width_mm=7.0), "ae"),
        (CutRequest("slot", axial_depth_mm=-1.0), "ap"),
        (CutRequest("slot", axial_depth_mm=float("nan")), "ap"),
        (CutRequest("slot", axial_depth_mm=40.0), "ap"),
        (CutRequest("slot", speed_rpm=1000.0), "rpm"),
        (CutRequest("slot", feed_mm_min=0.0), "feed"),
        (CutRequest("helix", bore_mm=5.0), "bore"),
    ],
)
def test_impossible_requests_name_the_field(request_: CutRequest, field: str) -> None:
    with pytest.raises(InputError) as caught:
        advise(tooling(), request_)
    assert caught.value.field == field
    assert caught.value.found and caught.value.accepted


@pytest.mark.parametrize("stickout", [0.0, -3.0, 500.0])
def test_impossible_stickout(stickout: float) -> None:
    with pytest.raises(InputError):
        tooling(stickout_mm=stickout)


def test_slower_feed_hardly_lowers_the_force_but_halving_the_depth_halves_it() -> None:
    """The careful-looking mistake: the edge force stays (user needs 1.2: 22-30 % for half the chip)."""

    def peak(feed: float, depth: float) -> float:
        answer = advise(
            tooling(),
            CutRequest("slot", axial_depth_mm=depth, feed_mm_min=feed, speed_rpm=15000),
            buys=False,
        )
        return answer.ranges[0].nominal

    whole = peak(600.0, 1.0)
    assert 0.65 < peak(300.0, 1.0) / whole < 0.8
    assert peak(600.0, 0.5) / whole == pytest.approx(0.5, rel=5e-3)  # the helix lags over 11 degrees only


def test_drilling_pecks_and_judges_thrust() -> None:
    answer = advise(tooling(cutter="drill-3mm-hss"), CutRequest("drill", axial_depth_mm=6.0), buys=False)
    assert 0 < answer.settings.axial_depth_mm <= 3.0
    assert {"axis-thrust", "spindle-power", "chip-load"} <= {limit.key for limit in answer.limits}


def test_a_plunge_gets_the_plunge_feed_not_the_slots() -> None:
    """Straight down with an end mill: a share of the side feed, half a diameter a stroke."""
    slot = advise(tooling(), CutRequest("slot"), buys=False).settings
    plunge = advise(tooling(), CutRequest("plunge"), buys=False)
    assert plunge.fits
    assert plunge.settings.feed_mm_min <= 0.3 * slot.feed_mm_min
    assert plunge.settings.axial_depth_mm <= 3.0
    bold = advise(tooling(), CutRequest("plunge", feed_mm_min=slot.feed_mm_min), buys=False)
    assert not bold.fits and bold.settings.feed_mm_min == pytest.approx(slot.feed_mm_min)


def test_a_helix_removes_what_it_bores() -> None:
    """190 mm/min on a circle of 3 mm: 20.2 turns a minute, each pi/4 9^2 times the pitch (closed form)."""
    answer = advise(tooling(), CutRequest("helix", bore_mm=9.0), buys=False)
    s = answer.settings
    turns = s.feed_mm_min / (np.pi * 3.0)
    assert s.feed_mm_min == s.helix_feed_mm_min and s.axial_depth_mm == s.helix_pitch_mm
    assert answer.removal_cm3_min == pytest.approx(turns * np.pi / 4 * 81 * s.axial_depth_mm / 1000, rel=1e-9)


@pytest.mark.parametrize("feed", [900.0, 1200.0, 2000.0, 6000.0])
def test_a_given_feed_never_drives_the_depth_over_its_own_limits(feed: float) -> None:
    answer = advise(tooling(), CutRequest("slot", feed_mm_min=feed), buys=False)
    by_key = {limit.key: limit.used for limit in answer.limits}
    assert by_key["deflection"] <= 1 + 1e-6 and by_key["cutter-strength"] <= 1 + 1e-6


def test_drills_go_down_only_and_absurd_feeds_are_refused() -> None:
    with pytest.raises(InputError) as caught:
        advise(tooling(cutter="drill-3mm-hss"), CutRequest("slot"))
    assert caught.value.field == "cut"
    with pytest.raises(InputError) as caught:
        advise(tooling(), CutRequest("slot", feed_mm_min=1e9))
    assert caught.value.field == "feed"


def test_power_and_torque_agree() -> None:
    """P = M omega, both by Kienzle."""
    answer = advise(tooling(), CutRequest("slot"), buys=False)
    by_key = {limit.key: limit.demand for limit in answer.limits}
    omega = 2 * np.pi * answer.settings.speed_rpm / 60
    assert by_key["spindle-power"] == pytest.approx(by_key["spindle-torque"] * omega, rel=1e-9)
