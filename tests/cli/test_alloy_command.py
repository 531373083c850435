"""``millcalc alloy``, and ``millcalc settings`` for an unknown alloy, as a person runs them."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

from millcalc.cli.main import run

CUT = ["--machine", "gantry-800w", "--cutter", "flat-6mm-1f"]
PLATE = ["--weight", "324 g", "--size", "200 x 100 x 6 mm"]


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    for variable in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "APPDATA", "LOCALAPPDATA", "HOME"):
        monkeypatch.setenv(variable, str(tmp_path / "none"))
    return tmp_path


def call(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *arguments: str
) -> tuple[int, str, str]:
    monkeypatch.setattr(sys, "argv", ["millcalc", *arguments])
    with pytest.raises(SystemExit) as ended:
        run()
    told = capsys.readouterr()
    return int(ended.value.code or 0), told.out, told.err


@pytest.mark.parametrize(
    ("arguments", "code", "told"),
    [
        ([], 1, "magnesium is not excluded yet"),
        (PLATE, 0, "density 2.70 g/cm³; the readings allow 2.64 to 2.76"),
        (["--weight", "324", "--size", "200x100x6"], 0, "density 2.70"),
        (["--weight", "209 g", "--size", "200 x 100 x 6 mm"], 1, "DO NOT CUT IT"),
        (["--weight", "0.324 kg", "--size", "20 cm x 100 mm x 6 mm"], 0, "density 2.70"),
        (["--weight", "11.43 oz", "--size", "8 x 4 x 0.23 in", "--units", "in"], 0, "density 2.69"),
        (["--weight", "1358 g", "--round", "40 x 400 mm"], 0, "density 2.70"),
        (["--weight", "324 g", "--displaced", "120 g"], 0, "density 2.70"),
        ([*PLATE, "--vinegar", "bubbles"], 1, "DO NOT CUT IT"),
        (["--weight", "264 g", "--size", "200 x 100 x 6 mm"], 1, "do not cut it yet"),
        ([*PLATE, "--size-error", "2.5 mm"], 1, "DO NOT CUT IT"),
    ],
)
def test_what_it_may_be(
    here: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    arguments: list[str],
    code: int,
    told: str,
) -> None:
    found, out, err = call(capsys, monkeypatch, "alloy", *arguments)
    assert (found, err) == (code, "") and told in " ".join(out.split()), out
    assert "it is safe" not in out


def test_band_is_printed_with_the_lowest_to_set(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    code, out, err = call(capsys, monkeypatch, "alloy", *PLATE, *CUT, "--drill", "short")
    assert code == 0, err
    assert "al-1050" not in out.split("The band")[1] and "al-7075-t6 holds it back" in out
    assert "Set, while the alloy is unknown: 13200 rpm, 390 mm/min, depth 0.6 mm" in out
    code, out, err = call(capsys, monkeypatch, "settings", *CUT, "--material", "aluminium", "--more")
    assert code == 0, err
    assert "depth from 0.6 mm to 0.9 mm" in out and out.count("al-") >= 9
    code, out, _ = call(capsys, monkeypatch, "settings", *CUT, "--material", "aluminium", "--json")
    band = json.loads(out)["band"]
    assert band["common"]["axial_depth_mm"] == 0.55 and band["common"]["governing_material"] == "al-1050"
    assert [row["axial_depth_mm"] for row in band["rows"]] == sorted(
        r["axial_depth_mm"] for r in band["rows"]
    )
    code, out, _ = call(capsys, monkeypatch, "settings", *CUT, "--material", "6082")
    assert code == 0 and "The band" not in out and "alloy unknown" not in out


def test_the_row_for_an_unknown_alloy_goes_no_deeper_than_the_band(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    cut = ["--machine", "gantry-800w", "--cutter", "flat-3mm-2f", "--cut", "side", "--material", "al-unknown"]
    code, out, err = call(capsys, monkeypatch, "settings", *cut, "--json")
    assert code == 0, err
    found = json.loads(out)
    deeper = found["settings"]["axial_depth_mm"] > found["band"]["common"]["axial_depth_mm"]
    code, out, _ = call(capsys, monkeypatch, "settings", *cut, "--more")
    first = call(capsys, monkeypatch, "settings", *cut)[1]
    assert ("take the lower" in " ".join(first.split())) == deeper
    assert ("Take the lower" in " ".join(out.split())) == deeper


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--weight", "324 g"], "--size"),
        (["--size", "200 x 100 x 6 mm"], "--weight"),
        ([*PLATE, "--displaced", "120"], "one of"),
        (["--weight", "324 g", "--size", "200 x 100 mm"], "3 lengths"),
        (["--weight", "324 g", "--size", "200 x x 6 mm"], "3 lengths"),
        (["--weight", "heavy", "--size", "200 x 100 x 6 mm"], "--weight"),
        (["--weight", "324 g", "--size", "200 x 100 x six mm"], "--size"),
        (["--weight", "324 g", "--size", "200 x 100 x 0 mm"], "--size"),
        (["--weight", "0.5 g", "--size", "10 x 10 x 2 mm"], "--size"),
        (["--scale-error", "2 g"], "--scale-error"),
        ([*PLATE, "--cutter", "no-such"], "no-such"),
        ([*PLATE, "--cutter", "drill-3mm-hss", "--cut", "drill"], "--cut slot"),
    ],
)
def test_wrong_use_is_named(
    here: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    arguments: list[str],
    told: str,
) -> None:
    code, _, err = call(capsys, monkeypatch, "alloy", *arguments, "--machine", "gantry-800w")
    assert code == 2 and told in err, err
