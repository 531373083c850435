"""Whatever may take long shows on a terminal that it goes on, and writes nothing into a pipe."""

from __future__ import annotations

import io
import shutil
import sys
from pathlib import Path

import pytest

from millcalc.cli.main import run as main

DEMO = Path(__file__).parents[2] / "demo_jobs" / "window"


class Terminal(io.StringIO):
    """Standard error of a person who is watching."""

    encoding = "utf-8"

    def isatty(self) -> bool:
        return True


COMMANDS = {
    "check": ["check", "good.nc", "--job", "job.yaml"],
    "a folder": ["check", "."],
    "correct": ["correct", "good.nc", "--job", "job.yaml", "-o", "new.nc"],
    "compare": ["compare", "good.nc", "other.nc"],
    "lift": ["lift", "good.nc", "-o", "up.nc", "--by", "20 mm"],
    "restart": ["restart", "good.nc", "--job", "job.yaml"],
    "screws": ["screws", "good.nc", "--job", "job.yaml"],
    "show": ["show", "good.nc"],
    "log import": ["log", "import", "cuts.csv", "--log", "cuts.db"],
    "log verify": ["log", "verify", "--log", "cuts.db"],
    "log backup": ["log", "backup", "-o", "copy.db", "--log", "cuts.db"],
}


def run(arguments: list[str], monkeypatch: pytest.MonkeyPatch, error: io.StringIO) -> str:
    """What a command writes to standard error."""
    with monkeypatch.context() as patch:
        patch.setenv("TERM", "xterm")
        patch.setattr(sys, "argv", ["millcalc", *arguments])
        patch.setattr(sys, "stderr", error)
        with pytest.raises(SystemExit):
            main()
    return error.getvalue()


@pytest.mark.parametrize("name", COMMANDS)
def test_progress_on_a_terminal_only(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    for file in ("good.nc", "job.yaml"):
        shutil.copyfile(DEMO / file, tmp_path / file)
    shutil.copyfile(DEMO / "good.nc", tmp_path / "other.nc")
    (tmp_path / "cuts.csv").write_text(
        "when,machine,cutter,material,speed_rpm,feed_mm_min,axial_depth_mm,radial_width_mm,outcome\n"
        "2025-03-01T09:00:00+00:00,gantry,flat-6mm-1f,al-6082-t6,18000,700,0.5,6,good\n",
        encoding="utf-8",
    )
    arguments = COMMANDS[name]
    if arguments[0] == "log" and arguments[1] != "import":
        run(COMMANDS["log import"], monkeypatch, io.StringIO())
    seen = run(arguments, monkeypatch, Terminal())
    assert "\x1b[" in seen, "no bar on a terminal"
    again = ["--force"] if "-o" in arguments else []
    piped = run([*arguments, *again], monkeypatch, io.StringIO())
    assert "\x1b" not in piped
    assert all("error" in line or "first run" in line for line in piped.splitlines()), piped
