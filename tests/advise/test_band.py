"""Settings over several alloys: each row is its own advice, and what is common holds in every one."""

from __future__ import annotations

from dataclasses import replace

import pytest

from millcalc.advise.advice import advise
from millcalc.advise.band import known_alloys, settings_band
from millcalc.advise.metals import metals
from millcalc.errors import InputError
from millcalc.limits.build import make_tooling
from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.tables import load_cutter, load_machine, load_material


def tooling(
    machine: str = "gantry-800w", cutter: str = "flat-6mm-1f", material: str = "al-unknown"
) -> Tooling:
    return make_tooling(load_machine(machine), load_material(material), load_cutter(cutter))


def test_known_alloys_are_the_aluminium_rows_without_the_unknown_one() -> None:
    alloys = known_alloys("aluminium")
    assert "al-unknown" not in alloys and {"al-1050", "al-7075-t6", "al-cast-plate"} <= set(alloys)
    assert set(alloys) == {one.material for one in metals()["aluminium"].alloys}, "both tables know the same"


@pytest.mark.parametrize(
    ("machine", "cutter", "cut"),
    [
        ("gantry-800w", "flat-6mm-1f", "slot"),
        ("gantry-800w", "flat-3mm-2f", "side"),
        ("belt-small-trim-router", "flat-8mm-3f", "slot"),
        ("bench-mill-small", "flat-6mm-2f-hss", "face"),
    ],
)
def test_rows_are_the_advice_and_the_common_cut_holds_in_each(machine: str, cutter: str, cut: str) -> None:
    alloys = known_alloys("aluminium")
    asked = CutRequest(cut)  # type: ignore[arg-type]
    band = settings_band(tooling(machine, cutter), asked, alloys)
    assert {row.material for row in band.rows} == set(alloys)
    for row in band.rows:
        alone = advise(tooling(machine, cutter, row.material), asked, buys=False)
        assert row.point is not None and row.fits == alone.fits
        assert row.point.depth_mm == pytest.approx(alone.settings.axial_depth_mm)
        assert row.feed_mm_min == pytest.approx(alone.settings.feed_mm_min)
    depths = [row.point.depth_mm for row in band.rows if row.point is not None]
    assert band.depths_mm == (min(depths), max(depths)) and depths == sorted(depths)
    common = band.common
    assert common is not None and common.fits
    values = common.settings
    judged = replace(
        asked,
        axial_depth_mm=values.axial_depth_mm,
        radial_width_mm=values.radial_width_mm if cut != "slot" else None,
        feed_mm_min=values.feed_mm_min,
        speed_rpm=values.speed_rpm,
    )
    for name in alloys:
        assert advise(tooling(machine, cutter, name), judged, buys=False).fits, name
    deeper = replace(judged, axial_depth_mm=values.axial_depth_mm * 1.35)
    assert not advise(tooling(machine, cutter, band.governing), deeper, buys=False).fits, (
        "it does hold it back"
    )


def test_one_material_is_its_own_band() -> None:
    band = settings_band(tooling(), CutRequest("slot"), ("al-6082-t6",))
    alone = advise(tooling(material="al-6082-t6"), CutRequest("slot"), buys=False).settings
    assert band.common is not None
    assert band.common.settings.axial_depth_mm == pytest.approx(alone.axial_depth_mm)


def test_a_material_in_which_nothing_holds_leaves_no_common_cut() -> None:
    deep = CutRequest("slot", axial_depth_mm=5.0)
    band = settings_band(tooling("belt-small-trim-router"), deep, known_alloys("aluminium"))
    assert band.common is None and not any(row.fits for row in band.rows)
    with pytest.raises(InputError):
        settings_band(tooling(), CutRequest("slot"), ())
    with pytest.raises(InputError):
        settings_band(tooling(), CutRequest("slot", axial_depth_mm=99.0), ("al-1050",))


def test_a_cutter_that_is_not_for_one_of_them_is_told() -> None:
    hss = tooling(cutter="flat-6mm-2f-hss")
    band = settings_band(hss, CutRequest("slot"), ("al-1050", "carbon-fibre"))
    refused = next(row for row in band.rows if row.material == "carbon-fibre")
    assert refused.point is None and "carbide" in refused.governing and band.common is None
