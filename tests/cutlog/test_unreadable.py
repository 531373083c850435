"""A row that cannot be read, or not trusted, blocks nothing: it is left out, named, and can be put right."""

from __future__ import annotations

import json
import re
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from cuts import START, cut, days
from test_cli import run

from millcalc.cutlog.alterations import note_alteration
from millcalc.cutlog.margins import learned_margins
from millcalc.cutlog.query import Query
from millcalc.cutlog.rows import COLUMN_OF, COLUMNS, Raw, insert_row, to_sql, with_uid
from millcalc.cutlog.similar import PlannedCut, similar_cuts
from millcalc.cutlog.store import Log
from millcalc.cutlog.verify import verify_log
from millcalc.errors import LogError

FILE = "cuts.db"
FIELD_OF = {column: field for field, column in COLUMN_OF.items()}
HOSTILE: tuple[Any, ...] = (
    None, -5, 0, -1e308, 1e308, 5e-324, float("inf"), 2**63 - 1, "", "x", "nan", "1e999", "\x1b[2J\x07", "\u202e",
    b"\xff\xfe", "9" * 400, "[" * 5000, '{"deflection": "x"}', '{"deflection": NaN}', '{"deflection": 5e-324}', "[1]",
    "0001-01-01T00:00:00.000000+00:00", "9999-12-31T23:59:59.999999-23:59",
)  # fmt: skip


def _bad(log: Log, column: str, value: Any, **fields: Any) -> int | None:
    """Put a row with one value that millcalc never wrote behind its back; None when the file does not take it."""
    entry = with_uid(cut(shares={"deflection": 0.9, "chip_low": 0.6}, **fields))
    run_sql = log.connection.execute
    number = 1 + (run_sql("SELECT max(number) FROM cuts").fetchone()[0] or 0)
    row = dict(zip(["number", *COLUMNS, "cell", "seal"], insert_row(number, entry), strict=True)) | {
        column: value
    }
    run_sql("PRAGMA ignore_check_constraints = ON")
    names, marks = ", ".join(row), ", ".join("?" * len(row))
    try:
        run_sql(f"INSERT INTO cuts ({names}) VALUES ({marks})", list(row.values()))
    except sqlite3.IntegrityError:
        return None  # never NULL, never twice
    stands = run_sql(f"SELECT {', '.join(COLUMNS)} FROM cuts WHERE number = ?", (number,)).fetchone()
    seal = Raw(number, False, None, dict(zip(COLUMNS, stands, strict=True))).right_seal
    run_sql("UPDATE cuts SET seal = ? WHERE number = ?", (seal, number))  # the value alone is what is wrong
    return number


@pytest.fixture
def swept(log: Log) -> dict[int, tuple[str, Any]]:
    """Every hostile value in every column, and three good cuts."""
    log.add_many([cut(when=START + days(i), shares={"deflection": 0.8}) for i in range(3)])
    found = {}
    log.connection.execute("BEGIN")
    for column in COLUMNS:
        for value in HOSTILE:
            number = _bad(log, column, value)
            if number is not None:
                found[number] = (column, value)
    log.connection.execute("COMMIT")
    return found


def test_a_bad_row_in_every_column_blocks_no_reading(log: Log, swept: dict[int, tuple[str, Any]]) -> None:
    assert {column for column, _ in swept.values()} == set(COLUMNS) and len(swept) > 800
    read = {one.number for one in log.find(Query(limit=-1))}
    bad = set(log.left_out)
    assert {1, 2, 3} <= read and len(bad) > 450
    assert bad | read == {1, 2, 3, *swept} and not bad & read
    assert {swept[number][0] for number in bad} == set(COLUMNS)  # no column takes everything
    for number in bad:
        assert f"millcalc log edit {number} --set " in str(log.left_out[number])
    learned = learned_margins("shed gantry", log=log)
    assert learned.cuts >= 3 and set(learned.left_out) <= bad
    assert all(margin.advised == margin.advised for margin in learned.by_kind.values())
    log.left_out.clear()
    for planned in (PlannedCut.of(cut()), PlannedCut(machine="shed gantry", diameter_mm=6.0)):
        near = similar_cuts(log, planned, 10)
        assert len(near) >= 10 and not bad & {one.stored.number for one in near}
    problems = verify_log(log, most=10_000).problems
    assert all(any(text.startswith(f"entry {number}:") for text in problems) for number in bad)


def test_every_command_reads_past_bad_rows(log: Log) -> None:
    log.add_many([cut(when=START + days(i), shares={"deflection": 0.8}) for i in range(3)])
    log.connection.execute("BEGIN")
    for index, column in enumerate(COLUMNS):
        for value in (b"\xff\xfe", HOSTILE[index % len(HOSTILE)]):
            _bad(log, column, value)
    log.connection.execute("COMMIT")
    log.close()
    listed = run("list", "--limit", "10000", "--json", fails=1)
    assert "left out: cuts.db: entry" in listed and "`millcalc log verify` names them" in listed
    assert "3 " in run("list", "--limit", "10000", fails=1)
    for words in (
        ["export", "-o", "out.csv"], ["export", "-o", "out.json"], ["stats"], ["stats", "--json"], ["wear"],
        ["learn", "--machine", "shed gantry"], ["learn", "--machine", "shed gantry", "--json"],
        ["similar", "--like", "1"],
    ):  # fmt: skip
        out = run(*words, fails=1)
        said = re.sub(r"(?m)^left out.*\n(  .*\n)*", "", out)
        assert "left out: cuts.db: entry" in out and said, words
        if "--json" in words:
            json.loads(said, parse_constant=pytest.fail)  # no NaN, no Infinity
    exported = json.loads(Path("out.json").read_text(encoding="utf-8"))["entries"]
    assert len(exported) > 3
    plain = (
        "--machine",
        "shed gantry",
        "--material",
        "acrylic",
        "--cutter",
        "flat 6 mm",
        "--outcome",
        "good",
    )
    assert "logged as entry" in run("add", *plain)
    assert "taken back" in run("undo")


def test_edit_and_remove_work_on_the_raw_row(log: Log) -> None:
    good = cut()
    log.connection.execute("PRAGMA synchronous = OFF")
    for column in COLUMNS:
        field = FIELD_OF[column]
        numbers = [_bad(log, column, value) for value in (b"\xff\xfe", 1e308, "[" * 5000)]
        bad = [number for number in numbers if number is not None]
        assert bad
        for number in bad:
            log.left_out.clear()
            assert log.raw(number).number == number and log.history(number) == []
            if field == "uid":
                assert log.edit(number, {"outcome": "good"}) is None  # any edit gives a new one
                log.undo()
            else:
                if field != "notes":
                    log.edit(number, {"notes": "looked at"})
                assert log.edit(number, {field: getattr(good, field)}) is None
                log.get(number)
                log.undo()
                assert to_sql("notes", "looked at") == log.raw(number).values["notes"] or field == "notes"
            log.remove(number)
    log.left_out.clear()
    log.find(Query(limit=-1))
    assert log.left_out == {}


def test_the_remedy_is_obeyed_and_the_finding_goes(log: Log) -> None:
    log.add(cut())
    number = _bad(log, "feed_mm_min", -5.0)
    other = _bad(log, "stickout_mm", "long", outcome="failed")
    log.close()
    out = " ".join(run("list", fails=1).split())
    assert (
        "entry 2: feed_mm_min: found -5.0" in out
        and "edit 2 --set feed_mm_min=VALUE`" in out
        and "entry 3: stickout_mm: found 'long'" in out
    )
    shown = run("show", str(number), fails=1)
    assert "as it stands in the file" in shown and "-5.0" in shown
    assert (
        json.loads(run("show", str(other), "--json", fails=1).split("left out")[0])["as_it_stands"][
            "stickout_mm"
        ]
        == "long"
    )
    assert "still cannot be read" in run("edit", "2", "--set", "notes=odd", fails=1)
    assert "feed_mm_min" in run("edit", "2", "--set", "feed_mm_min=-7", fails=2)
    run("edit", "2", "--set", "feed_mm_min=720")
    run("remove", "3")
    assert "left out" not in run("list")
    verdict = run("verify")
    assert "nothing found" in verdict and "1 of those taken out cannot be read" in verdict
    assert "feed_mm_min: -5.0 -> 720.0" in run("show", "2")
    run("undo")
    run("undo")
    assert "entry 2: feed_mm_min" in run("list", fails=1)  # the repair taken back puts the damage back


def test_a_value_that_changed_silently_is_not_believed(log: Log) -> None:
    for i in range(8):
        log.add(cut(when=START + days(i), outcome="failed", symptoms=["chatter"], shares={"chatter": 0.9}))
    before = learned_margins("shed gantry", log=log).by_kind["chatter"]
    log.connection.execute("UPDATE cuts SET shares = replace(shares, '0.9', '0.1') WHERE number = 4")
    log.left_out.clear()
    after = learned_margins("shed gantry", log=log)
    assert after.left_out == (4,) and after.by_kind["chatter"].failures == before.failures - 1
    with pytest.raises(
        LogError, match="entry 4: found values that were not written so: the checksum differs"
    ):
        log.get(4)
    assert not Raw.of((1, 0, 0, *[None] * len(COLUMNS))).as_written
    log.edit(4, {"shares": {"chatter": 0.9}})
    log.left_out.clear()
    again = learned_margins("shed gantry", log=log).by_kind["chatter"]
    assert (again.failures, again.median) == (before.failures, pytest.approx(before.median))
    log.undo()
    with pytest.raises(LogError, match="checksum"):
        log.get(4)


def test_settings_leave_a_bad_row_out_and_say_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from millcalc.cli.past_cuts import with_learned
    from millcalc.limits.build import make_tooling
    from millcalc.tables import load_cutter, load_machine, load_material

    machine = load_machine("gantry-800w")
    tooling = make_tooling(machine, load_material("al-6082-t6"), load_cutter("flat-6mm-1f"))
    monkeypatch.setenv("MILLCALC_LOG", FILE)
    with Log(FILE) as log:
        for i in range(7):
            log.add(cut(machine=machine.name, when=START + days(i), outcome="failed", shares={"thrust": 0.6}))
        number = _bad(log, "feed_mm_min", -5.0, machine=machine.name)
    learned = with_learned(tooling)
    assert learned.margins.thrust < 1.0
    assert f"left out of the log: entry {number}; `millcalc log verify` says why" in capsys.readouterr().err


def test_a_damaged_history_or_alteration_blocks_nothing(log: Log) -> None:
    log.add(cut(shares={"power": 0.7}))
    note_alteration(log, "shed gantry", "new collet", START)
    run_sql = log.connection.execute
    run_sql("UPDATE alterations SET at = 'once upon a time'")
    run_sql("PRAGMA ignore_check_constraints = ON")
    run_sql("UPDATE batches SET at = x'ff', action = 'odd'")
    assert learned_margins("shed gantry", log=log).cuts == 1
    log.close()
    assert "time unknown" in run("show", "1")
    named = run("verify", fails=1)
    assert "alteration 1: found a time" in named and "change 1 of the history: its time or kind" in named
    assert "odd of" in run("undo")


def test_a_log_from_before_the_checksum_gets_one_for_each_row(tmp_path: Path) -> None:
    from test_opening import _older

    _older(tmp_path / FILE, 3)
    with Log(FILE) as log:
        assert all(log.raw(one.number).as_written for one in log.find()) and log.count() == 3
        log.connection.execute("UPDATE cuts SET notes = 'other' WHERE number = 2")
        assert not log.raw(2).as_written
