"""``millcalc proof`` as a person runs it: the strip, its check, and from the result to settings and log."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from millcalc.cli.main import run
from millcalc.cutlog.store import Log

CUT = ["--machine", "gantry-800w", "--material", "6082", "--cutter", "flat-6mm-1f"]


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    for variable in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "APPDATA", "LOCALAPPDATA", "HOME"):
        monkeypatch.setenv(variable, str(tmp_path / "none"))
    monkeypatch.setenv("MILLCALC_LOG", str(tmp_path / "cuts.db"))
    return tmp_path


def call(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *arguments: str
) -> tuple[int, str, str]:
    monkeypatch.setattr(sys, "argv", ["millcalc", *arguments])
    with pytest.raises(SystemExit) as ended:
        run()
    told = capsys.readouterr()
    return int(ended.value.code or 0), told.out, told.err


def test_strip_is_checked_and_written_then_told_and_logged_once(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    code, out, err = call(capsys, monkeypatch, "proof", *CUT)
    assert code == 0, err
    assert "PROOF STRIP" in out and "millcalc check proof.nc" in out and "could not be looked at" in out
    assert "safe" not in out.lower()
    assert {p.name for p in here.iterdir()} == {
        "proof.nc",
        "proof.card.txt",
        "proof.job.yaml",
        "proof.proof.json",
    }
    code, _, err = call(capsys, monkeypatch, "proof", *CUT)
    assert code == 2 and "--force" in err
    code, _, err = call(capsys, monkeypatch, "check", "proof.nc", "--job", "proof.job.yaml")
    assert code == 0, err

    code, out, err = call(
        capsys, monkeypatch, "proof", "--result", "4", "--failed", "6", "--symptom", "chatter"
    )
    assert code == 0, err
    assert "step 4 itself" in out and "depth a pass (ap)   0.9 mm" in out
    assert "logged as entry 1 (good)" in out and "logged as entry 2 (failed)" in out
    assert "Safety glasses" in out, "cautions stand where the person decides"
    code, out, _ = call(capsys, monkeypatch, "proof", "--result", "4", "--failed", "6")
    assert code == 0 and "already in the log as entry 1" in out and "logged as" not in out
    with Log(here / "cuts.db", readonly=True) as log:
        assert [stored.entry.outcome for stored in log.find()] in (["good", "failed"], ["failed", "good"])


def test_no_log_writes_nothing_and_inches_are_shown(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert call(capsys, monkeypatch, "proof", "-o", "strip.nc", *CUT, "--ladder", "chip")[0] == 0
    code, out, err = call(
        capsys, monkeypatch, "proof", "--program", "strip.nc", "--result", "2", "--no-log", "--units", "in"
    )
    assert code == 0, err
    assert "in/min" in out and not (here / "cuts.db").exists()


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--result", "4"], "proof.proof.json"),
        (["--failed", "4"], "--result"),
        (["--program", "x.nc"], "--result"),
        (["-o", "proof.json", *CUT], "proof.nc"),
        ([*CUT, "--thickness", "0.3"], "--thickness"),
        ([*CUT, "--ladder", "chip", "--feed", "300"], "--rpm"),
        ([*CUT, "--feed", "fast"], "--feed"),
        (["--machine", "gantry-800w", "--material", "6082", "--cutter", "drill-3mm-hss"], "drill"),
    ],
)
def test_wrong_use_is_named_and_writes_nothing(
    here: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    arguments: list[str],
    told: str,
) -> None:
    code, _, err = call(capsys, monkeypatch, "proof", *arguments)
    assert code == 2 and told in err, err
    assert not list(here.iterdir())


def test_a_strip_the_check_objects_to_is_not_written(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A screw in the middle of the scrap: the rules stop it, and nothing is left behind."""
    from millcalc.tables.locate import demo_root

    text = (demo_root() / "sensor_plate" / "job.yaml").read_text(encoding="utf-8")
    middle = text.replace("{x: 8 mm, y: 8 mm,", "{x: 80 mm, y: 30 mm,")
    assert middle != text
    (here / "job.yaml").write_text(middle, encoding="utf-8")
    code, _, err = call(capsys, monkeypatch, "proof", "--job", "job.yaml")
    assert code == 1 and "SCREW-01" in err and "not written" in err
    assert [p.name for p in here.iterdir()] == ["job.yaml"]


def test_a_warning_is_told_and_needs_a_word(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two flutes in a gummy alloy: a warning of the cutter, which the person may accept; a stop never."""
    cut = ["--machine", "gantry-800w", "--material", "al-unknown", "--cutter", "flat-6mm-2f"]
    code, _, err = call(capsys, monkeypatch, "proof", *cut)
    assert code == 1 and "TOOL-07" in err and "--anyway" in err and not list(here.iterdir())
    code, _, err = call(capsys, monkeypatch, "proof", *cut, "--anyway")
    assert code == 0 and "TOOL-07" in err and (here / "proof.nc").exists()
    thick = ["--machine", "gantry-800w", "--material", "6082", "--cutter", "flat-8mm-1f"]
    code, _, err = call(capsys, monkeypatch, "proof", "-o", "thick.nc", *thick, "--anyway")
    assert code == 1 and "TOOL-05" in err and not (here / "thick.nc").exists()
