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

ODD = ("1e-300", "1e300", "nan", "0", "-1", "1e20", "inf", "", "many", "0001-01-01")
JOB = str(demo_root() / "sensor_plate" / "job.yaml")
WAY = ["--machine", "gantry-800w", "--material", "al-6082-t6", "--cutter", "flat-6mm-1f"]
PROGRAM = "G21 G90 G17 G94 G54\nT1 M6\nS13200 M3\nG0 X40 Y40 Z5\nG1 Z-0.3 F190\nG1 X60\nG0 Z12\nM5\nM30\n"
M = ["--machine", "gantry-800w"]
CUT = ["--rpm", "9000", "--feed", "300"]
# what each command needs besides the option that is tried
BASE: dict[str, list[str]] = {
    "settings": WAY,
    "stability": [*WAY, "--mode", "900 Hz, 0.02, 3"],
    "check": ["p.nc", "--job", JOB],
    "lift": ["p.nc", "-o", "air.nc", "--by", "15"],
    "restart": ["p.nc", "--line", "6", "--job", JOB],
    "correct": ["p.nc", "-o", "new.nc", "--job", JOB],
    "screws": ["p.nc", "--job", JOB],
    "alloy": [],
    "sheet": ["p.nc", "--job", JOB, "-o", "new.html"],
    "show": ["p.nc"],
    "compare": ["p.nc", "p.nc"],
    "adjust": ["squeal", *WAY, "--answer", "slanted"],
    "alternatives": [*WAY, "--depth", "2", "--bed"],
    "proof": [*WAY, "-o", "new.nc", "--no-log"],
    "measure runout": [*M, "--dial", "0 0.012 0.02 0.008"],
    "measure speed": [*M, "--tone", "3=300"],
    "measure stiffness": [*M, "--pull", "x@120: 2=0.025 4=0.05 6=0.075 8=0.1 10=0.126"],
    "measure feed": [*M, "--distance", "500", "--time", "10", "--commanded", "3000"],
    "measure acceleration": [*M, "--distance", "100", "--moves", "10", "--time", "30", "--feed", "3000"],
    "measure thrust": [*M, "--x", "30 kg"],
    "log add": [*WAY, *CUT, "--outcome", "good"],
    "log list": [],
    "log similar": [*WAY, *CUT],
    "log edit": ["1", "--set", "bit=2"],
    "log machine-changed": ["plate", *M],
}
SLOW = {"settings": 20, "alternatives": 60, "adjust": 20, "proof": 30}
"""Commands that take long, with seconds: only with MILLCALC_ALL=1."""
VALUED = re.compile(r"^  (?:-\w, )?(--[\w-]+) +(?:TEXT|NUMBER|DAY)\b", re.M)
# names and free texts, which any value may be
FREE = {
    f"--{word}"
    for word in (
        *(
            "machine",
            "material",
            "cutter",
            "notes",
            "note",
            "into",
            "text",
            "answer",
            "profile",
            "accept",
        ),
        *("program", "symptom", "outcome", "zero"),
    )
}
# where the odd value goes in an option of several parts
PARTS = {
    "--mode": ("{} Hz, 0.02, 3", "900 Hz, {}, 3", "900 Hz, 0.02, {}"),
    "--dial": ("0 {} 0.02 0.008",),
    "--tone": ("3={}",),
    "--count": ("3={}",),
    "--marks": ("3={} mm/min over 5 mm with 20", "3=3000 mm/min over {} mm with 20"),
    "--pull": ("x@{}: 2=0.025 4=0.05 6=0.075 8=0.1", "x@120: 2={0} 4={0} 6={0} 8=0.1", "x@120: {}=0.1"),
    "--drops": ("{} 90",),
    "--set": ("cut_minutes={}", "drop_mm={}", "when={}"),
}


def _help(*words: str) -> str:
    return CliRunner().invoke(app, [*words, "--help"]).output


def _options(command: str) -> list[str]:
    """Options of a command that take a value other than a name, a choice or a file."""
    return [name for name in VALUED.findall(_help(*command.split())) if name not in FREE]


@pytest.mark.filterwarnings("error::RuntimeWarning")
@pytest.mark.parametrize("command", list(BASE))
def test_odd_values_get_one_line_or_a_sound_answer(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    if command in SLOW and not os.environ.get("MILLCALC_ALL"):
        pytest.skip(f"{SLOW[command]} s of work: with MILLCALC_ALL=1")
    (tmp_path / "p.nc").write_text(PROGRAM, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("MILLCALC_LOG", str(tmp_path / "cuts.db"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "none"))

    def call(*words: str) -> tuple[int, str, str]:
        for made in tmp_path.glob("[an]*.*"):
            made.unlink()
        monkeypatch.setattr(sys, "argv", ["millcalc", *words])
        with pytest.raises(SystemExit) as ended:
            run()
        told = capsys.readouterr()
        return int(ended.value.code or 0), told.out, told.err

    wrong = []
    base = [*command.split(), *BASE[command]]
    if command.startswith("log"):
        assert call("log", "add", *BASE["log add"])[0] == 0
    status, _, error = call(*base)
    assert status in (0, 1), error  # what is tried is the odd value
    options = _options(command)
    for option in options:
        for value in ODD if os.environ.get("MILLCALC_ALL") else ODD[:3]:
            for part in PARTS.get(option, ("{}",)):
                tried = part.replace("{}", value).replace("{0}", value)
                status, out, error = call(*base, option, tried)
                if status not in (0, 1, 2) or "Traceback" in error or (status == 2 and not error.strip()):
                    wrong.append((option, tried, status, error.strip()[:200]))
                elif re.search(r"(?<![\w-])(nan|inf)(?!\w)", out.replace(tried, ""), re.I) and status != 2:
                    wrong.append((option, tried, status, "an answer with nan or inf in it"))
    assert options or command in ("sheet", "show"), "the command has no option with a value"
    assert not wrong, "\n".join(map(str, wrong))


def test_every_command_is_tried() -> None:
    names = set()
    for name in re.findall(r"^  (\w[\w-]*)  ", _help().partition("Commands:")[2], re.M):
        under = re.findall(r"^  (\w[\w-]*)  ", _help(name).partition("Commands:")[2], re.M)
        names |= {f"{name} {word}" for word in under} or {name}
    assert len(names) > 35
    without = {name for name in names - set(BASE) if _options(name)}
    # fields are tried with log add; the numbers of --band with a recording in tests/measure
    assert without == {"measure frequency", "log import", "page"}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ["settings", *WAY, "--feed", "1e-300"],
            "--feed: found 1e-300 mm/min; accepted: 0.01 mm/min or more",
        ),
        (["stability", *WAY, "--stickout", "1e-300"], "stickout: found 1e-300 mm; accepted: 1 mm or more"),
        (["stability", *WAY, "--drop", "1e-300"], "drop: found 1e-300 mm; accepted: 1 mm or more"),
        (
            ["stability", *WAY, "--mode", "900"],
            "--mode: found '900'; accepted: frequency and damping, as \"900 Hz, 0.02\"",
        ),
        (
            ["stability", *WAY, "--mode", "1e-300 Hz, 0.02, 3"],
            "--mode: found 1e-300 Hz; accepted: 1 to 100000 Hz",
        ),
        (["log", "list", "--limit", "1e20"], "--limit"),
        (["proof", *WAY, "--thickness", "1e300"], "--thickness: found 1e+300 mm; accepted: at most 1000 mm"),
        (
            ["log", "list", "--since", "0001-01-01"],
            "--since: found 01 Jan of the year 1; accepted: a day from 1970",
        ),
        (
            ["measure", "feed", *M, "--distance", "500", "--time", "1e300"],
            "--time: found 1e+300 s; accepted: a number",
        ),
        (
            ["measure", "stiffness", *M, "--pull", "x@1: 1=1e300"],
            "a reading of 1e+300 mm; accepted: at most 100 mm",
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
