"""``--units in`` shows inches in every answer, millimetres show no inch, and 80 columns hold."""

from __future__ import annotations

import re
import shutil
import sys
from functools import cache
from pathlib import Path

import pytest

from millcalc.check.prepare import CheckOptions
from millcalc.check.run import look_at
from millcalc.cli.main import run
from millcalc.tables import demo_root, summaries

WAY = ["--machine", "gantry-800w", "--material", "6082", "--cutter", "flat-6mm-1f"]
DRILL = [*WAY[:4], "--cutter", "drill-3mm-hss"]
LOGGED = ["log", "add", *WAY, "--rpm", "13000", "--feed", "390", "--ap", "0.6", "--outcome"]
METRIC = re.compile(r"(?<![\w.#])(mm|N|W|kW|m/min|[µu]m|cm³|cm3|N/[µu]m|N m)(?!\w)")
INCH = re.compile(r"(?<=\d )(in|in/min|in/tooth|lbf|lbf/thou|hp|thou|sfm|in³|in3|ksi)(?!\w)")
# said of the world, not of this cut: a rule for dust, the way densities are printed everywhere
ALLOWED = ("0.5 mm (0.02 in)", "g/cm3", "g/cm³", "0.8 kW", "in the")
# pulls in kg and readings in mm; one reading is off the line, and is named
ON_X = (
    "x@120 mm: 2kg=0.026mm 4kg=0.05mm 6kg=0.076mm 8kg=0.24mm 10kg=0.126mm 8kg=0.104mm 6kg=0.08mm 4kg=0.054mm"
)
ON_Y = (
    "y@120 mm: 2kg=0.016mm 4kg=0.03mm 6kg=0.046mm 8kg=0.06mm 10kg=0.077mm 8kg=0.064mm 6kg=0.05mm 4kg=0.034mm"
)
REMEDY = re.compile(r"→.*(\n {4}.*)*")
ASKED = {
    **{f"settings {cut} {' '.join(more)}": ["settings", *(DRILL if cut == "drill" else WAY), "--cut", cut, *more]
       for cut in ("slot", "side", "face", "plunge", "ramp", "helix", "drill") for more in ([], ["--more"])},
    "settings given": ["settings", *WAY, "--ap", "0.25 mm", "--thickness", "6 mm"],
    "settings unknown alloy": ["settings", *WAY[:2], "--material", "al-unknown", *WAY[4:], "--more"],
    "alternatives": ["alternatives", *WAY],
    "bed": ["alternatives", *WAY, "--bed"],
    "stability": ["stability", *WAY, "--mode", "900 Hz, 0.02"],
    "adjust": ["adjust", "squeal", "--answer", "powder", *WAY],
    "proof": ["proof", *WAY],
    "screws": ["screws", "good.nc", "--job", "job.yaml"],
    "lift": ["lift", "good.nc", "--job", "job.yaml", "-o", "l.nc"],
    "compare": ["compare", "good.nc", "bad.nc", "--job", "job.yaml"],
    "restart": ["restart", "good.nc", "--job", "job.yaml"],
    "demo": ["demo"],
    "list": ["log", "list"],
    "stats": ["log", "stats"],
    "show": ["log", "show", "1"],
    "similar": ["log", "similar", "--like", "1"],
    "stiffness": ["measure", "stiffness", *WAY[:2], "--rod", "8 mm", "--rod-stickout", "20 mm", "--pull", ON_X,
                  "--pull", ON_Y],
    "runout": ["measure", "runout", *WAY[:2], "--dial", "0mm 0.012mm 0.02mm 0.008mm"],
    "runout of slots": ["measure", "runout", *WAY[:2], *(f"--slot=6.0{k} mm" for k in (2, 4, 1, 5))],
    "real feed": ["measure", "feed", *WAY[:2], "--distance", "500 mm", "--time", "30", "--commanded", "1000 mm/min",
                  "--highest"],
    "acceleration": ["measure", "acceleration", *WAY[:2], "--distance", "2 mm", "--moves", "200", "--time", "40"],
    "push": ["measure", "thrust", *WAY[:2], "--x", "30 kg", "--x", "29 kg", "--y", "28 kg"],
    "speed": ["measure", "speed", *WAY[:2], "--marks", "2=3000 mm/min over 5 mm with 20"],
}  # fmt: skip


@pytest.fixture
def call(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("MILLCALC_LOG", str(tmp_path / "cuts.db"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "none"))
    for name in ("job.yaml", "good.nc", "bad.nc"):
        shutil.copyfile(demo_root() / "sensor_plate" / name, tmp_path / name)

    def called(*words: str) -> str:
        monkeypatch.setattr(sys, "argv", ["millcalc", *words])
        with pytest.raises(SystemExit) as ended:
            run()
        told = capsys.readouterr()
        assert ended.value.code in (0, 1, None), told.err
        return told.out + told.err

    return called


@cache
def titles() -> list[str]:
    """Titles of the shipped cutters and machines, the longest first."""
    return sorted((one.title for kind in ("cutters", "machines") for one in summaries(kind)[0]), key=len)[
        ::-1
    ]


def without_names(text: str) -> str:
    """The text on one line, without the titles of cutters and machines, which keep their own sizes."""
    joined = " ".join(text.split())
    for title in titles():
        joined = joined.replace(title, "")
    for phrase in ALLOWED:
        joined = joined.replace(phrase, "")
    return joined


@pytest.mark.parametrize("name", ASKED)
def test_an_answer_keeps_to_the_units_asked_for(name: str, call) -> None:
    if ASKED[name][0] == "log":
        for outcome in ("good", "failed"):
            call(*LOGGED, outcome)
    for units, other in (("in", METRIC), ("mm", INCH)):
        force = ["--force"] if name in ("proof", "lift") else []
        text = call(*ASKED[name], "--units", units, *force)
        assert not [line for line in text.splitlines() if len(line) > 80 or line != line.rstrip()]
        if name == "demo" and units == "in":
            text = REMEDY.sub("", text)  # these are to be written into programs in millimetres
        if name == "restart":
            text = re.sub(r" T1 .*", "", text)  # comments of the program
        if name == "show":
            text = re.sub(r"kc1.1 [^\n]*", "", re.sub(r"\S+_\S+", "", text))
        found = other.search(without_names(text))
        assert found is None, text


def test_facts_of_a_check_keep_to_the_units(call) -> None:
    plate = demo_root() / "sensor_plate"
    for units, other in (("in", METRIC), ("mm", INCH)):
        report = look_at(plate / "bad.nc", plate / "job.yaml", CheckOptions(units)).report
        facts = [finding.fact for finding in report.findings]
        assert len(facts) > 20
        assert not [fact for fact in facts if other.search(without_names(fact))]


@pytest.mark.parametrize("first", ["", "G21", "G20"])
def test_a_remedy_for_a_program_speaks_the_programs_own_unit(first: str, call, tmp_path: Path) -> None:
    """Without a unit word the numbers are read as millimetres, so that they are mended as such."""
    program = tmp_path / "own.nc"
    told = (
        (demo_root() / "sensor_plate" / "bad.nc")
        .read_text(encoding="utf-8")
        .replace("G90 G17", f"{first} G90 G17")
    )
    if first == "G20":
        told = re.sub(r"([XYZIJF])(-?[\d.]+)", lambda word: f"{word[1]}{float(word[2]) / 25.4:.5f}", told)
    program.write_text(told, encoding="utf-8")
    for units in ("mm", "in"):
        report = look_at(program, demo_root() / "sensor_plate" / "job.yaml", CheckOptions(units)).report
        words = [
            word for finding in report.findings for word in re.findall(r"[ZF] -?[\d.]+ \S+", finding.action)
        ]
        assert len(words) >= 6
        assert {re.sub(r"[\d.,;-]", "", word.split()[2]) for word in words} <= (
            {"in", "in/min"} if first == "G20" else {"mm", "mm/min"}
        ), words


def test_measured_values_are_those_of_millimetres_converted(call) -> None:
    """1 in = 25.4 mm, 1 lbf = 4.448222 N (NIST SP 811, appendix B.8); 20 µm, 1000.6 mm/min, 284.4 N, 0.893 N/µm."""
    for name, says in (
        ("runout", ["run-out 0.79 thou (between 0.59 and 0.98 thou)", "run-out: 0.787 thou"]),
        ("real feed", ["X: 39.4 in/min (±0.3)", "asked for 39.4 in/min: +0.1 %"]),
        ("push", ["X: stalls at 64 lbf", "push: X 63.94 lbf"]),
        (
            "stiffness",
            ["X 5.1, Y 9.24 lbf/thou", "drop: 4.724 in", "18 lbf gave 0.00945 in", "9 lbf moves the tip"],
        ),
    ):
        text = call(*ASKED[name], "--units", "in")
        assert [part for part in says if part not in " ".join(text.split())] == [], text
    bare = call("measure", "runout", *WAY[:2], "--dial", "0 .0005 .0008 .0003", "--units", "in")
    assert "run-out 0.80 thou" in bare  # a bare number is in the unit asked for
    pull = ["measure", "thrust", *WAY[:2], "--x", "60", "--units", "in"]
    assert "X: stalls at 60 lbf" in call(*pull)


def test_a_cut_is_logged_in_inches(call) -> None:
    """0.02 in = 0.508 mm, 15 in/min = 381 mm/min; a named field keeps the unit of its name."""
    said = call("log", "add", *WAY, "--rpm", "13000", "--feed", "15", "--ap", "0.02", "--outcome", "good", "--units",
                "in", "--set", "drop_mm=60")  # fmt: skip
    assert "counted; the advice stays at 0.034 in and 15 in/min" in said
    told = call("log", "show", "1")
    assert re.search(r"depth \(ap\) +0.508 mm", told) and re.search(
        r"feed in the program +381 mm/min", told
    ), told
    assert re.search(r"drop +60 mm", told)
