"""Odd values on the command line: one line that says what to do, or a sound answer; never an internal error."""

from __future__ import annotations

import os
import re
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from millcalc.cli.main import app, run
from millcalc.tables import demo_root

ODD = ("0", "-1", "1e-300", "1e300", "nan", "inf", "", "many")
JOB = str(demo_root() / "sensor_plate" / "job.yaml")
WAY = ["--machine", "gantry-800w", "--material", "al-6082-t6", "--cutter", "flat-6mm-1f"]
PROGRAM = "G21 G90 G17 G94 G54\nT1 M6\nS13200 M3\nG0 X40 Y40 Z5\nG1 Z-0.3 F190\nG1 X60\nG0 Z12\nM5\nM30\n"
# what each command needs besides the option that is tried
BASE: dict[str, list[str]] = {
    "settings": WAY,
    "stability": WAY,
    "check": ["p.nc", "--job", JOB],
    "lift": ["p.nc", "-o", "air.nc", "--by", "15"],
    "restart": ["p.nc", "--line", "6", "--job", JOB],
    "correct": ["p.nc", "-o", "new.nc", "--job", JOB],
    "screws": ["p.nc", "--job", JOB],
    "alloy": [],
}
NUMERIC = re.compile(r"^  (?:-\w, )?(--[\w-]+) +<(?:str|int|float)[^>]*>", re.M)
WORDS = {"--machine", "--material", "--cutter", "--job", "--zero", "--limit-name"}


def _options(command: str) -> list[str]:
    text = CliRunner().invoke(app, [command, "--help"]).output
    return [name for name in NUMERIC.findall(text) if name not in WORDS]


@pytest.mark.parametrize("command", list(BASE))
def test_odd_values_get_one_line_or_a_sound_answer(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    if command == "settings" and not os.environ.get("MILLCALC_ALL"):
        pytest.skip("20 s of settings: with MILLCALC_ALL=1")
    (tmp_path / "p.nc").write_text(PROGRAM, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("MILLCALC_LOG", str(tmp_path / "cuts.db"))
    options, wrong = _options(command), []
    monkeypatch.setattr(sys, "argv", ["millcalc", command, *BASE[command]])
    with pytest.raises(SystemExit) as ended:
        run()
    plain = capsys.readouterr()
    assert ended.value.code in (0, 1, None), plain.err  # what is tried is the odd value
    (tmp_path / "air.nc").unlink(missing_ok=True)
    (tmp_path / "new.nc").unlink(missing_ok=True)
    assert options, "help names no option with a value"
    for option in options:
        for value in ODD:
            monkeypatch.setattr(sys, "argv", ["millcalc", command, *BASE[command], option, value])
            with pytest.raises(SystemExit) as ended:
                run()
            said = capsys.readouterr()
            status = int(ended.value.code or 0)
            if status not in (0, 1, 2) or "Traceback" in said.err or (status == 2 and not said.err.strip()):
                wrong.append((option, value, status, said.err.strip()[:200]))
            elif re.search(r"(?<![\w-])(nan|inf)(?!\w)", said.out, re.I) and status != 2:
                wrong.append((option, value, status, "an answer with nan or inf in it"))
    assert not wrong, "\n".join(map(str, wrong))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ["settings", *WAY, "--feed", "1e-300"],
            "--feed: found 1e-300 mm/min; accepted: 0.01 mm/min or more",
        ),
        (["check", "p.nc", "--job", JOB, "--cell", "0"], "--cell: found 0 mm; accepted: 0.005 mm to 50 mm"),
    ],
)
def test_the_line_names_option_and_range(
    words: list[str],
    said: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    (tmp_path / "p.nc").write_text(PROGRAM, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(sys, "argv", ["millcalc", *words])
    with pytest.raises(SystemExit) as ended:
        run()
    assert ended.value.code == 2 and said in capsys.readouterr().err
