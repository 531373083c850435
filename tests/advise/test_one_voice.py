"""One number, one answer: the same question asked through settings, check, adjust and alternatives."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from millcalc.advise.adjust import adjust
from millcalc.advise.adjust_evidence import InUse
from millcalc.advise.advice import advise
from millcalc.advise.result import Advice
from millcalc.check.prepare import CheckOptions, make_context
from millcalc.errors import InputError
from millcalc.findings import Finding
from millcalc.limits.build import make_tooling
from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.preflight import run_rules
from millcalc.preflight.context import Context
from millcalc.preflight.entry_feed import most_down_mm_min, slow_down_mm_min
from millcalc.preflight.limits import limits
from millcalc.report.settings_text import why_lines
from millcalc.tables import list_names, load_cutter, load_machine, load_material
from tests.helpers.command import flat, run
from tests.preflight.test_slopes import context


def tooling(
    material: str = "al-6061-t6", cutter: str = "flat-6mm-1f", machine: str = "gantry-800w", **more: float
) -> Tooling:
    return make_tooling(load_machine(machine), load_material(material), load_cutter(cutter), **more)  # type: ignore[arg-type]


def asked(cut: str, built: Tooling | None = None, *, buys: bool = False, **more: float | bool) -> Advice:
    return advise(built or tooling(), CutRequest(cut, **more), buys=buys)  # type: ignore[arg-type]


# -- A1: the plunge ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("proven", [False, True])
@pytest.mark.parametrize(("material", "cutter"), [("al-6061-t6", "flat-6mm-1f"), ("mdf", "flat-1-8in-2f"),
                                                  ("brass-free-machining", "flat-3mm-2f")])  # fmt: skip
def test_a_plunge_is_one_number_in_every_command(material: str, cutter: str, proven: bool) -> None:
    built = tooling(material, cutter)
    slot, plunge, drill = (asked(cut, built, proven=proven).settings for cut in ("slot", "plunge", "drill"))
    assert slot.plunge_feed_mm_min == plunge.feed_mm_min == drill.feed_mm_min
    assert slot.speed_rpm == plunge.speed_rpm == drill.speed_rpm


def test_the_check_of_a_plunge_and_its_remedy_are_the_numbers_of_settings() -> None:
    ctx: Context = context("G0 X40 Y40\nG1 Z-0.5 F900\nG0 Z5")
    setup = ctx.setup
    assert setup is not None and setup.machine is not None and setup.material is not None
    cutter = setup.cutters[1].cutter
    built = tooling(setup.material.name, cutter.name, setup.machine.name)
    rpm = float(ctx.facts.rpm[ctx.facts.first_cut])
    bound = limits(ctx, 1)
    assert bound is not None
    most = asked("plunge", built, speed_rpm=rpm, proven=True).settings.feed_mm_min
    first = asked("plunge", built, speed_rpm=rpm).settings.feed_mm_min
    top = most_down_mm_min(ctx, 1, bound, cutter.flutes, ctx.facts.rpm[[ctx.facts.first_cut]])[0]
    assert top == pytest.approx(most, rel=0.1) and slow_down_mm_min(ctx, 1, rpm) == pytest.approx(
        first, rel=0.1
    )


# -- A2: what holds a number, and what would buy more ----------------------------------------------------------


def test_a_feed_held_below_its_band_by_bending_is_not_said_to_be_held_by_its_chip() -> None:
    answer = asked("side", axial_depth_mm=5.0)
    chip = next(limit for limit in answer.limits if limit.key == "chip-load")
    assert chip.used < 0.5 and answer.holds["feed"] == "deflection"
    (feed,) = [line for line in answer.reasons if line.startswith("feed")]
    assert "thinned from 0.041 mm a tooth by the narrow cut" in feed
    assert "below the band, held back by deflection" in feed
    assert "feed and nearest to the depth given: deflection, 32 µm of 50 µm" in " ".join(why_lines(answer))


def test_a_cut_beyond_the_limits_never_says_that_every_limit_is_held() -> None:
    answer = asked("side", axial_depth_mm=6.0, feed_mm_min=600.0)
    assert not answer.fits
    assert not any("every limit held" in reason for reason in answer.reasons)


@pytest.mark.parametrize(
    "given",
    [{"axial_depth_mm": 0.5}, {"feed_mm_min": 300.0}, {"speed_rpm": 11000.0}, {"radial_width_mm": 1.0}],
)
def test_what_would_buy_more_keeps_what_was_given(given: dict[str, float]) -> None:
    answer = asked("side", buys=True, **given)
    assert answer.fits
    for buy in answer.buys:
        if "axial_depth_mm" in given:
            assert buy.depth_mm == 0.5, buy
        if "feed_mm_min" in given:
            assert buy.feed_mm_min == pytest.approx(300.0), buy
        if "speed_rpm" in given:
            assert buy.speed_rpm == 11000.0, buy
        assert "another spindle speed" not in buy.change and "another width" not in buy.change


# -- A3: bands and stickout ---------------------------------------------------------------------------------


@pytest.mark.parametrize("machine", ["gantry-800w", "gantry-2200w"])
def test_an_advised_chip_below_its_band_is_told_with_the_limit_that_holds_it(machine: str) -> None:
    for material in list_names("materials"):
        try:
            built = tooling(material, "flat-6mm-1f", machine)
        except InputError:
            continue
        answer = asked("slot", built)
        chip = next(limit for limit in answer.limits if limit.key == "chip-load")
        if chip.demand < built.chip_band_mm("slot")[0] * (1 - 1e-9):
            assert any("below the band, held back by" in reason for reason in answer.reasons), material


def test_mdf_gets_a_chip_within_its_band() -> None:
    for cut in ("slot", "side"):
        answer = asked(cut, tooling("mdf"))
        chip = next(limit for limit in answer.limits if limit.key == "chip-load")
        assert 0.15 <= chip.demand <= 0.36


def test_a_stickout_that_puts_the_flutes_into_the_collet_is_refused() -> None:
    with pytest.raises(InputError, match="flutes of 20 mm") as caught:
        asked("slot", tooling(stickout_mm=3.0))
    assert (
        caught.value.field == "stickout"
        and "at least the length of the flutes, 20 mm" in caught.value.accepted
    )
    assert asked("slot", tooling(stickout_mm=20.0)).fits
    for buy in asked("slot", tooling(stickout_mm=30.0), buys=True).buys:
        if buy.change.startswith("stickout"):
            assert float(buy.change.split("→")[1].split()[0]) >= 20.0


# -- A8: one budget, whoever gives the number ------------------------------------------------------------------


@pytest.mark.parametrize(("name", "more"), [("speed_rpm", 1.0), ("feed_mm_min", 1.0)])
def test_a_given_number_is_judged_by_the_budget_the_advice_keeps(name: str, more: float) -> None:
    advised = asked("slot")
    own = getattr(advised.settings, name)
    assert asked("slot", **{name: own * more}).fits
    beyond = asked("slot", **{name: own * 1.25})
    assert not beyond.fits
    assert "all of each limit would hold them, a first cut keeps a reserve (--proven)" in beyond.notes[0]
    assert asked("slot", proven=True, **{name: own * 1.25}).fits
    free = {limit.key: limit.limit for limit in advised.limits}
    judged = {limit.key: limit.limit for limit in beyond.limits}
    assert all(judged[key] == pytest.approx(free[key], rel=0.15) for key in ("cutting-speed", "chip-load"))


def test_a_given_feed_is_shown_as_it_was_given(tmp_path: Path) -> None:
    of = ["--machine", "gantry-800w", "--cutter", "flat-6mm-1f", "--material", "al-6061-t6"]
    shown = run(["settings", *of, "--feed", "347"], tmp_path).stdout
    assert "feed                347 mm/min" in shown
    assert (
        "feed 347 mm/min: given by you" in run(["settings", *of, "--feed", "347", "--more"], tmp_path).stdout
    )
    told = run(
        ["adjust", "squeal", "--answer", "powder", *of, "--feed", "347", "--ap", "0.47"], tmp_path
    ).stdout
    assert "347 mm/min (chip load" in told and "depth 0.47 mm" in told


def spoken(
    rpm: float, feed: float, depth: float, y: float = 40.0, proven: bool = False
) -> dict[str, Finding]:
    """What the check says of a straight cut of the plate by chip and cutting speed; from Y-2 on a side cut."""
    from tests.preflight.test_slopes import HEAD, SETUP, TAIL

    setup = replace(SETUP, job=SETUP.job.model_copy(update={"proven": proven}))
    moves = f"G0 X-8 Y{y:g}\nG0 Z-{depth:g}\nG1 X128 F{feed:g}"
    text = HEAD.replace("S18000", f"S{rpm:.0f}") + moves + TAIL
    ctx = make_context(text.encode(), "p.nc", setup, CheckOptions(cell_mm=0.2))
    return {f.code: f for f in run_rules(ctx).findings if f.code in ("FEED-03", "SPIN-08")}


def test_what_settings_refuses_the_check_speaks_of_with_the_same_number() -> None:
    advised = asked("slot")
    s, limit = advised.settings, {one.key: one.limit for one in advised.limits}
    assert spoken(s.speed_rpm, s.feed_mm_min, 0.3) == {}
    fast = spoken(s.speed_rpm, 1.25 * s.feed_mm_min, 0.3)["FEED-03"]
    assert not asked("slot", feed_mm_min=1.25 * s.feed_mm_min).fits
    assert fast.severity.word == "note" and fast.limit == pytest.approx(limit["chip-load"])
    assert "a first cut stays at 0.03 mm" in fast.fact and fast.action.startswith(
        "F 390 mm/min keeps 0.03 mm"
    )
    turned = spoken(1.25 * s.speed_rpm, s.feed_mm_min, 0.3)["SPIN-08"]
    assert not asked("slot", speed_rpm=1.25 * s.speed_rpm).fits
    assert turned.severity.word == "note" and turned.limit == pytest.approx(limit["cutting-speed"], rel=1e-3)
    assert "above the 260 m/min of a first cut" in turned.fact
    assert spoken(1.25 * s.speed_rpm, 1.25 * s.feed_mm_min, 0.3, proven=True) == {}


def test_a_number_a_hair_beyond_a_first_cut_reads_beyond_it() -> None:
    """6 mm: 262.5 m/min and 0.03 mm; 14000 rev/min is 263.9 m/min, 420 mm/min at 13900 rev/min 0.0302 mm."""
    fast = spoken(14000, 400, 0.3)["SPIN-08"].fact
    assert "264 m/min at the edge, above the 262 m/min of a first cut" in fast
    thick = spoken(13900, 420, 0.3)["FEED-03"]
    assert "0.0302 mm a tooth at F 420 mm/min and 13900 rpm; a first cut stays at 0.03 mm" in thick.fact
    assert thick.action.startswith("F 410 mm/min keeps 0.03 mm a tooth")


def test_a_proven_side_cut_is_held_against_the_band_of_side_cuts() -> None:
    """0.09 mm a tooth, which a side cut of 6 mm bears; as a slot the band ends at 0.054 mm."""
    assert asked("side", proven=True, radial_width_mm=0.6, axial_depth_mm=0.5).settings.feed_mm_min > 2000
    assert spoken(18000, 1500, 0.3, y=-2.4, proven=True) == {}
    assert spoken(18000, 1500, 0.3, proven=True)["FEED-03"].severity.word == "warning"


# -- A9: the remedy is that of the likeliest cause, within the limits -------------------------------------------


def test_an_answer_that_the_numbers_contradict_does_not_raise_the_feed() -> None:
    built = tooling()
    s = asked("slot", built).settings
    used = InUse(built, "slot", s.speed_rpm, s.feed_mm_min, s.axial_depth_mm, s.radial_width_mm)
    found = adjust("squeal", used, "powder")
    assert "speak against rubbing" in found.contradiction
    first = found.causes[0]
    assert first.row.cause == "a dull or chipped edge" and "a new cutter" in first.row.then
    for cause in found.causes:
        for change in cause.changes:
            assert change.settings.feed_mm_min <= s.feed_mm_min and not change.settings.over()
        if cause.row.evidence == "plunge":
            assert f"at most {s.plunge_feed_mm_min:.0f} mm/min is right" in cause.evidence.text


# -- A10: what a point takes off ------------------------------------------------------------------------------


def test_the_groove_of_a_pointed_cutter_is_a_triangle() -> None:
    built = tooling("mdf", "vee-90-6mm")
    answer = asked("slot", built, axial_depth_mm=2.0)
    s, tip = answer.settings, built.cutter.tip_diameter_mm
    area = 2.0 * (tip + min(tip + 2 * 2.0, built.cutter.diameter_mm)) / 2
    assert answer.removal_cm3_min == pytest.approx(area * s.feed_mm_min / 1000, rel=0.02)
    assert built.stickout_mm == 15.0


def test_the_groove_of_a_ball_is_a_segment_of_a_circle() -> None:
    """Half a circle at a depth of the radius: pi r^2 / 2."""
    built = tooling("mdf", "ball-6mm-2f")
    assert built.section_mm2(3.0, 6.0) == pytest.approx(3.14159 * 9 / 2, rel=0.01)


def test_the_command_refuses_flutes_in_the_collet_and_names_the_remedy(tmp_path: Path) -> None:
    of = [
        "--machine",
        "gantry-800w",
        "--cutter",
        "flat-6mm-1f",
        "--material",
        "al-6061-t6",
        "--stickout",
        "3",
    ]
    done = run(["settings", *of], tmp_path)
    assert done.returncode == 2 and "at least the length of the flutes, 20 mm" in flat(done.stderr)


@pytest.mark.parametrize(("word", "taken", "other"), [("brass", "brass-free-machining", "brass-cartridge"),
                                                      ("acrylic", "acrylic-cast", "acrylic-extruded")])  # fmt: skip
def test_a_word_for_several_sorts_says_which_is_taken(
    tmp_path: Path, word: str, taken: str, other: str
) -> None:
    done = run(
        ["settings", "--machine", "gantry-800w", "--cutter", "flat-3mm-1f", "--material", word], tmp_path
    )
    assert f"{word}: taken as {taken}; if yours is another, say {other}" in done.stderr
    exact = run(
        ["settings", "--machine", "gantry-800w", "--cutter", "flat-3mm-1f", "--material", taken], tmp_path
    )
    assert exact.stderr == "" and exact.stdout == done.stdout


# -- one answer in settings, adjust and check for a job that says proven, and for a log that has taught ---------------

JOB = """
machine: gantry-800w
material: al-6061-t6
proven: true
stock: {size_x: 80 mm, size_y: 60 mm, thickness: 20 mm}
zero: {xy: front-left, z: stock top, work_offset: G54}
cutters: {T1: {cutter: flat-6mm-1f, stickout: 22 mm}}
"""


def test_a_proven_job_is_proven_in_settings_and_in_what_adjust_fills_in(tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    whole, first = (asked("slot", proven=proven).settings for proven in (True, False))
    assert whole.feed_mm_min > 2 * first.feed_mm_min
    for more, made in (([], whole), (["--first-cut"], first)):
        done = run(["settings", "--job", "job.yaml", *more], tmp_path)
        assert (
            f"{made.feed_mm_min:.0f} mm/min" in done.stdout and f"{made.axial_depth_mm:g} mm" in done.stdout
        )
        told = run(["adjust", "squeal", "--answer", "powder", "--job", "job.yaml", *more], tmp_path)
        assert f"in use: slot, {made.speed_rpm:.0f} rpm, {made.feed_mm_min:.0f} mm/min" in " ".join(
            told.stdout.split()
        ), told.stdout
        assert "not given, so the advised value is taken for: rpm, feed, ap" in told.stdout


def test_adjust_and_alternatives_hear_the_log_as_settings_do(tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    s = asked("slot", proven=True).settings
    typed = ["--rpm", f"{s.speed_rpm:.0f}", "--feed", f"{s.feed_mm_min:.0f}", "--ap", f"{s.axial_depth_mm:g}"]
    run(["log", "add", "--machine", "gantry-800w", "--material", "al-6061-t6", "--cutter", "flat-6mm-1f", *typed,
         "--outcome", "failed", "--symptom", "chatter"], tmp_path)  # fmt: skip
    now = run(["settings", "--job", "job.yaml", "--json"], tmp_path).stdout
    depth = json.loads(now)["settings"]["axial_depth_mm"]
    assert depth <= 0.75 * s.axial_depth_mm
    told = run(["adjust", "squeal", "--answer", "powder", "--job", "job.yaml"], tmp_path).stdout
    assert f"depth {depth:g} mm" in told
    ways = {
        no: run(["alternatives", "--job", "job.yaml", *no], tmp_path).stdout for no in ((), ("--no-learn",))
    }
    assert f"{s.axial_depth_mm:g} mm" in ways["--no-learn",] and ways[()] != ways["--no-learn",]
