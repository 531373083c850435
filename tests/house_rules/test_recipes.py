"""The recipes of DEVELOPERS.md for tables, a rule, a command and a dialect profile, carried out as they stand there."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml
from typer.testing import CliRunner

import millcalc.cli
from millcalc.check import codes
from millcalc.cli import lazy
from millcalc.cli.main import app
from millcalc.errors import InputError, UsageError
from millcalc.gcode import profiles
from millcalc.gcode.options import ReadOptions
from millcalc.gcode.reader import read_program
from millcalc.preflight import all_rules, registry
from millcalc.tables import demo_root
from tests.helpers.command import flat

ROOT = Path(__file__).parents[2]
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PROGRAM = "G21 G90 G94 F600\nM3 S9000\nG0 X0 Y0 Z5\nG1 X30 Y40\nG4 P500\nG83 X1 Y1 Z-2 R1 Q1\nG80\nM5\nM30\n"


def recipe(title: str) -> str:
    """The code that stands in a chapter of the guide."""
    chapter = GUIDE.split(f"## {title}\n")[1].split("\n## ")[0]
    found = re.search(r"```\w+\n(.*?)```", chapter, re.S)
    assert found is not None
    return found[1]


def run(*arguments: str) -> tuple[int, str]:
    result = CliRunner().invoke(app, list(arguments))
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result.exit_code, result.output


@pytest.fixture
def moves(tmp_path: Path) -> Path:
    path = tmp_path / "moves.nc"
    path.write_text("G21 G90 G94 F600\nG0 X0 Y0 Z0\nG1 X30 Y40\nM30\n", encoding="utf-8")
    return path


# ---- a material and a cutter


def test_the_toy_material_and_cutter_are_judged_and_cut(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for title, kind, name in (
        ("material", "materials", "toy-alloy"),
        ("cutter", "cutters", "flat-5mm-2f-toy"),
    ):
        path = tmp_path / "materials" / kind / f"{name}.yaml"
        path.parent.mkdir(parents=True)
        path.write_text(recipe(f"Add a {title}"), encoding="utf-8")
        code, text = run("tables", "--check", str(path))
        assert code == 0 and f"can be used ({kind})" in text
    what = ["--machine", "gantry-800w", "--material", "toyal", "--cutter", "flat-5mm-2f-toy", "--no-learn"]
    code, text = run("settings", *what, "--json")
    found = json.loads(text)
    assert code == 0 and (found["material"], found["cutter"]) == ("toy-alloy", "flat-5mm-2f-toy")
    assert 80.0 <= found["settings"]["speed_rpm"] * 3.1416 * 5.0 / 1000.0 <= 130.0  # vc = pi D n / 1000


def test_a_source_that_is_not_listed_does_not_load(tmp_path: Path) -> None:
    path = tmp_path / "materials" / "cutters" / "toy.yaml"
    path.parent.mkdir(parents=True)
    text = recipe("Add a cutter").replace("source: common-practice", "source: nowhere")
    path.write_text(text, encoding="utf-8")
    code, text = run("tables", "--check", str(path))
    assert code == 2 and "toy.yaml:5: source: found unknown source 'nowhere'" in flat(text)


# ---- a rule


@pytest.fixture
def pause(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The guide's rule in the register."""
    monkeypatch.setattr(registry, "_RULES", {rule.code: rule for rule in all_rules()})
    exec(compile(recipe("Add a rule"), "pause.py", "exec", dont_inherit=True), {"__name__": "pause"})
    for cached in (all_rules, codes._all_docs):
        cached.cache_clear()
    yield
    for cached in (all_rules, codes._all_docs):
        cached.cache_clear()


def test_the_toy_rule_speaks_is_explained_and_obeyed(pause: None, tmp_path: Path) -> None:
    path = tmp_path / "part.nc"
    path.write_text(PROGRAM.replace("P500", "P90"), encoding="utf-8")
    code, text = run("check", str(path), "--json", "--no-simulation")
    found = [each for each in json.loads(text)["findings"] if each["code"] == "PAUSE-01"]
    assert code == 1 and len(found) == 1
    assert (found[0]["measured"], found[0]["limit"], found[0]["unit"]) == (90.0, 60.0, "s")
    assert found[0]["action"] == "write M0 in its place: the machine then waits for you"
    path.write_text(PROGRAM.replace("G4 P500", "M0"), encoding="utf-8")
    obeyed = json.loads(run("check", str(path), "--json", "--no-simulation")[1])
    assert "PAUSE-01" in obeyed["checked"]
    assert "PAUSE-01" not in {each["code"] for each in obeyed["findings"]}
    code, text = run("explain", "PAUSE-01")
    assert code == 0 and "Whoever waits that long walks away" in text and "G4 P90" in text


# ---- a command


@pytest.fixture
def travel(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The guide's command, its file and its row in their places."""
    chapter = GUIDE.split("## Add a command\n")[1]
    row = re.search(r'`"(\w+)": \("(\w+)", "([^"]+)"\)`', chapter)
    assert row is not None
    name, module, line = row.groups()
    folder = tmp_path / "cli"
    folder.mkdir()
    (folder / f"{module}.py").write_text(recipe("Add a command"), encoding="utf-8")
    monkeypatch.setattr(millcalc.cli, "__path__", [*millcalc.cli.__path__, str(folder)])
    monkeypatch.setitem(lazy.COMMANDS, name, (module, line))
    yield
    sys.modules.pop(f"millcalc.cli.{module}", None)


def test_the_toy_command_stands_in_the_overview_and_is_imported_when_called(
    travel: None, moves: Path
) -> None:
    code, overview = run("--help")
    assert code == 0 and re.search(r"travel +How far a program moves\.", overview)
    assert "millcalc.cli.travel" not in sys.modules
    code, text = run("travel", "--help")
    assert code == 0 and "Say how far the tip moves in a program." in text and "--profile" in text
    assert run("travel", str(moves)) == (0, "50.0 mm\n")
    code, data = run("travel", str(moves), "--json")
    assert json.loads(data) == {"travel_mm": 50.0}


def test_the_toy_command_refuses_what_it_cannot_answer(travel: None, tmp_path: Path) -> None:
    still = tmp_path / "still.nc"
    still.write_text("M30\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"still\.nc.*no motion from a known place.*a program that moves"):
        run("travel", str(still))


@pytest.mark.parametrize("title", ["Add a rule", "Add a command"])
def test_the_code_of_a_recipe_keeps_the_house_style(title: str, tmp_path: Path) -> None:
    path = tmp_path / "recipe.py"
    path.write_text(recipe(title), encoding="utf-8")
    for words in (["check"], ["format", "--check"]):
        ruff = [sys.executable, "-m", "ruff", *words, "--config", str(ROOT / "pyproject.toml"), str(path)]
        done = subprocess.run(ruff, capture_output=True, text=True, encoding="utf-8", check=False)
        assert done.returncode == 0, done.stdout + done.stderr


# ---- a dialect profile


@pytest.fixture
def toy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The guide's profile beside the shipped ones."""
    folder = tmp_path / "profiles"
    shutil.copytree(Path(str(profiles.FOLDER)), folder)
    path = folder / "toy-firmware.yaml"
    path.write_text(recipe("Add a dialect profile"), encoding="utf-8")
    monkeypatch.setattr(profiles, "FOLDER", folder)
    profiles.load_profile.cache_clear()
    yield path
    profiles.load_profile.cache_clear()


def test_the_toy_profile_is_read_by(toy: Path) -> None:
    assert "toy-firmware" in profiles.profile_names()
    with pytest.raises(UsageError, match="toy-firmware"):
        profiles.load_profile("toy-firmwear")
    program = read_program(PROGRAM.encode(), options=ReadOptions(profile="toy-firmware"))
    refused = next(finding for finding in program.findings if finding.code == "WORD-07")
    assert refused.line == 6
    assert refused.fact == (
        "G83 is not accepted by toy firmware without peck drilling, with dwells in milliseconds "
        "(profile toy-firmware)"
    )
    assert max(program.motions.dwell_s) == pytest.approx(0.5)
    assert max(read_program(PROGRAM.encode()).motions.dwell_s) == pytest.approx(500.0)
    long = read_program(
        b"G21 G90 G94 F600 (" + b"x" * 30 + b")\nM30\n", options=ReadOptions(profile="toy-firmware")
    )
    assert any("this controller class reads 30" in finding.fact for finding in long.findings)


def test_the_toy_profile_is_taken_by_option_and_by_the_job(toy: Path, tmp_path: Path) -> None:
    path = tmp_path / "part.nc"
    path.write_text(PROGRAM, encoding="utf-8")
    code, text = run("check", str(path), "--profile", "toy-firmware", "--json", "--no-simulation")
    assert code == 1 and "G83 is not accepted by toy firmware" in text
    assert "toy firmware" not in run("check", str(path), "--json", "--no-simulation")[1]
    job = (demo_root() / "sensor_plate" / "job.yaml").read_text(encoding="utf-8")
    data = yaml.safe_load(job)
    data |= {
        "program": "part.nc",
        "controller": {**(data.get("controller") or {}), "profile": "toy-firmware"},
    }
    (tmp_path / "job.yaml").write_text(yaml.safe_dump(data, allow_unicode=True), encoding="utf-8")
    code, text = run("check", "--job", str(tmp_path / "job.yaml"), "--json", "--no-simulation")
    assert code == 1 and "G83 is not accepted by toy firmware" in text


def test_a_field_that_is_not_known_does_not_load(toy: Path) -> None:
    toy.write_text(toy.read_text(encoding="utf-8") + "refuse_codes: [83]\n", encoding="utf-8")
    with pytest.raises(ValueError, match="refuse_codes"):
        profiles.load_profile("toy-firmware")


def test_every_profile_stands_in_the_guide_of_the_language() -> None:
    guide = (ROOT / "docs" / "language.md").read_text(encoding="utf-8")
    assert re.findall(r"^\| `([a-z0-9-]+)` \|", guide.split("## Dialect profiles")[1], re.M)
    for name in profiles.profile_names():
        assert f"| `{name}` |" in guide
