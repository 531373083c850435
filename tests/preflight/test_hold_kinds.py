"""Tape, vacuum, vice, side clamps, unlisted screws, tabs and skins: the number, the remedy, and the remedy obeyed.

Expected strengths are worked by hand from Coulomb friction, the definitions of pressure and shear and the Wood
Handbook's withdrawal (from memory); forces of the cut are taken from the program's own sentence, so that the balance
is checked, not the cutting force.
"""

from __future__ import annotations

import math
import re

import pytest

from millcalc.errors import InputError
from millcalc.findings import Finding, NotChecked, Severity
from millcalc.job import parse_job
from millcalc.job.models import Hold, Job
from millcalc.preflight import all_rules, run_rules
from millcalc.preflight.hold_kinds import hold_words, strength
from tests.preflight.test_cases import context

RULE = next(rule for rule in all_rules() if rule.code == "FORCE-06")
CUT = "$H / G1 Z-1 F60 / G1 X50 F300"


def judged(
    hold: object, program: str = CUT, screws: object = (), **more: object
) -> tuple[list[Finding], list[NotChecked]]:
    changes = {"screws": list(screws) if isinstance(screws, tuple) else screws, "hold": hold, **more}
    if screws is None:
        del changes["screws"]
    outcome = run_rules(context({"with": changes, "p": program}), rules=(RULE,))
    return list(outcome.findings), list(outcome.not_checked)


def numbers(text: str) -> list[float]:
    return [float(one) for one in re.findall(r"\d+(?:\.\d+)?", text)]


@pytest.mark.parametrize(
    ("hold", "side", "lift", "turning"),
    [
        # tau A / 2; a quarter of it upwards; 0.38260 of the side of a square about its middle
        (
            {"kind": "tape", "area_mm2": 6000, "shear_n_mm2": 0.1},
            300.0,
            75.0,
            300 * 0.38260 * math.sqrt(6000),
        ),
        ({"kind": "tape", "area_mm2": 6000}, 150.0, 37.5, 150 * 0.38260 * math.sqrt(6000)),
        # p A / 2 upwards, mu of it sideways
        (
            {"kind": "vacuum", "area_mm2": 10_000, "pressure_n_mm2": 0.07, "friction": 0.3},
            105.0,
            350.0,
            105 * 38.260,
        ),
        ({"kind": "vacuum", "area_mm2": 10_000, "pressure_n_mm2": 0.07}, 70.0, 350.0, 70 * 38.260),
        # 2 mu F / 2, both ways
        ({"kind": "vice", "force_n": 1500, "friction": 0.15}, 225.0, 225.0, 0.0),
        ({"kind": "side clamps", "force_n": 400}, 80.0, 80.0, 0.0),
        # 0.3 * 108.25 * (0.56 / 1.12)^2 * 4 * 20 = 649.5 N; over 5.51: 117.9 N each; friction 0.25
        (
            {"kind": "waste screws", "count": 4, "shank_diameter_mm": 4, "depth_in_bed_mm": 20},
            4 * 117.88 * 0.25,
            4 * 117.88,
            0.0,
        ),
    ],
)
def test_what_each_bears(hold: dict[str, object], side: float, lift: float, turning: float) -> None:
    job = Job.model_validate({"bed": {"wood_density_kg_m3": 560.0}})
    found = strength(Hold.model_validate(hold), job)
    assert (found.side_n, found.lift_n) == (pytest.approx(side, rel=1e-4), pytest.approx(lift, rel=1e-4))
    assert found.turning_n_mm == pytest.approx(turning, rel=1e-4)


@pytest.mark.parametrize(
    ("hold", "words", "remedy"),
    [
        ({"kind": "tape", "area": "12 cm2"}, "tape, 12 cm2 may", r"(\d+) cm2 of tape"),
        (
            {"kind": "vacuum", "area": "30 cm2", "pressure": "80 kPa", "friction": 0.4},
            "vacuum, 30 cm2 at 80 kPa may",
            r"(\d+) cm2 of vacuum",
        ),
        ({"kind": "vice", "force": "150 N"}, "vice, pressing with 150 N may", r"press the vice with (\d+) N"),
        (
            {"kind": "side clamps", "force": "150 N"},
            "side clamps, press",
            r"press the side clamps with (\d+) N",
        ),
        (
            {"kind": "waste screws", "count": 2, "shank_diameter": 4, "depth_in_bed": 8},
            "2 screws through the waste may",
            r"(\d+) screws through the waste",
        ),
    ],
)
def test_the_remedy_is_enough_and_no_more(hold: dict[str, object], words: str, remedy: str) -> None:
    ((finding,), _) = judged([hold])
    assert words in finding.fact and finding.unit == "%"
    assert f"the cut is {round(finding.measured or 0)} % of it" in finding.fact
    told = re.match(remedy, finding.action)
    assert told is not None, finding.action
    name, unit, step = {
        "tape": ("area", " cm2", 1), "vacuum": ("area", " cm2", 1), "vice": ("force", " N", 50),
        "side clamps": ("force", " N", 50), "waste screws": ("count", "", 1),
    }[str(hold["kind"])]  # fmt: skip

    def with_(value: int) -> list[Finding]:
        return judged([{**hold, name: f"{value}{unit}" if unit else value}])[0]

    assert not with_(int(told[1]))
    assert with_(int(told[1]) - step)


def test_the_share_is_the_sum_of_its_parts() -> None:
    """Vice: side over 2 mu F / 2 and lift over the same; read from the sentence, which rounds to two digits."""
    ((finding,), (turn,)) = judged([{"kind": "vice", "force": "100 N", "friction": 0.2}])
    side, lift = numbers(finding.fact)[:2]
    assert finding.measured == pytest.approx(100 * (side + lift) / 20.0, rel=0.03)
    assert turn.what == "whether the work can turn"


def test_no_more_vacuum_than_the_stock_has_room_for() -> None:
    """The stock has 80 cm2; more is no remedy."""
    ((finding,), _) = judged([{"kind": "vacuum", "area": "50 cm2", "pressure": "60 kPa"}])
    assert finding.action == "shallower passes, or screws or clamps besides"


def test_turning_counts() -> None:
    """The same cut through the middle of the stock asks less of tape than one 35 mm beside it."""
    here = "G21 G90 G17 G94 G54 / M3 S18000 / G4 P5 / G0 Z5 / G0 X49 Y40 / G1 Z-1 F60 / G1 X51 F300"
    beside = here.replace("Y40", "Y75")
    tape = [{"kind": "tape", "area": "5 cm2"}]
    ((near,), _), ((far,), _) = judged(tape, here), judged(tape, beside)
    assert "35 mm from the middle of the stock" in far.fact
    # 12.5 N over 8.555 mm of mean arm
    side = numbers(far.fact)[0]
    extra = 100 * side * (math.hypot(1, 35) - 1) / (12.5 * 0.3826 * math.sqrt(500))
    assert (far.measured or 0) - (near.measured or 0) == pytest.approx(extra, rel=0.03)


def test_the_reader_can_add_it_up() -> None:
    """Side, lift and turning, each over what is held of it: the sentence's own numbers give its share."""
    ((finding,), _) = judged([{"kind": "tape", "area": "12 cm2"}])
    told = re.search(
        r"for (\S+) N along the table and (\S+) N of lift, .* for "
        r"(\S+) N sideways, (\S+) N upwards, (\S+) N turning it",
        finding.fact,
    )
    assert told is not None, finding.fact
    side, lift, holds_side, holds_lift, holds_turning = map(float, told.groups())
    share = side / holds_side + lift / holds_lift + side / holds_turning
    assert finding.measured == pytest.approx(100 * share, rel=0.06)


def test_they_add_up() -> None:
    """Tape alone and vacuum alone are too little; together they are enough."""
    tape, vacuum = (
        {"kind": "tape", "area": "24 cm2"},
        {"kind": "vacuum", "area": "60 cm2", "pressure": "80 kPa"},
    )
    assert judged([tape])[0] and judged([vacuum])[0]
    found, _ = judged([tape, vacuum])
    assert not found, found[0].fact


@pytest.mark.parametrize("hold", [None, [{"kind": "unknown"}]])
def test_unknown_is_one_question_and_no_stop(hold: object) -> None:
    found, missing = judged(hold)
    assert not found
    assert [(one.what, one.fields) for one in missing] == [("how is it held?", ("hold",))]


def test_none_at_all_is_a_stop() -> None:
    ((finding,), missing) = judged("none")
    assert finding.severity is Severity.STOP and not missing
    assert finding.fact == "the job says that nothing holds the work"
    assert "{kind: tape, area: 60 cm2}" in finding.action
    assert not judged([{"kind": "tape", "area": "60 cm2"}])[0]


def test_what_is_lacking_is_named() -> None:
    found, (strong, turn) = judged([{"kind": "vacuum", "area": "50 cm2"}, {"kind": "vice", "force": "10 N"}])
    assert not found
    assert strong.fields == ("hold[0].pressure_n_mm2",) and "vacuum" in strong.what
    assert turn.what == "whether the work can turn"


def test_screws_beside_an_unknown_hold_are_not_blamed() -> None:
    deep = "$H / G1 Z-6.1 F60 / G1 X50 F100"
    ((finding,), _) = judged(None, deep, screws=None)
    assert "the most loaded screw" in finding.fact
    found, missing = judged([{"kind": "unknown"}], deep, screws=None)
    assert not found and [one.what for one in missing] == ["whether it is held"]


@pytest.mark.parametrize(
    ("hold", "depth", "remedy", "change"),
    [
        (
            {"kind": "tabs", "count": 3, "length": 1, "thickness": 0.5},
            6.1,
            r"(\d+) tabs of this size",
            "count",
        ),
        (
            {"kind": "onion skin", "length": 5, "thickness": 0.2},
            5.8,
            r"leave a skin of ([\d.]+) mm",
            "thickness",
        ),
    ],
)
def test_tabs_and_skin(hold: dict[str, object], depth: float, remedy: str, change: str) -> None:
    program = f"$H / G1 Z-{depth} F60 / G1 X50 F100"
    tape = {"kind": "tape", "area": "80 cm2", "shear": "2000 kPa"}
    ((finding,), _) = judged([tape, hold], program)
    assert "four times in hand" in finding.fact and finding.unit == "N"
    told = re.match(remedy, finding.action)
    assert told is not None, finding.action
    assert not judged([tape, {**hold, change: float(told[1]) if "." in told[1] else int(told[1])}], program)[
        0
    ]


def test_only_the_last_pass_counts_for_tabs() -> None:
    tabs = {"kind": "tabs", "count": 1, "length": 1, "thickness": 0.3}
    assert not judged([{"kind": "tape", "area": "60 cm2"}, tabs], "$H / G1 Z-0.5 F60 / G1 X50 F300")[0]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("hold: [{kind: vacuum, area: 60 cm2, pressure: 500 kPa}]", "at most 101 kPa"),
        ("hold: [{kind: tape, area: 60 cm2, shear: 100}]", "at most 5000 kPa"),
        ("hold: [{kind: vice, area: 60 cm2}]", "force, friction"),
        ("hold: [{kind: glue}]", "tape"),
        ("hold: [{area: 4}]", "kind"),
        ("hold: [{kind: tape, area: 4 mm}]", "cm2"),
    ],
)
def test_impossible_holds_are_refused(text: str, told: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_job(text)
    assert (told in str(caught.value) and "line 1" in str(caught.value)) or ":1" in str(caught.value)


def test_inches() -> None:
    hold = parse_job("units: in\nhold: [{kind: tape, area: 4, shear: 10 psi}]").hold
    assert hold is not None
    assert hold[0].area_mm2 == pytest.approx(4 * 645.16)
    assert hold_words(hold[0], "in") == "tape, 4 in2 at 10 psi"


def test_the_case_worked_in_the_guide() -> None:
    """docs/job-file.md: 60 cm2 of tape, a cut of 37 N and 10 N: 52 % in the middle, 81 % at 36 mm."""
    from millcalc.preflight.hold_balance import balance, strengths
    from millcalc.preflight.uses import cut_uses

    ctx = context({"with": {"screws": [], "hold": [{"kind": "tape", "area": "60 cm2"}]}, "p": CUT})
    assert ctx.setup is not None
    ((cut,), _) = cut_uses(ctx)
    known = strengths(ctx.setup, ctx.setup.job.hold or ())
    middle, beside = balance(ctx, cut, known, False), balance(ctx, cut, known, True)
    assert middle is not None and beside is not None
    assert (round(middle.side_n), round(middle.lift_n), round(beside.arm_mm)) == (37, 10, 36)
    assert (round(100 * middle.use), round(100 * beside.use)) == (52, 81)


OUTLINE = "$H / G1 Z-6.2 F60 / G1 X60 F300 / G1 Y50 / G1 X20 / G1 Y20"


@pytest.mark.parametrize(
    ("shear", "severity"), [("500 kPa", Severity.WARNING), ("2 MPa", Severity.NOTE), (None, Severity.STOP)]
)
def test_a_piece_cut_free_on_tape(shear: str | None, severity: Severity) -> None:
    """37 by 27 mm on tape: no more than its own area counts, however much tape the job has."""
    free = next(rule for rule in all_rules() if rule.code == "LOOSE-01")
    hold = {"kind": "tape", "area": "5000 cm2"} | ({"shear": shear} if shear else {})
    ctx = context({"sim": True, "with": {"hold": [hold]}, "p": OUTLINE})
    (finding,) = run_rules(ctx, rules=(free,)).findings
    assert finding.severity is severity
    told = re.search(r"the cut asks (\d+) % of what tape under all of it may be counted on for", finding.fact)
    assert told is not None, finding.fact
    assert (int(told[1]) <= 100) is (severity is Severity.NOTE)
    assert finding.action == "see that all of it lies on tape, or leave tabs on it"


def test_a_piece_cut_free_on_tape_of_unknown_area_is_a_warning() -> None:
    free = next(rule for rule in all_rules() if rule.code == "LOOSE-01")
    ctx = context({"sim": True, "with": {"hold": [{"kind": "tape"}]}, "p": OUTLINE})
    (finding,) = run_rules(ctx, rules=(free,)).findings
    assert finding.severity is Severity.WARNING
    assert "what tape under it bears is unknown" in finding.fact
