"""Files that are new, older, newer, damaged, foreign, full or not to be written."""

from __future__ import annotations

import os
import random
import sqlite3
from pathlib import Path

import pytest
from cuts import cut

from millcalc.cutlog import connect, schema
from millcalc.cutlog.cells import cell_of_values
from millcalc.cutlog.query import Query
from millcalc.cutlog.store import Log
from millcalc.cutlog.verify import verify_log
from millcalc.errors import LogError

WHEN = "2025-03-01T09:00:00.000000+00:00"


def _older(path: Path, version: int, rows: int = 3) -> None:
    """A log as the given version wrote it, with some rows."""
    connection = sqlite3.connect(path, isolation_level=None)
    schema.bring_forward(connection, min(version, 3))
    for i in range(rows):
        columns = {
            "cut_at": WHEN,
            "machine": "shed gantry",
            "cutter": "flat 6 mm",
            "diameter_mm": 6.0,
            "flutes": 1,
            "material": "acrylic",
            "speed_rpm": 18000.0,
            "feed_mm_min": 720.0 + i,
            "axial_depth_mm": 0.6,
            "radial_width_mm": 1.0,
            "outcome": "good",
            "notes": f"note {i}",
        }
        if version >= 2:
            columns |= {"uid": f"{i:032x}", "override_percent": 50.0, "symptoms": '["burr"]'}
        names = ", ".join(columns)
        marks = ", ".join("?" * len(columns))
        connection.execute(f"INSERT INTO cuts ({names}) VALUES ({marks})", list(columns.values()))
    if version > 3:  # from version 4 on each row has its checksum, which that step writes
        schema.bring_forward(connection, version)
    connection.close()


@pytest.mark.parametrize("version", range(1, schema.VERSION))
def test_every_older_version_is_brought_forward_with_a_backup(tmp_path: Path, version: int) -> None:
    path = tmp_path / "cuts.db"
    _older(path, version)
    with Log(path) as log:
        assert log.connection.execute("PRAGMA user_version").fetchone() == (schema.VERSION,)
        found = log.find(Query(limit=-1))
        assert [s.entry.notes for s in found] == ["note 2", "note 1", "note 0"]
        assert len({s.entry.uid for s in found}) == 3
        assert all(len(s.entry.uid) == 32 for s in found)
        assert {s.entry.symptoms for s in found} == ({("burr",)} if version >= 2 else {()})
        assert verify_log(log).problems == ()
        log.edit(found[0].number, {"notes": "still works"})
        log.add(cut())
        log.undo()
    (backup,) = tmp_path.glob("*.version*.backup")
    assert f"version{version}" in backup.name
    old = sqlite3.connect(backup)
    assert old.execute("PRAGMA user_version").fetchone() == (version,)
    assert old.execute("SELECT count(*) FROM cuts").fetchone() == (3,)
    old.close()
    with Log(path):  # a second opening makes no second backup
        assert len(list(tmp_path.glob("*.version*.backup"))) == 1


def test_search_cells_are_computed_for_old_entries(tmp_path: Path) -> None:
    path = tmp_path / "cuts.db"
    _older(path, 2)
    connection = sqlite3.connect(path, isolation_level=None)
    schema.bring_forward(connection)  # kc is new in version 3, so the cell stays open ...
    assert connection.execute("SELECT DISTINCT cell FROM cuts").fetchall() == [(None,)]
    connection.close()
    with Log(path) as log:  # ... until someone says which material it was
        log.edit(1, {"kc11_n_mm2": 60.0})
        entry = log.get(1).entry
        wanted = cell_of_values(6.0, 60.0, 0.6, entry.largest_chip_mm)
        assert log.connection.execute("SELECT cell FROM cuts WHERE number = 1").fetchone() == (wanted,)


@pytest.mark.parametrize("version", range(1, schema.VERSION))
def test_reading_an_older_log_does_not_touch_it(tmp_path: Path, version: int) -> None:
    path = tmp_path / "cuts.db"
    _older(path, version)
    before = path.read_bytes()
    with Log(path, readonly=True) as log:
        assert log.count() == 3
        with pytest.raises(LogError, match="may not be written"):
            log.remove(1)
    assert path.read_bytes() == before
    assert not list(tmp_path.glob("*.version*.backup"))


def test_a_migration_that_fails_leaves_the_old_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "cuts.db"
    _older(path, 1)

    def breaks(connection: sqlite3.Connection) -> None:
        connection.execute("ALTER TABLE cuts ADD COLUMN half TEXT")
        raise sqlite3.OperationalError("invented trouble")

    monkeypatch.setattr(schema, "STEPS", (schema.STEPS[0], breaks, *schema.STEPS[2:]))
    with pytest.raises(LogError, match="invented trouble"):
        Log(path)
    monkeypatch.undo()
    old = sqlite3.connect(path)
    assert old.execute("PRAGMA user_version").fetchone() == (1,)
    assert "half" not in {row[1] for row in old.execute("PRAGMA table_info(cuts)")}
    old.close()
    with Log(path) as log:
        assert log.count() == 3


def test_a_newer_log_is_refused_untouched(tmp_path: Path) -> None:
    path = tmp_path / "cuts.db"
    with Log(path) as log:
        log.add(cut())
        log.connection.execute(f"PRAGMA user_version = {schema.VERSION + 1}")
    before = path.read_bytes()
    for readonly in (True, False):
        with pytest.raises(LogError, match=f"version {schema.VERSION + 1}.*install the newer"):
            Log(path, readonly=readonly)
    assert path.read_bytes() == before


def test_another_programs_database_is_refused_untouched(tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    other = sqlite3.connect(path)
    other.execute("CREATE TABLE recipes (name)")
    other.commit()
    other.close()
    before = path.read_bytes()
    for readonly in (True, False):
        with pytest.raises(LogError, match="database of something else"):
            Log(path, readonly=readonly)
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    "content", [b"G21 G90\nM30\n" * 200, b"\x00" * 4096, b"SQLite format 3\x00" + b"\xff" * 4000]
)
def test_what_is_no_database_is_refused_untouched(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "cuts.db"
    path.write_bytes(content)
    for readonly in (True, False):
        with pytest.raises(LogError):
            Log(path, readonly=readonly)
    assert path.read_bytes() == content


def test_a_damaged_log_never_ends_in_anything_but_a_log_error(tmp_path: Path) -> None:
    path = tmp_path / "cuts.db"
    with Log(path) as log:
        log.add_many([cut(notes="x" * 500) for _ in range(60)])
    whole = path.read_bytes()
    noticed = 0
    for seed in range(25):
        rng = random.Random(seed)
        broken = bytearray(whole)
        for _ in range(40):
            broken[rng.randrange(100, len(broken))] = rng.randrange(256)
        path.write_bytes(broken)
        for companion in (path.with_name("cuts.db-wal"), path.with_name("cuts.db-shm")):
            companion.unlink(missing_ok=True)
        try:
            with Log(path, readonly=True) as log:
                noticed += bool(verify_log(log).problems)
                log.find(Query(limit=-1))
        except LogError:
            noticed += 1
    assert noticed >= 20  # bytes inside a note can change without any structure being hurt


def test_a_truncated_log_is_noticed(tmp_path: Path) -> None:
    path = tmp_path / "cuts.db"
    with Log(path) as log:
        log.add_many([cut(notes="x" * 500) for _ in range(60)])
    path.write_bytes(path.read_bytes()[: 4096 * 4])
    with pytest.raises(LogError, match="damaged"), Log(path, readonly=True) as log:
        problems = verify_log(log).problems
        assert not problems
        log.find(Query(limit=-1))


def test_disk_full_loses_nothing_that_was_saved(log: Log) -> None:
    log.add(cut())
    (pages,) = log.connection.execute("PRAGMA page_count").fetchone()
    log.connection.execute(f"PRAGMA max_page_count = {pages}")
    with pytest.raises(LogError, match="no room left"):
        log.add_many([cut(notes="y" * 2000) for _ in range(50)])
    assert log.count() == 1
    assert verify_log(log).problems == ()
    log.connection.execute("PRAGMA max_page_count = 1000000")
    log.add(cut())
    assert log.count() == 2


def test_readonly_never_makes_or_changes_a_file(tmp_path: Path) -> None:
    with pytest.raises(LogError, match="no log"):
        Log(tmp_path / "none.db", readonly=True)
    with pytest.raises(LogError, match="no log"):
        Log(tmp_path / "none.db", create=False)
    (tmp_path / "empty.db").touch()
    with pytest.raises(LogError, match="no log"):
        Log(tmp_path / "empty.db", readonly=True)
    assert not (tmp_path / "none.db").exists()


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() == 0, reason="write protection binds no administrator"
)
def test_write_protected_folder_can_still_be_read(tmp_path: Path) -> None:
    folder = tmp_path / "shelf"
    with Log(folder / "cuts.db") as log:
        log.add(cut())
    (folder / "cuts.db").chmod(0o444)
    folder.chmod(0o555)
    try:
        with Log(folder / "cuts.db", readonly=True) as log:
            assert log.count() == 1
        with pytest.raises(LogError):
            Log(folder / "cuts.db").add(cut())
        with pytest.raises(LogError):
            Log(folder / "new.db")
    finally:
        folder.chmod(0o755)


def test_folder_and_file_in_the_way_are_named(tmp_path: Path) -> None:
    with pytest.raises(LogError, match="found a folder"):
        Log(tmp_path)
    (tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(LogError, match=r"cannot be made|cannot be opened|no log"):
        Log(tmp_path / "file" / "cuts.db")


def test_odd_names_are_taken_as_they_are(tmp_path: Path) -> None:
    path = tmp_path / "my log #1? 100% über.db"
    try:
        path.touch()
    except OSError:
        pytest.skip("this file system does not take the name")
    with Log(path) as log:
        log.add(cut())
    assert path.stat().st_size > 0
    with Log(path, readonly=True) as log:
        assert log.count() == 1


def test_the_writer_that_waits_too_long_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "cuts.db"
    with Log(path) as first:
        monkeypatch.setattr(connect, "WAIT_S", 0.05)
        with Log(path) as second:
            first.connection.execute("BEGIN IMMEDIATE")
            with pytest.raises(LogError, match="in use by another program"):
                second.add(cut())
            assert second.count() == 0  # reading goes on
            first.connection.execute("ROLLBACK")
            second.add(cut())
        assert first.count() == 1
