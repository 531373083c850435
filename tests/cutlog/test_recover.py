"""What can still be read of a damaged file is saved, the rest is named; the format is SQLite's published one."""

from __future__ import annotations

import random
import shutil
import sqlite3
from pathlib import Path

import pytest
from cuts import START, cut, days
from test_backup import _killed
from test_cli import run
from test_opening import _older
from test_unreadable import _bad

from millcalc.cutlog.alterations import alterations, note_alteration
from millcalc.cutlog.models import Stored
from millcalc.cutlog.pages import read_pages, rows_of
from millcalc.cutlog.query import Query
from millcalc.cutlog.recover import recover_log, spans
from millcalc.cutlog.store import Log
from millcalc.cutlog.verify import verify_log
from millcalc.errors import LogError

FILE, NEW = "cuts.db", "new.db"


def _made(count: int = 120) -> dict[int, Stored]:
    """A log with long and short notes, edits, entries taken out, an alteration."""
    with Log(FILE, who="tester") as log:
        log.connection.execute("PRAGMA synchronous = OFF")
        log.add_many(
            [
                cut(
                    when=START + days(i),
                    notes="größer " * (1400 if i % 20 == 7 else 6),
                    shares={"power": 0.25 + i / 1e3},
                )
                for i in range(count)
            ]
        )
        for number in range(5, count, 10):
            log.edit(number, {"feed_mm_min": 600.0, "outcome": "failed", "size_error_mm": -0.0})
        for number in range(9, count, 17):
            log.remove(number)
        note_alteration(log, "shed gantry", "stiffer plate", START + days(3))
        return _all(log)


def _all(log: Log) -> dict[int, Stored]:
    both = [*log.find(Query(limit=-1)), *log.find(Query(limit=-1, removed=True))]
    return {one.number: one for one in both}


def test_a_whole_log_is_recovered_whole() -> None:
    known = _made()
    told = run("recover", "-o", NEW)
    assert "120 entries saved in new.db" in told and "1 alterations" in told and "lost" not in told
    with Log(FILE, readonly=True) as old, Log(NEW, readonly=True) as new:
        sql = "SELECT number, field, before, after FROM changes ORDER BY change"
        assert old.connection.execute(sql).fetchall() == new.connection.execute(sql).fetchall()
    with Log(NEW) as log:
        assert _all(log) == known and verify_log(log).problems == ()
        assert [one.what for one in alterations(log, "shed gantry")] == ["stiffer plate"]
        assert {c.field for c in log.history(5)} == {"", "feed_mm_min", "outcome", "size_error_mm"}
        assert log.add(cut()).number == 121
        log.undo()
        assert "removal" in log.undo()


def test_rows_read_without_the_database_are_those_it_reads() -> None:
    _made(40)
    found = {(row.rowid, len(row.values)) for row in rows_of(read_pages(Path(FILE)))}
    plain = sqlite3.connect(FILE)
    for table in ("cuts", "batches", "changes", "alterations", "sqlite_master"):
        rows = plain.execute(f"SELECT rowid, * FROM {table}").fetchall()
        assert rows and {(row[0], len(row) - 1) for row in rows} <= found
    plain.close()


@pytest.mark.parametrize("damage", ["no first page", "one leaf", "zeros", "half", "index", "inner page"])
def test_damage_costs_what_lay_there_and_no_more(damage: str) -> None:
    known = _made(160)
    with Log(FILE, readonly=True) as log:
        run_sql = log.connection.execute
        roots = dict(run_sql("SELECT name, rootpage FROM sqlite_master WHERE rootpage > 0").fetchall())
    data = bytearray(Path(FILE).read_bytes())
    size, pages = 4096, len(data) // 4096
    leaf = next(n for n in range(30, pages) if data[(n - 1) * size] == 13 and data[(n - 1) * size + 4] > 3)
    hit = {
        "no first page": 1,
        "one leaf": leaf,
        "zeros": leaf,
        "index": roots["cuts_by_time"],
        "inner page": roots["cuts"],
    }
    if damage == "half":
        data = data[: len(data) // 2]
    else:
        fill = bytes(size) if damage == "zeros" else random.Random(5).randbytes(size)
        data[(hit[damage] - 1) * size : hit[damage] * size] = fill
    Path(FILE).write_bytes(data)
    done = recover_log(Path(FILE), Path(NEW))
    assert Path(FILE).read_bytes() == data
    with Log(NEW) as log:
        saved = _all(log)
        assert verify_log(log).problems == () and len(saved) == done.entries
    assert all(known[number] == one for number, one in saved.items())
    if damage in ("no first page", "index", "inner page"):
        assert len(saved) == 160 and done.lost == []
    else:
        assert set(done.lost) == set(known) - set(saved) and saved
        assert len(saved) > (140 if damage != "half" else 20)


def test_what_stands_in_the_write_ahead_log_only_is_saved(tmp_path: Path) -> None:
    _killed(tmp_path / FILE)
    data = bytearray(Path(FILE).read_bytes())
    data[:4096] = b"\0" * 4096
    Path(FILE).write_bytes(data)
    recover_log(Path(FILE), Path(NEW))
    with Log(NEW, readonly=True) as log:
        assert log.count() == 40
    wal = bytearray(Path("cuts.db-wal").read_bytes())
    frames = [at for at in range(32, len(wal), 4096 + 24) if wal[at + 8 : at + 16] == wal[16:24]]
    Path("cuts.db-wal").write_bytes(wal[: frames[-1]])  # without the frame that ends the last transaction
    assert recover_log(Path(FILE), Path(NEW), force=True).entries == 20  # all of it or nothing
    wal[len(wal) // 2] ^= 1  # from there on nothing of it can be trusted
    Path("cuts.db-wal").write_bytes(wal)
    done = recover_log(Path(FILE), Path(NEW), force=True)
    assert 20 <= done.entries <= 40


def test_a_loose_page_with_an_older_state_is_not_believed() -> None:
    known = _made(30)
    data = Path(FILE).read_bytes()
    pages = [data[at : at + 4096] for at in range(0, len(data), 4096)]
    leaf = next(page for page in pages if page[0] == 13 and b"shed gantry" in page)
    with Log(FILE) as log:
        log.edit(3, {"notes": "the newer state"})
        known[3] = log.get(3)
    Path(FILE).write_bytes(Path(FILE).read_bytes() + leaf)
    recover_log(Path(FILE), Path(NEW))
    with Log(NEW, readonly=True) as log:
        assert _all(log) == known


def test_a_row_under_another_number_is_not_believed() -> None:
    _made(30)
    with Log(FILE) as log:
        log.connection.execute("PRAGMA foreign_keys = OFF")
        log.connection.execute("UPDATE cuts SET number = 77 WHERE number = 4")
    done = recover_log(Path(FILE), Path(NEW))
    assert done.doubtful == [77] and 4 in done.lost


def test_bad_values_are_mended_or_named() -> None:
    with Log(FILE) as log:
        log.add(cut())
        _bad(log, "feed_mm_min", -5.0)
        _bad(log, "material", b"\xff")
        _bad(log, "shares", "[" * 4000)
        log.add(cut(notes="changed later"))
        log.connection.execute("UPDATE cuts SET notes = 'silently' WHERE number = 5")
        _bad(log, "machine", b"\xff")
    told = run("recover", "-o", NEW, fails=1)
    assert "4 entries saved" in told and "lost: entry 3, 6;" in told
    assert "entry 2: feed_mm_min -5.0 cannot be, and is unknown now" in told and "entry 4: shares" in told
    assert "left out until `millcalc log edit` confirms it: entry 5" in told
    with Log(NEW) as log:
        found = [one.number for one in log.find()]
        assert sorted(found) == [1, 2, 4] and set(log.left_out) == {5}
        assert log.get(2).entry.feed_mm_min is None
        assert log.add(cut()).number == 7  # a lost number is not given again
    assert 'millcalc log restore "new.db"` puts it in the place' in told
    assert "before, with 6 entries, is kept" in run("restore", NEW)


def test_a_head_that_states_another_size_of_page_misleads_nobody() -> None:
    known = _made(30)
    data = bytearray(Path(FILE).read_bytes())
    data[16:18] = (8192).to_bytes(2, "big")
    Path(FILE).write_bytes(data)
    assert recover_log(Path(FILE), Path(NEW)).entries == len(known)


@pytest.mark.parametrize("version", [1, 2, 3])
def test_an_older_log_is_recovered_too(tmp_path: Path, version: int) -> None:
    _older(tmp_path / FILE, version)
    assert "3 entries saved" in run("recover", "-o", NEW)
    with Log(NEW) as log:
        assert verify_log(log).problems == () and {one.entry.notes for one in log.find()} == {
            "note 0",
            "note 1",
            "note 2",
        }


def test_what_holds_no_entry_is_refused() -> None:
    Path(FILE).write_text("dear friend\n" * 1000, encoding="utf-8")
    assert "nothing that an entry of a log could be" in run("recover", "-o", NEW, fails=2)
    assert not Path(NEW).exists()
    Path(FILE).unlink()
    assert "cuts.db" in run("recover", "-o", NEW, fails=2)
    _made(30)
    assert "read in this run" in run("recover", "-o", FILE, "--force", fails=2)


def test_any_damage_gives_a_whole_log_or_one_line() -> None:
    known = _made(60)
    whole = Path(FILE).read_bytes()
    shutil.copyfile(FILE, "whole.db")
    for seed in range(6):
        rng, data = random.Random(seed), bytearray(whole)
        for _ in range(rng.choice((1, 20, 2000))):
            data[rng.randrange(len(data))] = rng.randrange(256)
        Path(FILE).write_bytes(data[: rng.randrange(len(data)) if seed % 3 == 0 else None])
        try:
            done = recover_log(Path(FILE), Path(NEW), force=True)
        except LogError as error:
            assert len(Path(FILE).read_bytes()) < 20_000, error  # no page of entries is left
            continue
        with Log(NEW) as log:
            assert not [
                text for text in verify_log(log, 500).problems if not text.startswith(("entry", "change"))
            ]
            saved = _all(log)
            assert {n for n, one in saved.items() if one.entry != known[n].entry} <= _mended(done.mended)


def _mended(texts: list[str]) -> set[int]:
    return {int(text.split(":")[0].split()[1]) for text in texts}


def test_numbers_are_told_in_spans() -> None:
    assert spans([3, 7, 8, 9, 12]) == "3, 7 to 9, 12" and spans(range(1, 100, 2), 2) == "1, 3 ..."
