"""Every millcalc command in README runs, in a folder that holds what README supposes."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest

from millcalc.tables import demo_root

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
# these ask questions; their help is asked for instead
ASKING = {"millcalc page", "millcalc new job", "millcalc proof", "millcalc alloy", "millcalc log add"}


def _commands() -> list[str]:
    fenced = re.findall(r"^(millcalc .+)$", README, re.M)
    inline = re.findall(r"`(millcalc [^`]+)`", README)
    found = dict.fromkeys(line for line in (*fenced, *inline) if "..." not in line and "FILE" not in line)
    return list(found)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sensor plate under the names README uses."""
    folder = tmp_path_factory.mktemp("readme")
    plate = demo_root() / "sensor_plate"
    for name in ("part.nc", "good.nc.old"):
        shutil.copy(plate / "good.nc", folder / name)
    (folder / "good.nc.old").rename(folder / "old.nc")
    shutil.copy(plate / "bad.nc", folder / "new.nc")
    job = (plate / "job.yaml").read_text(encoding="utf-8").replace("program: good.nc", "program: part.nc")
    (folder / "job.yaml").write_text(job, encoding="utf-8")
    shutil.copytree(demo_root() / "window", folder / "jobs")
    _advise_and_log(folder)
    return folder


def _advise_and_log(folder: Path) -> None:
    """What README's earlier commands leave behind, so that each command runs on a worker of its own."""
    from typer.testing import CliRunner

    from millcalc.cli.main import app

    cut = ["--machine", "gantry-800w", "--material", "6082", "--cutter", "flat-6mm-1f"]
    advice = CliRunner().invoke(app, ["settings", *cut, "--proven", "--no-learn", "--json"])
    assert advice.exit_code == 0, advice.output
    (folder / "cut.json").write_text(advice.stdout, encoding="utf-8")
    words = ["log", "add", *cut, "--outcome", "good", "--log", str(folder / "cuts.db")]
    logged = CliRunner().invoke(app, words)
    assert logged.exit_code == 0, logged.output


@pytest.mark.parametrize("line", _commands())
def test_command_runs(line: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from typer.testing import CliRunner

    from millcalc.cli.main import app

    monkeypatch.chdir(folder)
    monkeypatch.setenv("MILLCALC_LOG", str(folder / "cuts.db"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(folder / "none"))
    monkeypatch.setenv("APPDATA", str(folder / "none"))
    words, _, target = line.partition(" > ")
    arguments = shlex.split(words)[1:]
    if words in ASKING:
        arguments.append("--help")
    result = CliRunner().invoke(app, arguments)
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    if target:
        (folder / target.strip()).write_text(result.stdout, encoding="utf-8")
    assert result.exit_code in (0, 1), result.output
    assert "Traceback" not in result.output
