"""Killed in the middle of writing, and two processes at once: nothing committed is lost, nothing breaks."""

from __future__ import annotations

import random
import subprocess
import sys
import time
from pathlib import Path

import pytest

from millcalc.cutlog.query import Query
from millcalc.cutlog.store import Log
from millcalc.cutlog.verify import verify_log

WRITER = Path(__file__).with_name("writer.py")


def _start(path: Path, seed: int, count: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, str(WRITER), str(path), str(seed), str(count)],
        stdout=subprocess.PIPE,
        text=True,
        encoding="utf-8",
    )


def _replay(lines: list[str], state: dict[int, tuple[str, str | None, bool]]) -> None:
    """Apply what a writer said to (uid, notes if edited, removed) by number, in place."""
    for line in lines:
        kind, number, *rest = line.split()
        if kind == "add":
            state[int(number)] = (rest[0], None, False)
        else:
            uid, notes, _ = state[int(number)]
            state[int(number)] = (uid, rest[0] if kind == "edit" else notes, kind == "remove")


def _holds(path: Path, state: dict[int, tuple[str, str | None, bool]], one_more: bool) -> None:
    """The log holds everything that was said; a killed writer may have committed one change it did not say."""
    with Log(path) as log:
        verdict = verify_log(log)
        assert verdict.problems == ()
        assert 0 <= verdict.entries + verdict.removed - len(state) <= int(one_more)
        unlike = 0
        for number, (uid, notes, removed) in state.items():
            stored = log.get(number)
            assert stored.entry.uid == uid
            unlike += stored.removed != removed or (notes is not None and stored.entry.notes != notes)
        assert unlike <= int(one_more)


@pytest.mark.slow
def test_killed_again_and_again_during_a_thousand_writes(tmp_path: Path) -> None:
    path = tmp_path / "cuts.db"
    rng = random.Random(7)
    state: dict[int, tuple[str, str | None, bool]] = {}
    written = kills = 0
    for seed in range(200):
        process = _start(path, seed, 1000)
        assert process.stdout is not None
        wanted = rng.randrange(120, 360)
        lines = [line for line in (process.stdout.readline() for _ in range(wanted)) if line]
        time.sleep(rng.random() * 0.003)
        process.kill()
        rest = process.stdout.read()  # not communicate(): that would leave what readline has read ahead
        process.wait(60)
        process.stdout.close()
        lines += [line for line in rest.splitlines(keepends=True) if line.endswith("\n")]
        kills += 1
        written += len(lines)
        _replay(lines, state)
        _holds(path, state, one_more=True)
        with Log(path) as log:  # take the unsaid change into account before the next round
            for stored in [*log.find(Query(limit=-1)), *log.find(Query(limit=-1, removed=True))]:
                edited = stored.entry.notes if "-" in stored.entry.notes.split(" ")[0] else None
                state[stored.number] = (stored.entry.uid, edited, stored.removed)
        if written >= 1000:
            break
    assert written >= 1000 and kills >= 3


def test_two_processes_write_at_once(tmp_path: Path) -> None:
    path = tmp_path / "cuts.db"  # not there yet: both also race to make it
    processes = [_start(path, seed, 150) for seed in (1, 2)]
    state: dict[int, tuple[str, str | None, bool]] = {}
    for process in processes:
        out, _ = process.communicate(timeout=120)
        assert process.returncode == 0
        lines = out.splitlines()
        assert len(lines) == 150
        before = len(state)
        _replay(lines, state)
        assert len(state) == before + sum(line.startswith("add") for line in lines)
    _holds(path, state, one_more=False)
    with Log(path) as log:
        assert {change.who for n in state for change in log.history(n)} == {"writer 1", "writer 2"}


@pytest.mark.parametrize("version", [1, 2])
def test_two_processes_bring_an_old_log_forward_at_once(tmp_path: Path, version: int) -> None:
    import sqlite3

    from millcalc.cutlog import schema

    path = tmp_path / "cuts.db"
    connection = sqlite3.connect(path, isolation_level=None)
    schema.bring_forward(connection, version)
    connection.close()
    processes = [_start(path, seed, 5) for seed in (1, 2)]
    for process in processes:
        process.communicate(timeout=60)
        assert process.returncode == 0
    with Log(path) as log:
        assert verify_log(log).problems == ()
        assert log.connection.execute("SELECT count(*) FROM batches").fetchone() == (10,)
