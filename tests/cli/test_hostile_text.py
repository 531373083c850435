"""What others wrote never commands the terminal: every command with hostile notes, names, comments, arguments."""

from __future__ import annotations

import ast
import json
import shutil
import sys
from pathlib import Path

import pytest
from rich.table import Table
from rich.text import Text

from millcalc.cli.lazy import COMMANDS
from millcalc.report.careful import careful_text
from millcalc.report.console import make_console
from millcalc.shown import OBEYED, code, shown
from millcalc.tables import demo_root
from tests.helpers.sources import modules, nodes_of

# clears the screen; names the window; C1 control sequence; turns the direction; backspaces; ends nothing
HOSTILE = "a\x1b[2Jb\x1b]0;c\x07d\x9b31me\u202ef\u2066g\x08\x7fh"
NAME = HOSTILE.replace("/", "")
CUT = [
    "--machine",
    "gantry-800w",
    "--material",
    "al-6082-t6",
    "--cutter",
    "flat-6mm-1f",
    "--rpm",
    "12000",
    "--feed",
    "300",
]


def test_codes_keep_their_meaning_in_json() -> None:
    for text in (HOSTILE, "\U000e0041", "\u2028", "\x00\r"):
        assert not OBEYED.search(shown(text))
        assert json.loads(f'"{shown(text)}"') == text
    assert code("\x1b") == "\\u001b"
    assert shown("6 mm\t\u00b5 \u2192\n") == "6 mm\t\u00b5 \u2192\n"


def test_console_shows_codes_in_every_kind_of_text(capsys: pytest.CaptureFixture[str]) -> None:
    console = make_console(width=300)
    table = Table(HOSTILE)
    table.add_row(Text(HOSTILE))
    for thing in (HOSTILE, Text(HOSTILE, style="bold"), table):
        console.print(thing)
    out = capsys.readouterr().out
    assert not OBEYED.search(out) and out.count("\\u001b[2J") == 4


def test_styles_stay_on_their_characters() -> None:
    text = Text.assemble("a\x1b", ("b", "bold"), "c")
    made = careful_text(text)
    assert made.plain == "a\\u001bbc" and [(s.start, s.end) for s in made.spans if s.style == "bold"] == [
        (7, 8)
    ]


def test_commands_print_by_one_way() -> None:
    """No command prints or asks past ``say``, ``answer_to`` and the careful console."""
    found = []
    for path in modules():
        for node in nodes_of(path):
            if path.name != "say.py" and isinstance(node, ast.Call):
                name = ast.unparse(node.func)
                if name in ("typer.echo", "print", "input", "Console", "click.echo"):
                    found.append((path.name, name))
    assert found == [("common.py", "print")]  # the notice before kernels are compiled: our words only


@pytest.fixture
def hostile(tmp_path: Path) -> dict[str, str]:
    """A program with hostile comments under a hostile name, a job that says hostile things, a log with such notes."""
    plate = demo_root() / "sensor_plate"
    shutil.copy(plate / "job.yaml", tmp_path / "job.yaml")
    program = tmp_path / (NAME + ".nc" if sys.platform != "win32" else "x.nc")
    text = f"({HOSTILE})\nG21 G90 G17 G94 G54\nT1 M6 ({HOSTILE})\nS13200 M3\nG0 X40 Y40 Z1\n;{HOSTILE}\n"
    text += f"G1 Z-0.3 F190\nG1 X60 {HOSTILE}\nG1 X90 F0\nG0 Z12\nM5\nM30\n"
    program.write_text(text, encoding="utf-8")
    bad = tmp_path / "bad.yaml"
    bad.write_text(
        json.dumps({"title": HOSTILE, HOSTILE: 1, "stock": {"material": HOSTILE}}), encoding="utf-8"
    )
    return {
        "program": str(program), "job": str(tmp_path / "job.yaml"), "bad": str(bad), "folder": str(tmp_path),
        "log": str(tmp_path / "cuts.db"), "none": str(tmp_path / NAME),
    }  # fmt: skip


def _ran(
    words: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> tuple[int, str]:
    from millcalc.cli.main import run

    monkeypatch.setattr(sys, "argv", ["millcalc", *words])
    with pytest.raises(SystemExit) as ended:
        run()
    heard = capsys.readouterr()
    assert not OBEYED.search(heard.out + heard.err), (words, heard)
    assert "Traceback" not in heard.err
    return int(ended.value.code or 0), heard.out + heard.err


def test_log_notes_are_shown_as_codes(
    hostile: dict[str, str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    log = ["--log", hostile["log"]]
    add = ["log", "add", *CUT, "--outcome", "good", "--notes", HOSTILE, "--set", f"bit={HOSTILE}", *log]
    status, text = _ran(add, monkeypatch, capsys)
    assert status == 0, text
    for words in (
        ["show", "1"],
        ["list"],
        ["show", "1", "--json"],
        ["list", "--json"],
        ["learn"],
        ["edit", "1", "--notes", HOSTILE],
    ):
        status, text = _ran(["log", *words, *log], monkeypatch, capsys)
        assert status != 3, text
        if words[0] == "show":
            assert "\\u001b[2J" in text and "\\u202e" in text


@pytest.mark.parametrize("command", list(COMMANDS))
def test_arguments_are_shown_as_codes(
    command: str, hostile: dict[str, str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    if command == "new":
        return  # asks; its file name is said back by the errors below
    for words in (
        [NAME],
        ["--" + HOSTILE],
        [hostile["none"]],
        ["--machine", HOSTILE],
        ["--job", hostile["none"]],
    ):
        status, _ = _ran([command, *words], monkeypatch, capsys)
        assert status in (0, 1, 2), words


@pytest.mark.parametrize("job", ["job", "bad", "none", ""])
@pytest.mark.parametrize(
    "command", ["check", "show", "compare", "correct", "lift", "restart", "screws", "sheet"]
)
def test_programs_and_jobs_are_shown_as_codes(
    command: str,
    job: str,
    hostile: dict[str, str],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    out = str(Path(hostile["folder"]) / "out.html")
    more = {
        "check": ["-o", out], "sheet": ["-o", out], "lift": ["-o", out, "--by", "15"],
        "correct": ["-o", out], "restart": ["--line", "7"], "compare": [hostile["program"]],
    }.get(command, [])  # fmt: skip
    words = [command, hostile["program"], *more]
    if job and command not in ("show", "compare"):
        words += ["--job", hostile[job]]
    status, text = _ran(words, monkeypatch, capsys)
    assert status in (0, 1, 2), text
    if command in ("check", "sheet") and Path(out).exists():
        assert not OBEYED.search(Path(out).read_text(encoding="utf-8"))
