"""No command replaces a file unasked, writes over an input, or waits at a pipe."""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path

import pytest

from millcalc.cli.main import run
from millcalc.tables import demo_root

PLATE = demo_root() / "sensor_plate"
WAY = ["--machine", "gantry-800w", "--material", "al-6082-t6", "--cutter", "flat-6mm-1f"]
CUT = [
    *("--machine", "m", "--material", "al", "--cutter", "c"),
    *("--rpm", "9000", "--feed", "300", "--outcome", "good"),
]


@pytest.fixture
def call(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("MILLCALC_LOG", str(tmp_path / "cuts.db"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "none"))
    for name in ("job.yaml", "good.nc"):
        shutil.copyfile(PLATE / name, tmp_path / name)

    def called(*words: str) -> tuple[int, str]:
        monkeypatch.setattr(sys, "argv", ["millcalc", *words])
        with pytest.raises(SystemExit) as ended:
            run()
        told = capsys.readouterr()
        return int(ended.value.code or 0), told.out + told.err

    return called


WRITES = {
    "page": ["check", "good.nc", "-o", "x.html"],
    "picture": ["check", "good.nc", "-o", "x.png"],
    "findings": ["check", "good.nc", "-o", "x.sarif"],
    "several": ["check", "good.nc", "good2.nc", "--workers", "1", "-o", "x.sarif.json"],
    "table": ["check", "good.nc", "-o", "x.csv"],
    "sheet": ["sheet", "job.yaml", "-o", "x.html"],
    "settings": ["settings", *WAY, "-o", "x.svg"],
    "stability": ["stability", *WAY, "--mode", "900 Hz, 0.02", "-o", "x.svg"],
    "export": ["log", "export", "-o", "x.csv"],
    "stats": ["log", "stats", "-o", "x.png"],
    "lift": ["lift", "good.nc", "--by", "15", "-o", "x.nc"],
    "correct": ["correct", "good.nc", "--job", "job.yaml", "-o", "x.nc"],
    "restart": ["restart", "good.nc", "--line", "30", "-o", "x.nc"],
    "demo": ["demo", "-o", "x.folder"],
    "proof": ["proof", "--job", "job.yaml", "--tool", "1", "-o", "x.nc"],
}


@pytest.mark.parametrize("case", WRITES)
def test_a_file_that_is_there_stays(case: str, tmp_path: Path, call) -> None:
    words = WRITES[case]
    shutil.copyfile(PLATE / "good.nc", tmp_path / "good2.nc")
    if words[0] == "log":
        assert call("log", "add", *CUT)[0] == 0
    target = tmp_path / words[-1]
    target.write_text("mine", encoding="utf-8")
    code, said = call(*words)
    told = " ".join(said.split())
    assert code == 2 and ("--force to replace it" in told or "does not exist yet" in told), said
    assert target.read_text(encoding="utf-8") == "mine"
    assert not list(tmp_path.glob(".*.part"))


@pytest.mark.parametrize(
    ("target", "words"),
    [
        ("p.yaml", ["lift", "good.nc", "--job", "p.yaml", "--by", "15", "-o"]),
        ("p.yaml", ["correct", "good.nc", "--job", "p.yaml", "-o"]),
        ("p.yaml", ["restart", "good.nc", "--job", "p.yaml", "--line", "30", "-o"]),
        ("p.nc", ["proof", "--job", "p.nc", "--tool", "1", "-o"]),
        ("p.png", ["check", "p.png", "-o"]),
        ("p.sarif.json", ["check", "p.sarif.json", "-o"]),
        ("p.sarif.json", ["check", "p.sarif.json", "good.nc", "--workers", "1", "-o"]),
        ("p.csv", ["check", "p.csv", "-o"]),
        ("p.html", ["check", "p.html", "-o"]),
        ("p.html", ["sheet", "p.html", "-o"]),
        ("p.svg", ["settings", "--job", "p.svg", "--tool", "1", "-o"]),
        ("p.svg", ["stability", "--job", "p.svg", "--tool", "1", "-o"]),
    ],
)
def test_an_input_is_not_written_over_even_when_forced(
    target: str, words: list[str], tmp_path: Path, call
) -> None:
    source = "job.yaml" if "--job" in words else "good.nc"
    os.link(tmp_path / source, tmp_path / target)  # also by another name of the same file
    text = (tmp_path / source).read_bytes()
    code, said = call(*words, target, "--force")
    assert code == 2 and "a file that is read in this run" in said, said
    assert (tmp_path / target).read_bytes() == text


def test_a_copied_job_is_whole(tmp_path: Path, call) -> None:
    assert call("demo", "-o", "new")[0] == 0
    for path in PLATE.rglob("*"):
        if path.is_file() and "__pycache__" not in path.parts:
            assert (tmp_path / "new" / path.relative_to(PLATE)).read_bytes() == path.read_bytes()
    assert call("demo", "-o", "new")[0] == 2
    assert call("demo", "-o", "none/new")[0] == 2


@pytest.mark.skipif(os.name != "posix", reason="pipes of POSIX")
@pytest.mark.parametrize(
    "words",
    [
        ["log", "add", *CUT, "--log", "pipe"],
        ["log", "add", *CUT, "--from-program", "pipe"],
        ["log", "add", *CUT, "--from-check", "pipe"],
        ["log", "add", *CUT, "--from-settings", "pipe"],
        ["log", "list", "--log", "pipe"],
        ["log", "import", "pipe"],
        ["check", "pipe"],
        ["check", "good.nc", "--job", "pipe"],
        ["proof", "--program", "pipe", "--result", "1"],
        ["measure", "frequency", *WAY[:2], *WAY[4:], "--stickout", "22", "--wav", "pipe"],
        ["measure", "stiffness", *WAY[:2], "--csv", "pipe"],
    ],
)
def test_no_command_waits_at_a_pipe(words: list[str], tmp_path: Path, call) -> None:
    os.mkfifo(tmp_path / "pipe")
    code, said = call(*words)
    assert code == 2 and "a device, pipe or socket; accepted: an ordinary file" in said, said
