"""``millcalc measure``, ``alternatives``, ``stability`` and ``adjust`` as a person runs them."""

from __future__ import annotations

import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from millcalc.cli.main import run
from millcalc.tables import load_machine

CUT = ["--machine", "gantry-800w", "--material", "6082", "--cutter", "flat-6mm-1f"]
PULLS = [
    part
    for axis in "xy"
    for drop, g in ((120, 0.014), (80, 0.0085))
    for part in ("--pull", f"{axis}@{drop}: " + " ".join(f"{kg}={kg * g:.4f}" for kg in (2, 4, 6, 8, 10)))
]


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    for name in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "APPDATA", "LOCALAPPDATA"):
        monkeypatch.setenv(name, str(tmp_path / "none"))
    monkeypatch.setenv("HOME", str(tmp_path / "none"))
    return tmp_path


def call(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *arguments: str
) -> tuple[int, str, str]:
    """Exit code, output and errors of one command, in this process."""
    monkeypatch.setattr(sys, "argv", ["millcalc", *arguments])
    with pytest.raises(SystemExit) as ended:
        run()
    told = capsys.readouterr()
    code = ended.value.code
    return (code if isinstance(code, int) else 0), told.out, told.err


def test_measured_machine_is_written_and_used(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    machine = ["--machine", "belt-small-trim-router", "--into", "shed", "--by", "the owner"]
    code, out, err = call(capsys, monkeypatch, "measure", "stiffness", *machine, *PULLS)
    assert code == 0, err
    assert "not written" in out and not (here / "materials").exists()
    code, out, err = call(capsys, monkeypatch, "measure", "stiffness", *machine, *PULLS, "--write")
    assert code == 0, err
    assert "N/µm" in out and "over drop" in out and "Z; kept from the table" in out
    assert load_machine("shed").stiffness_n_um.confidence == "measured"
    for arguments in (
        ("thrust", "--x", "8 kg", "--x", "9", "--x", "8.5", "--y", "90 N", "--y", "88 N", "--y", "95 N"),
        ("runout", "--dial", "0 0.01 0.02", "--dial", "0 0.012 0.018"),
        ("runout", "--slot", "3.2", "--slot", "3.22", "--slot", "3.24", "--slot", "3.21"),
        ("acceleration", "--distance", "2", "--moves", "200", "--time", "40", "--asked", "3000"),
        (
            "acceleration",
            "--axis",
            "y",
            "--distance",
            "200",
            "--moves",
            "20",
            "--time",
            "84",
            "--feed",
            "3000",
        ),
        ("feed", "--distance", "500", "--time", "6.2", "--commanded", "5000", "--highest"),
        ("speed", "--tone", "1=165", "--count", "6=29000", "--marks", "3=3600 mm/min over 4 mm with 20"),
    ):
        code, out, err = call(capsys, monkeypatch, "measure", *arguments, "--machine", "shed", "--write")
        assert code == 0, (arguments, err)
        assert "written to" in out, arguments
    done = load_machine("shed")
    assert done.thrust_n.x == pytest.approx(8 * 9.80665, rel=1e-3) and done.thrust_n.y == 88.0
    assert done.acceleration_mm_s2.confidence == "measured" and done.acceleration_mm_s2.y == 250.0
    assert done.spindle.min_rpm == 9900 and "spindle.dial" in done.measured
    code, out, err = call(
        capsys, monkeypatch, "settings", "--machine", "shed", "--material", "6082", "--cutter", "flat-6mm-1f"
    )
    assert code == 0, err
    assert "typical for this class" not in out and "all limits hold in" in out


def test_tapped_mode_gives_pockets(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from scipy.io import wavfile

    rate = 44100
    time = np.arange(4 * rate) / rate
    signal = 0.002 * np.random.default_rng(1).standard_normal(len(time))
    for start in (0.3, 1.3, 2.3, 3.3):
        since = time - start
        signal += np.where(
            since > 0,
            np.exp(-0.02 * 2 * np.pi * 950 * np.maximum(since, 0)) * np.sin(2 * np.pi * 950 * since),
            0,
        )
    wavfile.write(here / "tap.wav", rate, (0.7 * 32767 * signal / np.max(np.abs(signal))).astype(np.int16))
    code, out, err = call(
        capsys, monkeypatch, "measure", "frequency", "--machine", "gantry-800w", "--into", "mine", "--wav", "tap.wav",
        "--cutter", "flat-6mm-1f", "--stickout", "22", "--write",
    )  # fmt: skip
    assert code == 0, err
    assert "950 Hz" in out and "0.020" in out
    cut = ["--machine", "mine", "--material", "6082", "--cutter", "flat-6mm-1f", "--stickout", "22"]
    code, out, err = call(capsys, monkeypatch, "stability", *cut, "-o", "a.svg")
    assert code == 0, err
    assert "pockets worth using" in out and "19000 rpm" in out and (here / "a.svg").exists()
    code, again, err = call(capsys, monkeypatch, "stability", *cut, "-o", "a.svg")
    assert code == 2 and "or --force to replace it" in err and not again
    assert "no promise" in out and "frame" in out
    code, out, _ = call(capsys, monkeypatch, "stability", *CUT)
    assert code == 0 and "was not tapped" in out


@pytest.mark.parametrize(
    "procedure", ["stiffness", "runout", "feed", "acceleration", "thrust", "speed", "frequency"]
)
def test_every_procedure_explains_itself_and_asks_for_what_is_missing(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, procedure: str
) -> None:
    code, out, _ = call(capsys, monkeypatch, "measure", procedure, "--how")
    assert code == 0 and "millcalc measure " + procedure in out and "spindle" in out
    code, out, err = call(capsys, monkeypatch, "measure", procedure, "--machine", "gantry-800w")
    assert code == 2 and "--how" in err and not out


@pytest.mark.parametrize(
    "arguments",
    [
        ["stiffness", "--pull", "x@120: 2=0.1"],
        ["stiffness", *PULLS, "--rod", "8"],
        ["stiffness", *PULLS, "--rod", "800", "--rod-stickout", "20"],
        ["stiffness", *PULLS, "--force-unit", "stone"],
        ["stiffness", *PULLS, "--step", "3"],
        ["stiffness", "--csv", "absent.csv"],
        ["stiffness", *PULLS, "--into", "../../x", "--write"],
        ["runout", "--dial", "a b"],
        ["feed", "--distance", "500", "--time", "-3"],
        ["feed", "--distance", "500", "--time", "30", "--axis", "w"],
        ["acceleration", "--distance", "2", "--moves", "200", "--time", "0"],
        ["thrust", "--x", "much"],
        ["speed", "--tone", "300"],
        ["speed", "--tone", "3=loud"],
        ["speed", "--marks", "3=fast"],
        ["speed", "--tone", "3=300", "--tone", "4=350", "--cutting", "280"],
        ["frequency", "--wav", "absent.wav"],
        ["frequency", "--wav", "absent.wav", "--what", "frame"],
        ["frequency", "--wav", "absent.wav", "--what", "bed"],
        ["frequency", "--wav", "absent.wav", "--what", "frame", "--band", "20"],
        ["frequency", "--wav", "absent.wav", "--what", "frame", "--band", "1e-300 200"],
        ["frequency", "--wav", "absent.wav", "--what", "frame", "--band", "nan 200"],
    ],
)
def test_wrong_readings_are_told_and_end_with_two(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, arguments: list[str]
) -> None:
    code, _, err = call(capsys, monkeypatch, "measure", *arguments, "--machine", "gantry-800w")
    assert code == 2
    assert err.startswith("millcalc: ") and "Traceback" not in err and "an error of millcalc" not in err
    assert not (here / "materials").exists()


def test_alternatives_and_bed(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    code, out, err = call(capsys, monkeypatch, "alternatives", *CUT, "--depth", "6")
    assert code == 0, err
    assert "needs" in out and "quickest:" in out and "passes" in out
    code, out, err = call(capsys, monkeypatch, "alternatives", *CUT, "--drops", "120 90 60")
    assert code == 0, err
    assert "60 mm" in out and "stiffness at the tip" in out
    code, _, err = call(capsys, monkeypatch, "alternatives", *CUT, "--drops", "120 abc")
    assert code == 2 and "abc" in err


def test_adjust_asks_one_question_first(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    code, out, _ = call(capsys, monkeypatch, "adjust")
    assert code == 0 and "squeal" in out and "smoke" in out
    code, out, err = call(capsys, monkeypatch, "adjust", "squeal", *CUT)
    assert code == 2 and "--answer" in err and "powder" in err and not out
    in_use = ["--rpm", "18000", "--feed", "80", "--ap", "0.3"]
    code, out, err = call(capsys, monkeypatch, "adjust", "squeal", *CUT, *in_use, "--answer", "powder")
    assert code == 0, err
    assert "change first: feed 80 mm/min" in out and "never: slow the feed" in out
    code, out, _ = call(capsys, monkeypatch, "adjust", "smoke", *CUT, *in_use, "--answer", "no")
    assert code == 0 and "STOP" in out
    for wrong in (["adjust", "quantum"], ["adjust", "squeal", "--answer", "maybe"]):
        code, _, err = call(capsys, monkeypatch, *wrong, *CUT)
        assert code == 2 and "accepted" in err


def test_the_log_moves_the_margins_unless_it_is_left_out(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from millcalc.cutlog.models import Entry
    from millcalc.cutlog.store import Log

    monkeypatch.setenv("MILLCALC_LOG", str(here / "cuts.db"))
    now = datetime.now(UTC)
    with Log(here / "cuts.db") as log:
        for day in range(12):
            log.add(
                Entry.model_validate(
                    {
                        "when": now - timedelta(days=day + 1),
                        "machine": "gantry-800w",
                        "cutter": "flat-6mm-1f",
                        "diameter_mm": 6.0,
                        "flutes": 1,
                        "stickout_mm": 22.0,
                        "material": "al-6082-t6",
                        "kc11_n_mm2": 800.0,
                        "operation": "slot",
                        "cooling": "brush",
                        "speed_rpm": 13200.0,
                        "feed_mm_min": 390.0,
                        "axial_depth_mm": 0.6,
                        "radial_width_mm": 6.0,
                        "outcome": "failed",
                        "symptoms": ["squeal"],
                        "shares": {"chatter": 0.6},
                    }
                )
            )
    code, out, err = call(capsys, monkeypatch, "settings", *CUT)
    assert code == 0, err
    assert "the log takes" in out
    code, plain, err = call(capsys, monkeypatch, "settings", *CUT, "--no-learn")
    assert code == 0, err
    assert "the log takes" not in plain


@pytest.mark.parametrize(
    ("arguments", "typed", "part"),
    [
        (["stiffness", "--machine", "gantry-800w"], [*(PULLS[i] for i in (1, 3)), "", "n"], "N/µm"),
        (["runout", "--machine", "gantry-800w"], ["0 0.01 0.02", "", "n"], "run-out 0.020 mm"),
        (["feed", "--machine", "gantry-800w"], ["500", "30"], "mm/min"),
        (["acceleration", "--machine", "gantry-800w"], ["2 mm", "200", "40", "n"], "200 mm/s²"),
        (["thrust", "--machine", "gantry-800w"], ["30 31 29", "", "", "n"], "stalls at 284 N"),
        (["speed", "--machine", "belt-small-trim-router"], ["3=300", "1=165", "", "n"], "18000 rpm"),
    ],
)
def test_what_is_missing_is_asked_for_at_a_prompt(
    here: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    arguments: list[str],
    typed: list[str],
    part: str,
) -> None:
    answers = iter(typed)
    monkeypatch.setattr("millcalc.cli.measure_shared.asking", lambda: True)
    monkeypatch.setattr("millcalc.cli.measure.asking", lambda: True)
    monkeypatch.setattr("millcalc.cli.measure_spindle.asking", lambda: True)
    monkeypatch.setattr("builtins.input", lambda *_: next(answers))
    monkeypatch.setattr("typer.confirm", lambda *_, **__: next(answers) == "y")
    code, out, err = call(capsys, monkeypatch, "measure", *arguments)
    assert code == 0, err
    assert part in out
    assert not (here / "materials").exists()
    assert next(answers, None) is None, "every question was asked"
