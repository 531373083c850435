"""What screws and other holds bear and how they are made stronger, by hand; and the share of it in words.

A screw of 4 mm, 10 mm deep in a board of 680 kg/m3: 0.3 * 108.25 * (0.68 / 1.12)^2 * 4 * 10 = 478.8 N of withdrawal
(Wood Handbook, from memory), over 5.51: 86.9 N.
"""

from __future__ import annotations

import pytest
import yaml

from millcalc.job.models import Hold
from millcalc.job.read import parse_job
from millcalc.preflight.hold import screw_pulls
from millcalc.preflight.hold_balance import balance_words, strengths
from millcalc.preflight.hold_kinds import grown, hold_words, screw_bears_n
from tests.preflight.test_cases import context, jobs

EACH = 0.3 * 108.25 * (0.68 / 1.12) ** 2 * 4 * 10 / 5.51
CUT = "$H / G1 Z-1 F60 / G1 X50 F300"


def hold_of(fields: dict[str, object]) -> Hold:
    (hold,) = parse_job(yaml.safe_dump({"hold": [fields]})).hold or ()
    return hold


def test_four_listed_screws_hold_by_their_pull_and_its_friction() -> None:
    setup = context({"p": CUT}).setup
    (found,) = strengths(setup, ())
    assert (found.side_n, found.lift_n) == pytest.approx((4 * EACH * 0.25, 4 * EACH), rel=1e-4)
    assert (found.turning_n_mm, found.area_mm2) == (0.0, 0.0)
    assert not strengths(setup, (), screws=False)
    assert screw_bears_n(3000, 4, 10, 1.0) == pytest.approx(
        0.3 * 108.25 * 1.3**2 * 40, rel=1e-4
    )  # no wood is denser


def test_what_cannot_be_computed_is_left_out() -> None:
    waste = hold_of({"kind": "waste screws", "count": 2, "shank_diameter": 4, "depth_in_bed": 10})
    lacking = hold_of({"kind": "vice"})
    with_board = context({"p": CUT, "with": {"screws": []}}).setup
    (found,) = strengths(with_board, (waste, lacking))
    assert found.lift_n == pytest.approx(2 * EACH, rel=1e-4)
    bed = {"wood_density": None}
    assert not strengths(context({"p": CUT, "with": {"screws": [], "bed": bed}}).setup, (waste,))


@pytest.mark.parametrize(
    ("hold", "share", "units", "said"),
    [
        ({"kind": "tape", "area": "12 cm2"}, 1.51, "mm", "19 cm2 of tape"),
        ({"kind": "tape", "area": "12 cm2"}, 1.5, "mm", "18 cm2 of tape"),
        ({"kind": "tape", "area": "2 in2"}, 1.6, "in", "4 in2 of tape"),
        ({"kind": "vice", "force": "100 N"}, 1.5, "mm", "press the vice with 150 N"),
        ({"kind": "vice", "force": "100 N"}, 1.6, "mm", "press the vice with 200 N"),
        ({"kind": "side clamps", "force": "10 lbf"}, 2.1, "in", "press the side clamps with 30 lbf"),
        ({"kind": "waste screws", "count": 2}, 1.5, "mm", "3 screws through the waste"),
        ({"kind": "waste screws", "count": 2}, 1.6, "mm", "4 screws through the waste"),
        ({"kind": "tape"}, 2, "mm", None),
        ({"kind": "vice"}, 2, "mm", None),
        ({"kind": "tabs", "count": 2}, 2, "mm", None),
    ],
)  # fmt: skip
def test_a_hold_grows_to_what_a_person_would_set(hold, share, units, said) -> None:
    found = grown(hold_of(hold), share, units)
    assert (None if found is None else found[1]) == said


@pytest.mark.parametrize(
    ("hold", "units", "said"),
    [
        ({"kind": "tape", "area": "6.4516 cm2", "shear": "100 kPa"}, "in", "tape, 1 in2 at 14.5 psi"),
        ({"kind": "tape", "area": "6 cm2", "shear": "100 kPa"}, "mm", "tape, 6 cm2 at 100 kPa"),
        ({"kind": "waste screws", "count": 1}, "mm", "1 screw through the waste"),
        ({"kind": "tabs"}, "mm", "tabs"),
    ],
)
def test_a_hold_in_words(hold, units, said) -> None:
    assert hold_words(hold_of(hold), units) == said


@pytest.mark.parametrize(
    ("hold", "said"),
    [
        (
            {"kind": "tape", "area": "60 cm2"},
            "tape, 60 cm2 may be counted on for (150 N sideways, 38 N upwards, ",
        ),
        (
            {"kind": "vice", "force": "90000 N"},
            "1 % of what vice, pressing with 90000 N may be counted on for",
        ),
    ],
)
def test_the_share_of_what_holds_in_a_sentence(hold, said) -> None:
    (told,) = balance_words(context({"p": CUT, "with": {"screws": [], "hold": [hold]}}))
    assert told.startswith("T1, line 7: ") and said in told, told
    beside = balance_words(context({"p": CUT, "with": {"hold": [hold]}}))[0]
    assert " and the listed screws may be counted on" in beside
    assert balance_words(context({"p": CUT})) == ()


def test_the_pull_at_the_most_loaded_screw_is_shown_for_screws_alone() -> None:
    found = screw_pulls(context({"p": f"{CUT} / G1 X90 Y70"}))
    assert found is not None
    pulls, bears = found
    assert bears == pytest.approx(EACH, rel=1e-4)
    middle, corner = pulls[-2:]
    assert 0 < middle < corner
    assert screw_pulls(context({"p": CUT, "with": {"hold": [{"kind": "vice", "force": "90 N"}]}})) is None
    two, one = jobs()["plate"]["screws"][:2], jobs()["plate"]["screws"][:1]
    assert screw_pulls(context({"p": CUT, "with": {"screws": two}})) is not None
    assert screw_pulls(context({"p": CUT, "with": {"screws": one}})) is None
    clamp = [{"x_min": 0, "x_max": 10, "y_min": 70, "y_max": 80, "height": "6 mm"}]
    assert screw_pulls(context({"p": CUT, "with": {"clamps": clamp}})) is None
