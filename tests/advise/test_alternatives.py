"""Ways side by side, bed heights, and three different answers for the same plate."""

from __future__ import annotations

from itertools import pairwise

import pytest

from millcalc.advise.advice import advise
from millcalc.advise.alternatives import alternatives, bed_rows
from millcalc.advise.solve import find
from millcalc.errors import InputError
from millcalc.limits.build import make_tooling
from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.measure.changes import stiffness_change
from millcalc.measure.readings import run_from_text
from millcalc.measure.stiffness import stiffness_from
from millcalc.tables import load_cutter, load_machine, load_material
from millcalc.tables.models import Machine


def tooling(machine: str | Machine = "gantry-800w", cutter: str = "flat-6mm-1f", **changes: float) -> Tooling:
    row = load_machine(machine) if isinstance(machine, str) else machine
    return make_tooling(row, load_material("al-6082-t6"), load_cutter(cutter), **changes)  # type: ignore[arg-type]


def test_every_way_holds_and_the_best_are_not_beaten() -> None:
    others = tuple(load_cutter(name) for name in ("flat-6mm-2f", "flat-3mm-1f", "ball-6mm-2f", "flat-8mm-1f"))
    found, _ = alternatives(tooling(), CutRequest(), total_depth_mm=6.0, others=others)
    assert len(found) >= 4
    assert [one.time_s_cm3 for one in found] == sorted(one.time_s_cm3 for one in found)
    assert found[0].best, "the quickest way is never beaten"
    for one in found:
        assert one.advice.fits
        assert one.passes * one.pass_depth_mm == pytest.approx(6.0)
        assert one.pass_depth_mm <= one.advice.settings.axial_depth_mm * (1 + 1e-9)
        assert 0 < one.chance <= 1 and one.force_n > 0 and one.needs
        if not one.best:
            assert any(
                other.time_s_cm3 <= one.time_s_cm3 * 1.001
                and other.force_n <= one.force_n * 1.001
                and other.chance >= one.chance - 0.001
                for other in found
                if other is not one
            )
    titles = " ".join(one.title for one in found)
    assert "ball" not in titles.lower() and "Flat, 8 mm" not in titles, "8 mm does not fit the collet"


def test_time_is_the_volume_over_feed_depth_and_width() -> None:
    found, _ = alternatives(tooling(), CutRequest(), total_depth_mm=5.0)
    slot = next(one for one in found if "depth by depth" in one.title)
    s = slot.advice.settings
    assert slot.time_s_cm3 == pytest.approx(60_000 / (slot.pass_depth_mm * 6.0 * s.feed_mm_min))


def test_ways_that_do_not_hold_are_named_with_their_limit() -> None:
    found, left_out = alternatives(tooling("belt-small-trim-router"), CutRequest(), total_depth_mm=8.0)
    assert found
    assert any("8 mm deep, narrow" in text and "over" in text for text in left_out)


def test_impossible_depth_is_refused() -> None:
    with pytest.raises(InputError):
        alternatives(tooling(), CutRequest(), total_depth_mm=-1.0)
    with pytest.raises(InputError):
        bed_rows(tooling(), CutRequest("slot"), [0.0])


def test_raising_the_work_never_makes_the_tip_softer() -> None:
    rows = bed_rows(tooling("belt-small-trim-router"), CutRequest("slot"))
    assert [row.drop_mm for row in rows] == sorted(row.drop_mm for row in rows)
    assert all(a.tip_n_um > b.tip_n_um for a, b in pairwise(rows))
    here = next(row for row in rows if row.raised_mm == 0)
    assert here.gain == pytest.approx(1.0)
    assert rows[0].gain > 1.5
    for row in rows:
        point, fits = find(row.advice.tooling, CutRequest("slot"))
        assert fits and point.depth_mm == row.advice.settings.axial_depth_mm


def test_typical_measured_and_raised_machine_give_three_answers_with_reasons() -> None:
    """The sensor plate's slot: a class value, the owner's own pulls, and the bed raised by 40 mm."""
    typical = load_machine("belt-small-trim-router")
    # pulls of a machine a little stiffer than its class: 0.30 N/um in X, 0.26 in Y with the spindle's 6 N/um
    pulls = tuple(
        run_from_text(
            f"{axis}@{drop}: "
            + " ".join(
                f"{kg}={kg * 9.80665e-3 * ((0.25 + 0.75 * (drop / 90) ** 2) / k + 1 / 6):.4f}" for kg in kgs
            )
        )
        for axis, k in (("x", 0.30), ("y", 0.26))
        for drop in (90, 60)
        for kgs in ((1, 2, 3, 4, 5),)
    )
    change = stiffness_change(stiffness_from(pulls, typical), typical)
    row = change.fields["stiffness_n_um"]
    assert (row["x"], row["y"]) == pytest.approx((0.30, 0.26), rel=0.02)
    own = Machine.model_validate({**typical.model_dump(), **change.fields, "measured": change.measured})
    answers = [
        advise(tooling(typical), CutRequest("slot"), buys=False),
        advise(tooling(own), CutRequest("slot"), buys=False),
        advise(tooling(own, drop_mm=50.0), CutRequest("slot"), buys=False),
    ]
    depths = [answer.settings.axial_depth_mm for answer in answers]
    assert depths[0] < depths[1] < depths[2], depths
    assert answers[0].governing.key == answers[1].governing.key == "deflection"
    budget = [next(x for x in a.limits if x.key == "deflection").budget for a in answers]
    assert budget[0] < budget[1], "measuring shrinks the reserve"
    assert any("typical for this class" in note for note in answers[0].notes)
    assert not any("typical for this class" in note for note in answers[1].notes)
    assert answers[2].compliance_um_n["frame"] < 0.6 * answers[1].compliance_um_n["frame"]
    # with the class's own numbers taken as measured the reserve alone buys depth, see test_uncertainty
    assert answers[2].removal_cm3_min > 1.8 * answers[0].removal_cm3_min
