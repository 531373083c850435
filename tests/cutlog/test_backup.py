"""Backup and restore: nothing acknowledged is lost, no stale companion is replayed, the old log is kept."""

from __future__ import annotations

import os
import shutil
import sqlite3
from datetime import date
from pathlib import Path

import pytest
from cuts import START, cut, days
from test_cli import run
from test_opening import _older

from millcalc.cutlog import backup, connect
from millcalc.cutlog.query import Query
from millcalc.cutlog.sound import WHOLE_BYTES
from millcalc.cutlog.store import Log
from millcalc.cutlog.verify import verify_log
from millcalc.errors import LogError

FILE = "cuts.db"


def _killed(path: Path, cuts: int = 20) -> None:
    """A log as a killed writer leaves it: all of its cuts stand in the write-ahead log only."""
    with Log(path) as log:
        log.add_many([cut(when=START + days(i), notes=f"cut {i}") for i in range(cuts)])
        log.connection.execute("PRAGMA wal_checkpoint(PASSIVE)")
        log.add_many([cut(when=START + days(cuts + i), notes=f"late {i}") for i in range(cuts)])
        for ending in ("", "-wal"):
            shutil.copyfile(f"{path}{ending}", f"{path}{ending}.kill")
    for ending in ("", "-wal"):
        Path(f"{path}{ending}.kill").replace(f"{path}{ending}")


def test_a_backup_holds_what_stands_in_the_write_ahead_log_only(tmp_path: Path) -> None:
    _killed(tmp_path / FILE)
    plain = sqlite3.connect("file:cuts.db?immutable=1", uri=True)  # what a copy of the one file would hold
    assert plain.execute("SELECT count(*) FROM cuts").fetchone() == (20,)
    plain.close()
    assert "40 entries written to safe.db; read again and found whole" in run("backup", "-o", "safe.db")
    assert sorted(one.name for one in tmp_path.glob("safe.db*")) == ["safe.db"]
    assert (
        Path("safe.db").read_bytes()[18:20] == b"\1\1"
    )  # needs no companion: read from where nobody may write
    with Log("safe.db", readonly=True) as log:
        assert log.count() == 40 and verify_log(log).problems == ()
    assert "--force" in run("backup", "-o", "safe.db", fails=2)
    assert "read in this run" in run("backup", "-o", FILE, "--force", fails=2)


def test_a_clean_end_leaves_one_file(tmp_path: Path) -> None:
    with Log(FILE) as reader, Log(FILE) as writer:
        assert reader.count() == 0
        writer.add(cut())
    with Log(FILE, readonly=True) as reader:
        assert reader.count() == 1
        with Log(FILE) as writer:  # one who reads does not keep the cuts out of the file
            writer.add(cut())
        plain = sqlite3.connect("file:cuts.db?immutable=1", uri=True)
        assert plain.execute("SELECT count(*) FROM cuts").fetchone() == (2,)
        plain.close()


def test_restore_beside_a_stale_write_ahead_log_gives_what_was_backed_up(tmp_path: Path) -> None:
    with Log(FILE) as log:
        log.add(cut(notes="first"))
    run("backup", "-o", "safe.db")
    _killed(tmp_path / FILE)
    assert Path("cuts.db-wal").stat().st_size > 0
    told = run("restore", "safe.db")
    assert "cuts.db: 1 entries, as in safe.db" in told and "before, with 41 entries, is kept as" in told
    with Log(FILE) as log:
        assert [one.entry.notes for one in log.find()] == ["first"] and verify_log(log).problems == ()
    (kept,) = tmp_path.glob("cuts.db.before-restore.*")
    with Log(kept, readonly=True) as log:
        assert log.count() == 41


@pytest.mark.parametrize("state", ["gone", "empty", "one byte", "no head", "cut short"])
def test_restore_over_a_log_that_is_lost(tmp_path: Path, state: str) -> None:
    with Log(FILE) as log:
        log.add_many([cut(notes="x" * 800) for _ in range(40)])
    run("backup", "-o", "safe.db")
    _killed(tmp_path / FILE, 3)
    path = Path(FILE)
    whole = path.read_bytes()
    if state == "gone":
        path.unlink()
    else:
        left = {
            "empty": b"",
            "one byte": b"S",
            "no head": b"\0" * 100 + whole[100:],
            "cut short": whole[:20_000],
        }
        path.write_bytes(left[state])
    stale = Path("cuts.db-wal").read_bytes()
    told = run("restore", "safe.db")
    assert "40 entries" in told and "which could not be read, is kept as" in told
    with Log(FILE) as log:
        assert log.count() == 40 and verify_log(log).problems == ()
    (kept,) = tmp_path.glob("cuts.db.damaged.*-wal")
    assert kept.read_bytes() == stale


def test_what_is_no_whole_backup_is_not_restored(tmp_path: Path) -> None:
    with Log(FILE) as log:
        log.add_many([cut(notes="x" * 500) for _ in range(60)])
    run("backup", "-o", "safe.db")
    data = bytearray(Path("safe.db").read_bytes())
    data[4096 * 3 : 4096 * 5] = b"\xff" * 8192
    Path("bad.db").write_bytes(data)
    Path("letter.db").write_text("dear friend", encoding="utf-8")
    other = sqlite3.connect("other.db")
    other.execute("CREATE TABLE recipes (name)")
    other.close()
    before = Path(FILE).read_bytes()
    for name, said in (
        ("bad.db", "damaged"), ("letter.db", "not a log"), ("other.db", "something else"), ("none.db", "no log"),
        (FILE, "the log itself"),
    ):  # fmt: skip
        assert said in run("restore", name, fails=2)
    assert Path(FILE).read_bytes() == before
    assert "something else" in str(_refusal("restore", "safe.db", "--log", "other.db"))  # a slip of --log


def _refusal(*words: str) -> str:
    from typer.testing import CliRunner

    from millcalc.cli.log import app

    return str(CliRunner().invoke(app, list(words)).exception)


def _break_index(name: str, index: str = "cuts_by_notes") -> None:
    """Damage that no listing meets."""
    with Log(name, readonly=True) as log:
        sql = "SELECT rootpage FROM sqlite_master WHERE name = ?"
        (page,) = log.connection.execute(sql, (index,)).fetchone()
    data = bytearray(Path(name).read_bytes())
    data[(page - 1) * 4096 : page * 4096] = b"\x0a" + bytes(4095)
    Path(name).write_bytes(data)


def test_a_damaged_log_is_neither_backed_up_nor_restored_from(tmp_path: Path) -> None:
    with Log(FILE) as log:
        log.add_many([cut(notes=f"note {i}") for i in range(30)])
    run("backup", "-o", "safe.db")
    shutil.copyfile("safe.db", "bad.db")
    _break_index("bad.db")
    assert "a damaged backup (file:" in run("restore", "bad.db", fails=2)
    _break_index(FILE)
    with Log(FILE, readonly=True) as log:
        assert log.count() == 30
        with pytest.raises(LogError, match="no backup was made of it; `millcalc log recover"):
            backup.daily_backup(log.connection, log.path)
    assert "no backup was made of it" in run("backup", "-o", "more.db", fails=2)
    assert "the file itself is damaged, and nothing will be written into it; `millcalc log recover" in run(
        "verify", fails=1
    )
    assert (
        not Path("more.db").exists()
        and not list(tmp_path.glob("*.part"))
        and not list(tmp_path.glob("*.backup"))
    )
    assert "30 entries" in run("restore", "safe.db")


def test_an_older_backup_is_brought_forward(tmp_path: Path) -> None:
    _older(tmp_path / "old.db", 1)
    run("restore", "old.db")
    with Log(FILE) as log:
        assert log.count() == 3 and verify_log(log).problems == ()


def test_the_first_write_of_a_day_makes_a_backup_and_five_days_stay(tmp_path: Path) -> None:
    with Log(FILE) as log:
        log.add(cut(notes="one"))
        assert not list(tmp_path.glob("*.backup"))  # there was nothing to keep
    with Log(FILE) as log:
        log.add(cut(notes="two"))
        log.add(cut(notes="three"))
    (today,) = tmp_path.glob("*.backup")
    with Log(today, readonly=True) as kept:
        assert [one.entry.notes for one in kept.find()] == ["one"]
    today.unlink()
    with Log(FILE) as log:
        for day in range(8):
            assert backup.daily_backup(log.connection, log.path, date(2025, 1, 1 + day)) is not None
            assert backup.daily_backup(log.connection, log.path, date(2025, 1, 1 + day)) is None
    names = sorted(one.name for one in tmp_path.glob("*.backup"))
    assert names == [f"cuts.db.2025-01-0{day}.backup" for day in (4, 5, 6, 7, 8)]
    run("restore", names[0])
    assert run("list").count("flat") == 3


@pytest.mark.parametrize("size", ["small", "large"])
def test_nothing_is_written_into_a_damaged_log(tmp_path: Path, size: str) -> None:
    with Log(FILE) as log:
        log.add_many([cut(notes="x" * (500 if size == "small" else 9000)) for _ in range(300)])
    with Log(FILE) as log:
        backup.daily_backup(log.connection, log.path, date(2020, 1, 1))
        os.utime("cuts.db.2020-01-01.backup", (1.6e9, 1.6e9))
        log.add(cut())  # makes the day's backup
    whole = Path(FILE).read_bytes()
    assert (len(whole) > WHOLE_BYTES) == (size == "large")
    with Log(FILE, readonly=True) as log:
        (page,) = log.connection.execute(
            "SELECT rootpage FROM sqlite_master WHERE name = 'cuts_by_time'"
        ).fetchone()
    broken = bytearray(whole)
    broken[(page - 1) * 4096 : page * 4096] = os.urandom(4096)
    for data in (bytes(broken), whole[: len(whole) // 2]):
        Path(FILE).write_bytes(data)
        for words in (
            ["add", "--machine", "m", "--material", "acrylic", "--cutter", "c", "--outcome", "good"],
            ["remove", "1"], ["undo"], ["edit", "1", "--set", "notes=x"], ["machine-changed", "x", "--machine", "m"],
        ):  # fmt: skip
            told = " ".join(run(*words, fails=2).split())
            assert "`millcalc log recover -o NEW.db` saves every entry" in told, told
            assert '.backup"` puts the newest backup in its place' in told
        assert Path(FILE).read_bytes() == data
    name = max(one.name for one in tmp_path.glob("cuts.db.*.backup"))
    assert f'restore "{name}"' in told
    run("restore", name)  # the way out that was named
    assert "logged as entry 301" in run(
        "add", "--machine", "m", "--material", "acrylic", "--cutter", "c", "--outcome", "good"
    )


def test_an_empty_file_beside_a_backup_is_no_new_log(tmp_path: Path) -> None:
    with Log(FILE) as log:
        log.add(cut())
    with Log(FILE) as log:
        log.add(cut())
    Path(FILE).write_bytes(b"")
    with pytest.raises(LogError, match="empty file beside what is left of a log"):
        Log(FILE)
    assert Path(FILE).read_bytes() == b""


def test_part_files_of_a_killed_migration_are_cleared(tmp_path: Path) -> None:
    import time

    old = time.time() - backup.LEFT_OVER_S - 5
    names = ("cuts.db.version2.20250101T000000.backup.99.part", ".cuts.db.version2.2025.backup.0a.part",
             ".cuts.db.version2.2025.backup.0a.part-journal")  # fmt: skip
    others = ("plate.part", ".cuts.db.new.part", "cuts.db.version2.2025.backup")
    for name in names + others:
        Path(name).write_bytes(b"x")
        if name != ".cuts.db.new.part":  # still being written
            os.utime(name, (old, old))
    _older(tmp_path / FILE, 1)
    with Log(FILE) as log:
        assert log.count() == 3
    assert not [name for name in names if Path(name).exists()]
    assert all(Path(name).exists() for name in others)


def test_a_restore_waits_for_no_one_forever(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with Log(FILE) as log:
        log.add(cut())
    run("backup", "-o", "safe.db")
    monkeypatch.setattr(connect, "WAIT_S", 0.05)
    with Log(FILE) as holder:
        holder.connection.execute("BEGIN IMMEDIATE")
        holder.connection.execute("UPDATE cuts SET removed = removed")
        assert "in use by another program" in run("restore", "safe.db", fails=2)
        holder.connection.execute("ROLLBACK")
        assert holder.count(Query()) == 1


def test_a_process_killed_as_it_changed_the_way_of_writing_blocks_nobody(tmp_path: Path) -> None:
    """A hot rollback journal cannot be taken back by one who only reads."""
    _older(tmp_path / FILE, 2)
    connection = sqlite3.connect(FILE, isolation_level=None)
    connection.execute("PRAGMA cache_size = 1")
    connection.execute("BEGIN")
    connection.execute("UPDATE cuts SET notes = 'half done'")
    connection.execute("CREATE TABLE half AS SELECT zeroblob(4096) FROM cuts, cuts AS more, cuts AS most")
    assert Path("cuts.db-journal").stat().st_size > 0
    for ending in ("", "-journal"):
        shutil.copyfile(f"{FILE}{ending}", f"kept{ending}")
    connection.close()
    for write in (False, True):
        for ending in ("", "-journal"):
            shutil.copyfile(f"kept{ending}", f"killed.db{ending}")
        with Log("killed.db", readonly=not write) as log:
            assert {one.entry.notes for one in log.find()} == {"note 0", "note 1", "note 2"}


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
def test_a_pipe_is_neither_waited_for_nor_replaced(tmp_path: Path) -> None:
    with Log("other.db") as log:
        log.add(cut())
    os.mkfifo(FILE)
    for words in (
        ["list"],
        ["verify"],
        ["undo"],
        ["backup", "-o", "x.db"],
        ["restore", "other.db"],
        ["recover", "-o", "x.db"],
    ):
        assert "a device, pipe or socket" in run(*words, fails=2)
    assert not Path(FILE).is_file() and not Path("x.db").exists()
