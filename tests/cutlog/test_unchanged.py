"""A log over 1 MB that others changed is looked through whole before a write; one that was left so need not be."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path

import pytest
from cuts import START, cut, days

from millcalc.cutlog import sound, unchanged
from millcalc.cutlog.store import Log
from millcalc.errors import LogError


@pytest.fixture
def large(tmp_path: Path) -> Path:
    """A log over 1 MB, its day's backup made, as the last command left it."""
    path = tmp_path / "cuts.db"
    with Log(path) as log:
        log.add_many([cut(when=START + days(i), notes="n" * 4000) for i in range(260)])
    with Log(path) as log:
        log.add(cut(notes="as left"))
    assert path.stat().st_size > sound.WHOLE_BYTES
    return path


@pytest.fixture
def looks(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """One more entry for each look through the whole file."""
    seen: list[int] = []
    whole = sound.structure_problems

    def counted(connection: sqlite3.Connection, most: int = 20) -> list[str]:
        seen.append(most)
        return whole(connection, most)

    monkeypatch.setattr(sound, "structure_problems", counted)
    return seen


def test_a_log_as_it_was_left_is_not_looked_through_again(large: Path, looks: list[int]) -> None:
    for number in range(3):
        with Log(large) as log:
            log.add(cut(notes=f"more {number}"))
        assert unchanged.is_as_left(large)
    assert not looks


def test_one_that_was_touched_is_looked_through_once(large: Path, looks: list[int]) -> None:
    os.utime(large, ns=(0, 0))
    for _ in range(2):
        with Log(large) as log:
            log.add(cut())
    assert looks == [3]


@pytest.mark.parametrize("page", [0.3, 0.5, 0.7])
def test_a_page_that_another_program_spoilt_stops_the_write(large: Path, page: float) -> None:
    data = bytearray(large.read_bytes())
    at = int(page * len(data) / 4096) * 4096
    data[at : at + 4096] = os.urandom(4096)
    large.write_bytes(bytes(data))
    for _ in range(2):  # the second time too: what was found damaged is not taken for left so
        with pytest.raises(LogError, match=r"(?s)damaged log .*nothing was written"):
            Log(large)
    assert large.read_bytes() == data


def test_a_killed_writer_leaves_no_note_behind(large: Path, looks: list[int]) -> None:
    other = sqlite3.connect(large, isolation_level=None)
    other.execute("UPDATE cuts SET notes = 'by another' WHERE number = 5")  # stands in the write-ahead log
    assert not unchanged.is_in_one_file(large)
    with Log(large) as log:
        log.add(cut())
    assert not unchanged.is_noted(large) and not looks
    other.close()
    Log(large).close()
    assert looks == [3] and unchanged.is_as_left(large)


def test_a_small_log_needs_no_note(tmp_path: Path) -> None:
    path = tmp_path / "cuts.db"
    for _ in range(2):
        with Log(path) as log:
            log.add(cut())
    assert not unchanged.is_noted(path)


def test_a_folder_that_takes_no_note_is_no_hindrance(large: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object, **__: object) -> int:
        raise OSError("no room")

    unchanged.forget(large)
    monkeypatch.setattr(Path, "write_text", full)
    with Log(large) as log:
        log.add(cut())
    assert not unchanged.is_as_left(large)
