"""``--units in`` shows inches in every answer, millimetres show no inch, and 80 columns hold."""

from __future__ import annotations

import re
import shutil
import sys
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
    "list": ["log", "list"],
    "stats": ["log", "stats"],
    "show": ["log", "show", "1"],
    "similar": ["log", "similar", "--like", "1"],
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


def without_names(text: str) -> str:
    """The text on one line, without the titles of cutters and machines, which keep their own sizes."""
    joined = " ".join(text.split())
    for kind in ("cutters", "machines"):
        for one in sorted(summaries(kind)[0], key=lambda one: -len(one.title)):
            joined = joined.replace(one.title, "")
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
