"""SARIF, table, several programs and ``millcalc compare`` as a person runs them."""

from __future__ import annotations

import json
import re
import shutil
import sys
from pathlib import Path

import jsonschema
import pytest

from millcalc.cli.main import run
from millcalc.report.check_json import report_schema
from millcalc.tables import demo_root
from tests.helpers.command import run_apart

PLATE = demo_root() / "sensor_plate"
CLEAN = "G21 G90 G94 G17 G54\nG0 Z5\nG0 X5 Y5\nS9000 M3\nG4 P5\nG1 Z1 F90\nG0 Z5\nM5\nM30\n"


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "none"))
    monkeypatch.setenv("APPDATA", str(tmp_path / "none"))
    (tmp_path / "clean.nc").write_text(CLEAN, encoding="utf-8")
    (tmp_path / "dirty.nc").write_text(CLEAN.replace("X5", "X5.5.5"), encoding="utf-8")
    return tmp_path


@pytest.fixture
def call(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch):
    def called(*arguments: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["millcalc", *arguments])
        with pytest.raises(SystemExit) as ended:
            run()
        told = capsys.readouterr()
        return (ended.value.code if isinstance(ended.value.code, int) else 0), told.out, told.err

    return called


def test_sarif_and_table_to_files(here: Path, call) -> None:
    code, out, _ = call("check", "dirty.nc", "-o", "c.sarif", "-o", "t.csv")
    assert code == 1 and "c.sarif as SARIF 2.1.0" in out and "4 motions written to t.csv" in out
    assert "there is no job file" in out
    log = json.loads((here / "c.sarif").read_text(encoding="ascii"))
    assert log["runs"][0]["artifacts"][0]["location"]["uri"] == "dirty.nc"
    assert (here / "t.csv").read_bytes().count(b"\n") == 5 and b"\r" not in (here / "t.csv").read_bytes()
    assert call("check", "dirty.nc", "-o", "c.sarif", "-o", "t.csv", "--force")[0] == 1
    for name in ("x.sarif", "x.csv"):
        (here / name).write_text("mine", encoding="utf-8")
        code, out, err = call("check", "clean.nc", "-o", name)
        assert code == 2 and "a file of that name; accepted: a new name, or --force" in err and not out
        assert (here / name).read_text(encoding="utf-8") == "mine"
    assert not list(here.glob("*.part"))


def test_standard_output_holds_one_thing(here: Path, call) -> None:
    code, out, _ = call("check", "dirty.nc", "--sarif")
    assert code == 1 and json.loads(out)["version"] == "2.1.0"
    code, out, err = call("check", "clean.nc", "--csv")
    assert code == 0 and out.startswith("motion,line,tool,kind,") and "are empty" in err
    for both in (["--sarif", "--json"], ["--csv", "--json"], ["--sarif", "--csv"]):
        code, out, err = call("check", "clean.nc", *both)
        assert code == 2 and "standard output" in err and not out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["-o", "x.txt"], ".sarif"),
        (["-o", "x.parquet"], ".csv"),
        (["-o", "no/such/x.csv"], "no such folder"),
        (["--workers", "0"], "workers"),
    ],
)
def test_what_cannot_be_written_is_told_before_the_work(
    here: Path, call, arguments: list[str], said: str
) -> None:
    code, out, err = call("check", "clean.nc", *arguments)
    assert code == 2 and said in err and not out


def test_several_programs_are_one_table(here: Path, call) -> None:
    code, out, err = call("check", "clean.nc", "dirty.nc", "gone.nc", "--workers", "1")
    assert code == 2 and "gone.nc" in err
    places = [out.index(name) for name in ("gone.nc", "dirty.nc", "clean.nc")]
    assert places == sorted(places), "the worst comes first"
    assert "NOT CHECKED" in out and "STOP WORD-03 line 3" in out and "NOTE TRAVEL-06" in out
    assert "2 of 3 programs checked" in out and "look yourself" in out and "glasses" in out.lower()
    rows = [
        line for line in out.splitlines() if line.split()[:1] in (["gone.nc"], ["dirty.nc"], ["clean.nc"])
    ]
    assert len(rows) == 3, "one line a program"
    assert not any(word in out.lower().split() for word in ("safe", "safely", "ok"))
    assert all(len(line) <= 100 for line in out.splitlines())
    assert call("check", "clean.nc", "dirty.nc", "--workers", "1")[0] == 1
    assert call("check", "clean.nc", "clean.nc", ".", "--workers", "1", "--floor", "stop")[0] == 1
    code, out, _ = call("check", "clean.nc", "clean.nc", "--workers", "1", "--accept", "TRAVEL-06=seen")
    assert code == 0 and "no problem found in what was checked" in out
    assert "accepted by you and not counted: 1 finding" in out


def test_several_programs_as_json_and_sarif(here: Path, call) -> None:
    code, out, _ = call("check", "clean.nc", "gone.nc", "--json", "-o", "c.sarif", "--workers", "1")
    good, gone = json.loads(out)
    assert code == 2
    jsonschema.Draft202012Validator(report_schema()).validate(good)
    assert (
        gone["format"] == "millcalc-check-error" and gone["program"] == "gone.nc" and gone["exit_code"] == 2
    )
    run = json.loads((here / "c.sarif").read_text(encoding="ascii"))["runs"][0]
    assert len(run["artifacts"]) == 2 and run["invocations"][0]["executionSuccessful"] is False


def test_what_shows_one_program_is_refused_for_several(here: Path, call) -> None:
    for option in (["-o", "x.html"], ["-o", "x.csv"], ["--picture"]):
        code, out, err = call("check", ".", *option)
        assert code == 2 and option[0] in err and not out
    (here / "none").mkdir()
    code, _, err = call("check", "none")
    assert code == 2 and "no program in this folder" in err
    (here / "bad.yaml").write_text("stok: 7\n", encoding="utf-8")
    code, out, err = call("check", ".", "--job", "bad.yaml")
    assert code == 2 and err.count("bad.yaml") == 1 and not out


def test_a_folder_in_processes(here: Path) -> None:
    shutil.copytree(demo_root() / "window", here / "shop" / "window")
    (here / "clean.nc").rename(here / "shop" / "clean.nc")
    done = run_apart(["check", "shop", "--floor", "stop", "--workers", "2"], here)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "shop/window/good.nc" in done.stdout.replace("\\", "/") and "job.yaml" in done.stdout
    assert "1 program without a job: only the text was checked" in " ".join(done.stdout.split())
    assert "Traceback" not in done.stderr


def test_compare_says_what_differs(here: Path, call) -> None:
    (here / "b.nc").write_text(CLEAN.replace("F90", "F45"), encoding="utf-8")
    code, out, _ = call("compare", "clean.nc", "b.nc")
    assert code == 1 and "They differ in the feed." in out
    assert re.search(r"(?m)^ feeds .* differs$", out), out  # two feeds that differ do not read alike
    assert "1 motion with another feed: B has 0.5 times that of A" in out
    assert "A 6, B 6: feed (1 motion): feed 90 mm/min → 45 mm/min" in out
    assert "first, A 6:  G1 Z1 F90" in out and "not that either is fit to run" in out
    code, out, _ = call("compare", "clean.nc", "b.nc", "--json")
    data = json.loads(out)
    assert code == 1 and data["motions"]["other_setting"] == {"feed": 1} and not data["same"]
    assert data["stretches"][0]["first"] == ["feed 90 mm/min → 45 mm/min"]


def test_compare_of_the_same(here: Path, call) -> None:
    (here / "twin.nc").write_text("(twin)\n" + CLEAN.lower(), encoding="utf-8")
    code, out, _ = call("compare", "clean.nc", "twin.nc")
    assert code == 0 and "Another text, but the same motions" in out
    code, out, _ = call("compare", "clean.nc", "clean.nc")
    assert code == 0 and "byte for byte" in out


def test_compare_with_a_job_compares_the_cut(here: Path, call) -> None:
    text = (PLATE / "good.nc").read_text(encoding="utf-8")
    (here / "short.nc").write_text(text[: text.index("\n", len(text) // 2)] + "\nM30\n", encoding="utf-8")
    job = str(PLATE / "job.yaml")
    code, out, _ = call(
        "compare", str(PLATE / "good.nc"), "short.nc", "--job", job, "--cell", "0.5", "--json"
    )
    data = json.loads(out)
    assert code == 1
    removed = [data[side]["cut"]["removed_cm3"] for side in "ab"]
    assert removed[0] > removed[1] > 0
    left = data["left_over"]
    # what one leaves more is what it removed less; heights within the tolerance do not count
    assert left["more_in_b_mm3"] - left["more_in_a_mm3"] == pytest.approx(
        1000 * (removed[0] - removed[1]), rel=0.05
    )
    assert data["motions"]["only_in_a"] > 50 and data["motions"]["only_in_b"] == 0
    code, out, _ = call(
        "compare", str(PLATE / "good.nc"), "short.nc", "--job", job, "--cell", "0.5", "--units", "in"
    )
    assert code == 1 and "what is left of the stock differs over" in out and " in³" in out


def test_compare_of_what_cannot_be_used(here: Path, call) -> None:
    for arguments, said in (
        (["clean.nc", "gone.nc"], "gone.nc"),
        (["clean.nc", "."], "a directory"),
        (["clean.nc", "dirty.nc", "--tolerance", "-1"], "tolerance"),
        (["clean.nc", "dirty.nc", "--tolerance", "soft"], "tolerance"),
        (["clean.nc", "dirty.nc", "--job", "gone.yaml"], "gone.yaml"),
        (["clean.nc"], "B"),
    ):
        code, out, err = call("compare", *arguments)
        assert code == 2 and said in err and not out, err
