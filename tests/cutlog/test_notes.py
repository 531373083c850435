"""Searching the notes finds what reading every note finds, with and without the index; a damaged one is made anew."""

from __future__ import annotations

import random
import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cuts import cut

from millcalc.cutlog import notes
from millcalc.cutlog.query import Query
from millcalc.cutlog.store import Log
from millcalc.cutlog.verify import verify_log
from millcalc.errors import LogError

WORDS = [
    "plate",
    "chatter",
    "Burr",
    "ÄRGER",
    "ärger",
    "smoke",
    "100%",
    "r_s",
    "a\\b",
    '"tab"',
    "it's",
    "漢字漢字",
    "two",
    "",
    "blanks",
    "(x)",
    "x",
]
SOUGHT = [
    "chatter", "BURR", "burr", "ärger", "Ärger", "ärg", "100%", "r_s", "a\\b", '"tab"', "it's", "漢字漢", "字", "x",
    "%%%",
    "blanks (x", "plate plate", "atter sm", "no such words", "", "   ", "aaa", "- OR -", "a AND b", "*", "te\0te",
]  # fmt: skip


def filled(path: Path, number: int = 300, seed: int = 3) -> Log:
    rng = random.Random(seed)
    log = Log(path)
    start = datetime(2025, 1, 1, tzinfo=UTC)
    log.add_many(
        cut(
            notes=" ".join(rng.choices(WORDS, k=rng.randint(0, 5))).strip(),
            when=start + timedelta(minutes=rng.randint(0, 50)),
            machine=rng.choice(("gantry", "mill")),
        )
        for _ in range(number)
    )
    for one in rng.sample(range(1, number + 1), 40):
        if one % 2:
            log.edit(one, {"notes": rng.choice(WORDS)})
        else:
            log.remove(one)
    return log


def by_reading(log: Log, query: Query) -> list[int]:
    """Numbers in the order of `log list`, by looking at each note as the log always did."""
    rows = log.connection.execute(
        "SELECT number FROM cuts WHERE removed = ? AND (? = '' OR machine = ?) AND notes LIKE ? ESCAPE '\\'"
        " ORDER BY cut_at DESC, number DESC LIMIT ? OFFSET ?",
        (
            int(query.removed),
            query.machine,
            query.machine,
            notes._pattern(query.text),
            query.limit,
            query.offset,
        ),
    )
    return [number for (number,) in rows]


@pytest.mark.parametrize("few", [notes.FEW, 5, 0])
def test_the_index_finds_what_reading_finds(
    tmp_path: Path, few: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(notes, "FEW", few)
    with filled(tmp_path / "cuts.db") as log:
        assert notes.is_kept(log.connection) and notes.is_sound(log.connection)
        for text in SOUGHT:
            for query in (
                Query(text=text, limit=-1),
                Query(text=text, limit=7),
                Query(text=text, limit=7, offset=5, machine="mill"),
                Query(text=text, limit=-1, removed=True),
            ):
                assert [one.number for one in log.find(query)] == by_reading(log, query), query
            assert log.count(Query(text=text)) == len(by_reading(log, Query(text=text, limit=-1)))


def test_it_follows_edits_and_what_is_taken_back(tmp_path: Path) -> None:
    with Log(tmp_path / "cuts.db") as log:
        log.add(cut(notes="the left rail squeals"))
        assert log.count(Query(text="squeals")) == 1
        log.edit(1, {"notes": "the left rail is quiet"})
        assert (log.count(Query(text="squeals")), log.count(Query(text="quiet"))) == (0, 1)
        log.undo()
        assert (log.count(Query(text="squeals")), log.count(Query(text="quiet"))) == (1, 0)
        log.edit(1, {"notes": ""})
        assert log.count(Query(text="squeals")) == 0
        assert notes.is_sound(log.connection)
        assert verify_log(log).problems == ()


def test_one_note_changed_behind_the_triggers_is_found(tmp_path: Path) -> None:
    """Every note is looked at, not some of them: 17 is none of each third entry."""
    with filled(tmp_path / "cuts.db", number=900) as log:
        assert notes.is_sound(log.connection)
        log.connection.execute("DROP TRIGGER notes_changed")
        log.connection.execute("UPDATE cuts SET notes = 'the hose of the pump' WHERE number = 17")
        assert not notes.is_sound(log.connection)
        notes.make_anew(log.connection)
        assert notes.is_sound(log.connection)
        assert log.count(Query(text="of the pump")) == 1


def test_it_looks_at_few_notes(tmp_path: Path) -> None:
    with Log(tmp_path / "cuts.db") as log:
        log.add_many(cut(notes=f"plate {number:05d}") for number in range(3000))
        steps = []
        log.connection.set_progress_handler(lambda: steps.append(1) and None, 10)
        assert len(log.find(Query(text="plate 01234"))) == 1
        quick = len(steps)
        steps.clear()
        sql, values = notes.reading_every_note("plate 01234")
        assert len(log.connection.execute(f"SELECT number FROM cuts WHERE {sql}", values).fetchall()) == 1
        log.connection.set_progress_handler(None, 0)
        assert quick * 5 < len(steps)


def test_without_fts5_all_notes_are_read_and_writing_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "cuts.db"
    filled(path).close()
    with monkeypatch.context() as patch:
        patch.setattr(notes, "can_index", lambda _: False)
        with Log(path) as log:
            triggers = log.connection.execute(
                "SELECT name FROM sqlite_master WHERE type = 'trigger'"
            ).fetchall()
            assert not {name for (name,) in triggers} & {"notes_added", "notes_changed", "notes_deleted"}
            log.add(cut(notes="written without an index"))
            assert log.count(Query(text="without an index")) == 1
        new = tmp_path / "new.db"
        with Log(new) as log:
            log.add(cut(notes="never had one"))
            assert log.count(Query(text="had one")) == 1
    for one, text in ((path, "without an index"), (new, "had one")):
        with Log(one, readonly=True) as log:  # a reader makes none, and finds it all the same
            assert log.count(Query(text=text)) == 1
        with Log(one) as log:
            assert notes.is_kept(log.connection) and notes.is_sound(log.connection)
            assert log.count(Query(text=text)) == 1


HARM = [
    "DELETE FROM found_notes_data",
    "UPDATE found_notes_data SET block = x'ff' WHERE id >= 10",
    "DELETE FROM found_notes_data WHERE id >= 10",
    "DELETE FROM found_notes_idx",
    "DELETE FROM found_notes_config",
]


@pytest.mark.parametrize("harm", HARM)
def test_a_damaged_index_costs_no_entry(tmp_path: Path, harm: str) -> None:
    path = tmp_path / "cuts.db"
    with filled(path) as log:
        wanted = {text: by_reading(log, Query(text=text, limit=-1)) for text in SOUGHT}
    with sqlite3.connect(path) as raw:
        raw.execute(harm)
    raw.close()
    try:
        with Log(path) as log:
            log.edit(1, {"notes": "after the harm"})
    except LogError as error:
        assert (error.found, error.action) == (
            "a damaged index of the notes",
            "it was made anew from the notes; repeat the command",
        )
        with Log(path) as log:
            log.edit(1, {"notes": "after the harm"})
    for backup in tmp_path.glob("*.backup"):  # the first write of the next day looks at the whole index
        backup.unlink()
    with Log(path) as log:
        log.edit(1, {"notes": "another day"})
        assert notes.is_sound(log.connection)
        assert log.count(Query(text="another day")) == 1
        for text, numbers in wanted.items():
            found = {one.number for one in log.find(Query(text=text, limit=-1))}
            assert found - {1} == set(numbers) - {1}, text


def test_an_older_log_gets_its_index_with_the_first_write(tmp_path: Path) -> None:
    from millcalc.cutlog import schema

    path = tmp_path / "cuts.db"
    filled(path).close()
    with sqlite3.connect(path) as raw:  # as version 4 wrote it
        for name in ("notes_added", "notes_changed", "notes_deleted"):
            raw.execute(f"DROP TRIGGER {name}")
        raw.execute("DROP TABLE found_notes")
        raw.execute("PRAGMA user_version = 4")
    raw.close()
    before = path.read_bytes()
    with Log(path, readonly=True) as log:
        read = [one.number for one in log.find(Query(text="chatter", limit=-1))]
    assert path.read_bytes() == before
    with Log(path) as log:
        assert log.connection.execute("PRAGMA user_version").fetchone() == (schema.VERSION,)
        assert notes.is_kept(log.connection) and notes.is_sound(log.connection)
        assert [one.number for one in log.find(Query(text="chatter", limit=-1))] == read and read
    assert len(list(tmp_path.glob("*.version4.*.backup"))) == 1
