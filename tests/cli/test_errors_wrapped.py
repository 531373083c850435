"""Errors on standard error keep to the width, and what is to be copied from them stays whole."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pytest

from millcalc.cli.main import run as run_here
from millcalc.cli.say import fitted
from tests.helpers.command import flat, run


class Terminal(io.TextIOWrapper):
    """Standard error of a terminal."""

    def isatty(self) -> bool:
        return True


def told(words: list[str], monkeypatch: pytest.MonkeyPatch, columns: int, encoding: str = "utf-8") -> str:
    """What a command says to a terminal of so many columns."""
    stream = Terminal(io.BytesIO(), encoding=encoding)
    with monkeypatch.context() as patch:
        patch.setenv("COLUMNS", str(columns))
        patch.setenv("TERM", "xterm")
        patch.setattr(sys, "argv", ["millcalc", *words])
        patch.setattr(sys, "stderr", stream)
        with pytest.raises(SystemExit) as ended:
            run_here()
    assert ended.value.code == 2
    stream.flush()
    return stream.buffer.getvalue().decode(encoding)  # type: ignore[attr-defined]


@pytest.mark.parametrize("columns", [60, 80, 120])
@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["settings"], "give --machine NAME --material NAME --cutter NAME, or --job JOB.yaml"),
        (["settings", "--cut", "slott"], "'ramp', 'helix', 'drill'. Did you mean slot?"),
        (["setings"], "No such command 'setings'. Did you mean settings?"),
        (["log", "lst"], "No such command 'lst'. Did you mean 'list'?"),
        (["settings", "--stikout", "3"], "No such option: --stikout. Did you mean --stickout?"),
        (["log", "show", "x"], "write a whole number"),
        (["settings", "--cut", "zzz"], "'zzz' is not one of 'slot', 'side'"),
        (
            ["settings", "--machine", "gantry-800w", "--material", "alu", "--cutter", "6mm"],
            "6mm 1 flute ball",
        ),
        (["explain", "chip", "lode"], "closest: chip load, chipload, chip-load; do: run"),
    ],
)
def test_an_error_keeps_to_the_width(
    words: list[str], says: str, columns: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "none"))
    text = told(words, monkeypatch, columns)
    assert says in flat(text)
    assert max(len(line) for line in text.splitlines()) <= columns, text
    said = text.partition("Error:")[2] or text  # what stands before is the library's
    assert [line for line in said.splitlines() if line != line.rstrip()] == []


def test_in_a_pipe_it_is_as_wide_as_everything_else_there(tmp_path: Path) -> None:
    for columns, most in ((None, 100), ("70", 70)):
        more = {} if columns is None else {"COLUMNS": columns}
        lines = run(["settings"], tmp_path, **more).stderr.splitlines()
        assert most - 25 < max(len(line) for line in lines) <= most
        assert lines[0].startswith("millcalc: found no machine") and lines[1].startswith("  ")


NAME = "a folder of plates, the second try/sensor plate, both sides and the pocket, as drawn in May.nc"


def test_a_name_with_blanks_stays_whole_to_be_copied(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert len(NAME) > 80
    for words in (["check", NAME], ["check", f"{tmp_path}/{NAME}"], ["sheet", NAME, "-o", "x.html"]):
        name = words[1]
        lines = told(words, monkeypatch, 80).splitlines()
        whole = [line for line in lines if name in line]
        assert len(whole) == 1, lines
        assert all(len(line) <= 80 for line in lines if line not in whole), lines


def test_a_command_to_type_is_not_broken(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    command = "`millcalc log edit 12 --set feed_mm_min=VALUE`"
    for before in range(40, 80):
        lines = fitted("x" * before + f" put it right with {command}, or take it out").splitlines()
        assert len([line for line in lines if command in line]) == 1 and max(map(len, lines)) <= 80


def test_a_stream_of_ascii_gets_what_it_can_carry(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    text = told(["check", "Türblech × 2.nc"], monkeypatch, 80, "ascii")
    assert "T?rblech x 2.nc: found no file of that name" in flat(text)
