"""Adding, editing, taking out, undoing; the history; listing and searching."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from cuts import START, cut, days
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from millcalc.cutlog.alterations import alterations, note_alteration
from millcalc.cutlog.models import SYMPTOMS, Entry
from millcalc.cutlog.query import Query
from millcalc.cutlog.rows import COLUMNS
from millcalc.cutlog.store import Log
from millcalc.cutlog.verify import verify_log
from millcalc.errors import LogError


def test_columns_of_the_file_are_the_fields_of_an_entry(log: Log) -> None:
    columns = {row[1] for row in log.connection.execute("PRAGMA table_info(cuts)")}
    assert columns == {*COLUMNS, "number", "removed", "cell", "seal"}


def test_what_is_added_is_read_back(log: Log) -> None:
    entry = cut(
        shares={"deflection": 0.7}, symptoms=["chatter"], notes="größer, 'quoted' \"twice\"; 漢字\n2nd"
    )
    stored = log.add(entry)
    again = log.get(stored.number).entry
    assert again == entry.model_copy(update={"uid": stored.entry.uid})
    assert len(stored.entry.uid) == 32


TEXTS = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=30).map(str.strip)
POSITIVE = st.floats(1e-6, 1e5, allow_nan=False)


@settings(
    max_examples=40, deadline=None, database=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    fields=st.fixed_dictionaries(
        {},
        optional={
            "notes": TEXTS,
            "batch": TEXTS,
            "axial_depth_mm": POSITIVE,
            "stickout_mm": st.none() | POSITIVE,
            "kc11_n_mm2": st.none() | POSITIVE,
            "override_percent": st.floats(0.1, 1000),
            "size_error_mm": st.just(-0.0) | st.floats(-1000, 1000),
            "symptoms": st.lists(st.sampled_from(SYMPTOMS), unique=True),
            "shares": st.dictionaries(st.sampled_from(["deflection", "power", "chip_low"]), POSITIVE),
            "outcome": st.sampled_from(["good", "acceptable", "failed"]),
            "when": st.datetimes(min_value=START.replace(tzinfo=None)).filter(lambda t: t.year < 2200),
        },
    )
)
def test_write_then_read_is_the_identity(log: Log, fields: dict[str, object]) -> None:
    stored = log.add(cut(**fields))
    assert log.get(stored.number) == stored and log.raw(stored.number).as_written


def test_edit_keeps_what_stood_there(log: Log) -> None:
    number = log.add(cut()).number
    assert log.edit(number, {"feed_mm_min": 600.0, "outcome": "failed"}) is None
    assert log.get(number).entry.feed_mm_min == 600.0
    lines = {(c.field, c.before, c.after, c.who, c.action) for c in log.history(number)}
    assert ("feed_mm_min", "720.0", "600.0", "tester", "edit") in lines
    assert ("outcome", "good", "failed", "tester", "edit") in lines
    assert ("", None, "added", "tester", "add") in lines


def test_edit_that_changes_nothing_leaves_no_trace(log: Log) -> None:
    number = log.add(cut()).number
    before = log.history(number)
    log.edit(number, {"feed_mm_min": 720.0})
    assert log.history(number) == before


def test_edit_refuses_what_an_entry_cannot_be_and_changes_nothing(log: Log) -> None:
    stored = log.add(cut())
    for values in ({"flutes": 0}, {"colour": "red"}, {"uid": "0" * 32}, {"radial_width_mm": 7.0}):
        with pytest.raises(LogError):
            log.edit(stored.number, values)
    assert log.get(stored.number) == stored
    assert not verify_log(log).problems


def test_remove_hides_and_undo_brings_back(log: Log) -> None:
    stored = log.add(cut())
    log.remove(stored.number)
    assert log.find() == [] and log.count() == 0
    assert [s.number for s in log.find(Query(removed=True))] == [stored.number]
    with pytest.raises(LogError, match="out already"):
        log.remove(stored.number)
    log.undo()
    assert log.find() == [stored]


def test_undo_goes_back_step_by_step_to_nothing(log: Log) -> None:
    stored = log.add(cut())
    log.edit(stored.number, {"feed_mm_min": 600.0})
    log.edit(stored.number, {"feed_mm_min": 500.0, "shares": {"power": 0.5}, "symptoms": ["burr"]})
    log.remove(stored.number)
    log.undo()
    assert log.get(stored.number).entry.feed_mm_min == 500.0
    log.undo()
    assert log.get(stored.number).entry.feed_mm_min == 600.0
    log.undo()
    assert log.get(stored.number) == stored
    assert "addition" in log.undo()
    assert log.count() == 0
    with pytest.raises(LogError, match="nothing to take back"):
        log.undo()
    assert verify_log(log).problems == ()


def test_undo_takes_back_a_whole_import(log: Log) -> None:
    log.add_many([cut(when=START + days(i)) for i in range(7)])
    assert log.count() == 7
    log.undo()
    assert log.count() == 0


def test_add_many_is_all_or_nothing(log: Log) -> None:
    first = log.add(cut())
    with pytest.raises(LogError, match="refuses"):
        log.add_many([cut(), cut(uid=first.entry.uid)])
    assert log.count() == 1
    assert log.connection.execute("SELECT count(*) FROM batches").fetchone() == (1,)


def test_the_history_cannot_be_altered(log: Log) -> None:
    import sqlite3

    log.add(cut())
    for sql in ("UPDATE changes SET after = 'x'", "DELETE FROM changes"):
        with pytest.raises(sqlite3.IntegrityError, match="cannot be altered"):
            log.connection.execute(sql)


@pytest.mark.parametrize("number", [0, -1, 99, 2**63, 2**200])
def test_unknown_number(log: Log, number: int) -> None:
    with pytest.raises(LogError, match="no entry"):
        log.get(number)


def _fill(log: Log) -> list[Entry]:
    entries = [
        cut(
            when=START + days(i),
            machine=("shed gantry", "bench mill")[i % 2],
            material=("aluminium plate", "acrylic", "birch plywood")[i % 3],
            outcome=("good", "acceptable", "failed")[i % 3],
            notes=f"plate {i} 100% done" if i % 4 == 0 else "under_score" if i % 4 == 1 else "",
            program_sha256=f"{i:064x}",
        )
        for i in range(24)
    ]
    return [stored.entry for stored in log.add_many(entries)]


@pytest.mark.parametrize(
    "query",
    [
        Query(),
        Query(machine="bench mill"),
        Query(material="acrylic", outcome="acceptable"),
        Query(text="PLATE"),
        Query(text="100%"),
        Query(text="r_s"),
        Query(text="%"),
        Query(since=START + days(5), until=START + days(9)),
        Query(program_sha256=f"{7:064x}"),
        Query(machine="none such"),
    ],
)
def test_queries_agree_with_a_plain_filter(log: Log, query: Query) -> None:
    entries = _fill(log)
    wanted = [
        e
        for e in sorted(entries, key=lambda e: e.when, reverse=True)
        if query.machine in ("", e.machine)
        and query.material in ("", e.material)
        and query.outcome in ("", e.outcome)
        and query.text.lower() in e.notes.lower()
        and e.program_sha256.startswith(query.program_sha256)
        and (query.since is None or e.when >= query.since)
        and (query.until is None or e.when < query.until)
    ]
    assert [s.entry for s in log.find(replace(query, limit=-1))] == wanted
    assert log.count(query) == len(wanted)
    assert [s.entry for s in log.find(replace(query, limit=3, offset=2))] == wanted[2:5]


def test_queries_are_answered_from_an_index(log: Log) -> None:
    _fill(log)
    for column in ("machine", "material", "cutter", "outcome"):
        sql = f"SELECT number FROM cuts WHERE removed = 0 AND {column} = ? ORDER BY cut_at DESC, number DESC LIMIT 20"
        plan = " ".join(str(row[3]) for row in log.connection.execute("EXPLAIN QUERY PLAN " + sql, ("x",)))
        assert "USING" in plan and "INDEX" in plan and "TEMP B-TREE" not in plan, plan


def test_alterations_are_kept_in_order(log: Log) -> None:
    note_alteration(log, "shed gantry", "new collet", START + days(2))
    note_alteration(log, "shed gantry", "stiffer plate", START)
    note_alteration(log, "bench mill", "gibs set", START)
    assert [one.what for one in alterations(log, "shed gantry")] == ["stiffer plate", "new collet"]
    with pytest.raises(LogError):
        note_alteration(log, " ", "x")


def test_verify_names_what_was_altered_behind_its_back(log: Log, tmp_path: Path) -> None:
    for _ in range(4):
        log.add(cut())
    note_alteration(log, "shed gantry", "new collet", START)
    run = log.connection.execute
    run("UPDATE cuts SET cell = 1 WHERE number = 1")
    run("UPDATE cuts SET symptoms = 'not json' WHERE number = 2")
    run("UPDATE cuts SET removed = 1 WHERE number = 3")
    run("UPDATE cuts SET axial_depth_mm = 0.7 WHERE number = 4")
    run("UPDATE alterations SET at = 'once'")
    problems = " | ".join(verify_log(log).problems)
    assert (
        "entry 1: its place in the search grid is wrong; `millcalc log edit 1 --set outcome=good` mends"
        in problems
    )
    assert "entry 2: found an entry that cannot be read" in problems
    assert "entry 3: taken out or standing otherwise than its history says" in problems
    assert "entry 4: found values that were not written so: the checksum differs" in problems
    assert "alteration 1: found a time or text that cannot be read" in problems
    log.edit(1, {"outcome": "good"})
    assert "search grid" not in " ".join(verify_log(log).problems)
    with pytest.raises(LogError, match=r"entry 2: found an entry that cannot be read"):
        log.get(2)
