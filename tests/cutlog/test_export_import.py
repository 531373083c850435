"""Out to a file and in again; foreign tables with their own columns and units; bad rows by line."""

from __future__ import annotations

import csv
import importlib.util
import json
from pathlib import Path

import pytest
from cuts import START, cut, days
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from millcalc.cutlog.export import CSV_COLUMNS, export_log, shielded, unshielded
from millcalc.cutlog.importing import Column, import_entries, parse_mapping, read_entries
from millcalc.cutlog.query import Query
from millcalc.cutlog.rows import FIELDS
from millcalc.cutlog.store import Log
from millcalc.errors import LogError

ALL = Query(limit=-1)
RICH = [
    cut(notes="=1+1", batch="-5", supplier="'quoted", hold_down='@home; "two", screws\nand tape'),
    cut(
        when=START + days(1),
        outcome="failed",
        symptoms=["chatter", "poor-wall"],
        shares={"deflection": 0.7123456789, "chip_low": 1.5},
        size_error_mm=-0.04,
        photo="bilder/größe 1.jpg",
        origin="test cut",
        override_percent=80.0,
    ),
]


@pytest.mark.parametrize("form", ["csv", "json"])
def test_export_then_import_is_the_identity(tmp_path: Path, log: Log, form: str) -> None:
    stored = log.add_many(RICH)
    target = tmp_path / f"out.{form}"
    assert export_log(log, target, ALL, form) == 2
    reading = read_entries(target)
    assert reading.errors == () and reading.ignored == ()
    assert sorted(reading.entries, key=lambda e: e.when) == [s.entry for s in stored]
    with Log(tmp_path / "second.db") as other:
        assert import_entries(other, reading.entries, dry_run=True).added == 2
        assert other.count() == 0
        assert import_entries(other, reading.entries).added == 2
        again = import_entries(other, reading.entries)
        assert (again.added, again.known, other.count()) == (0, 2, 2)
        assert {s.entry.uid for s in other.find(ALL)} == {s.entry.uid for s in stored}


def test_a_file_in_inches_says_so_and_is_read_back(tmp_path: Path, log: Log) -> None:
    """0.6 mm = 0.6/25.4 in; 390 mm/min = 15.354 in/min; 44.48222 N = 10 lbf; 745.6999 W = 1 hp (NIST SP 811, B.8)."""
    told = cut(
        axial_depth_mm=0.6, feed_mm_min=390.0, force_n=44.482216, power_w=745.6999, deflection_mm=0.0254
    )
    stored = log.add_many([told, *RICH])
    target = tmp_path / "out.csv"
    assert export_log(log, target, ALL, "csv", units="in") == 3
    rows = list(csv.DictReader(target.read_text(encoding="utf-8-sig").splitlines()))
    assert [name for name in rows[0] if name.endswith(("_mm", "_mm_min", "_n", "_w"))] == []
    row = next(row for row in rows if row["uid"] == stored[0].entry.uid)
    for column, value in (("axial_depth_in", 0.6 / 25.4), ("feed_in_min", 390 / 25.4), ("force_lbf", 10.0),
                          ("power_hp", 1.0), ("deflection_thou", 1.0)):  # fmt: skip
        assert float(row[column]) == pytest.approx(value, rel=1e-6), column
    reading = read_entries(target)
    assert reading.errors == () and reading.ignored == ()
    by_name = {entry.uid: entry for entry in reading.entries}
    for one in (found.entry for found in stored):
        read = by_name[one.uid]
        for name in FIELDS:
            was, now = getattr(one, name), getattr(read, name)
            assert now == (pytest.approx(was, rel=1e-9) if isinstance(was, float) else was), name
    with pytest.raises(LogError, match=r"inches in json; accepted: a \.csv"):
        export_log(log, tmp_path / "o.json", ALL, "json", units="in")


TEXTS = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=25)


@settings(
    max_examples=40, deadline=None, database=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(notes=TEXTS, batch=st.sampled_from(["=", "'=", "''", "-", "+1", "@", "'a", ""]) | TEXTS)
def test_any_text_survives_a_spreadsheet_file(tmp_path: Path, notes: str, batch: str) -> None:
    from millcalc.cutlog.export import write_csv

    entry = cut(notes=notes, batch=batch, uid="0" * 32)
    path = tmp_path / "one.csv"
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        write_csv(iter([entry]), file)
    reading = read_entries(path)
    assert reading.errors == ()
    assert reading.entries == (entry,)


@given(text=TEXTS)
@settings(max_examples=100, deadline=None, database=None)
def test_shielding_is_undone_and_leaves_no_formula(text: str) -> None:
    assert unshielded(shielded(text)) == text
    assert not shielded(text).startswith(("=", "+", "-", "@", "\t", "\r"))


def test_no_cell_of_an_export_is_a_formula(tmp_path: Path, log: Log) -> None:
    log.add_many(RICH)
    export_log(log, tmp_path / "o.csv", ALL, "csv")
    with (tmp_path / "o.csv").open(encoding="utf-8-sig", newline="") as file:
        for row in csv.DictReader(file):
            for name, cell in row.items():
                if name not in ("size_error_mm",):  # a number may be negative
                    assert not cell.startswith(("=", "+", "-", "@"))


def test_an_existing_file_is_not_replaced_unasked(tmp_path: Path, log: Log) -> None:
    log.add(cut())
    target = tmp_path / "o.csv"
    target.write_text("mine", encoding="utf-8")
    with pytest.raises(LogError, match="--force"):
        export_log(log, target, ALL, "csv")
    assert target.read_text(encoding="utf-8") == "mine"
    export_log(log, target, ALL, "csv", force=True)
    assert target.read_text(encoding="utf-8-sig").startswith("when,")
    assert not list(tmp_path.glob("*.part"))


def test_formats_that_cannot_be_written_say_so(tmp_path: Path, log: Log) -> None:
    log.add(cut())
    with pytest.raises(LogError, match="csv, json, parquet"):
        export_log(log, tmp_path / "o.xls", ALL, "xls")
    if importlib.util.find_spec("pyarrow") is None and importlib.util.find_spec("fastparquet") is None:
        with pytest.raises(LogError, match="pip install pyarrow"):
            export_log(log, tmp_path / "o.parquet", ALL, "parquet")
    else:
        assert export_log(log, tmp_path / "o.parquet", ALL, "parquet") == 1
    with pytest.raises(LogError):
        export_log(log, tmp_path / "no folder" / "o.csv", ALL, "csv")
    assert not list(tmp_path.glob("*.part"))


FOREIGN = """Date;Stuff;Bit;Depth;Feed (in/min);RPM;Teeth;Result;Remarks
2024-05-01;acrylic;flat 1/8;1/16 in;40;18000;1;good;clean
2024-05-02;acrylic;flat 1/8;0.1;40;18000;1;bad;melted
"""
MAPPING = [
    "Date=when", "Stuff=material", "Bit=cutter", "Depth=axial_depth_mm:in", "Feed (in/min)=feed_mm_min:in/min",
    "RPM=speed_rpm", "Teeth=flutes", "Result=outcome",
]  # fmt: skip


def test_a_foreign_table_with_its_own_columns_and_units(tmp_path: Path) -> None:
    path = tmp_path / "notes.csv"
    path.write_text(FOREIGN, encoding="utf-8")
    reading = read_entries(path, parse_mapping(MAPPING), {"machine": "shed gantry", "origin": "own"})
    assert reading.errors == () and reading.ignored == ("Remarks",)
    first, second = reading.entries
    assert first.axial_depth_mm == pytest.approx(25.4 / 16)
    assert second.axial_depth_mm == pytest.approx(2.54)
    assert first.feed_mm_min == pytest.approx(1016.0)
    assert second.outcome == "failed" and first.machine == "shed gantry"
    assert first.when.astimezone().date().isoformat() == "2024-05-01"
    assert reading.entries == read_entries(path, parse_mapping(MAPPING), {"machine": "shed gantry"}).entries


def test_two_equal_rows_are_two_cuts_but_the_file_twice_is_not(tmp_path: Path, log: Log) -> None:
    row = "2024-05-01,m,c,acrylic,good\n"
    path = tmp_path / "n.csv"
    path.write_text("when,machine,cutter,material,outcome\n" + row * 2, encoding="utf-8")
    assert import_entries(log, read_entries(path).entries).added == 2
    assert import_entries(log, read_entries(path).entries).added == 0


def test_chip_load_becomes_a_feed(tmp_path: Path) -> None:
    path = tmp_path / "n.csv"
    path.write_text(
        "when,machine,cutter,material,outcome,flutes,speed_rpm,feed_per_tooth_mm\n"
        "2024-05-01,m,c,acrylic,good,2,10000,0.05\n"
        "2024-05-01,m,c,acrylic,good,2,10000,0.002 in\n",
        encoding="utf-8",
    )
    first, second = read_entries(path).entries
    assert first.feed_mm_min == pytest.approx(1000.0)
    assert second.feed_per_tooth_mm == pytest.approx(0.0508)


def test_every_bad_row_is_named_with_line_and_field(tmp_path: Path) -> None:
    head = "when,machine,cutter,material,outcome,flutes,axial_depth_mm,mc\n"
    rows = [
        "2024-05-01,m,c,acrylic,good,2,0.5,\n",
        "yesterday,m,c,acrylic,good,2,0.5,\n",
        "2024-05-01,m,c,acrylic,splendid,0,0.5,\n",
        "\n",
        "2024-05-01,m,c,acrylic,good,1.5,0.5,\n",
        "2024-05-01,m,c,acrylic,good,2,a lot,\n",
        "2024-05-01,m,c,acrylic,good,2,0.5,,extra\n",
        "2024-05-01,m,c,acrylic,good,2,0.5,nan\n",
        "2024-05-01,,c,acrylic,good,2,0.5,\n",
    ]
    path = tmp_path / "bad.csv"
    path.write_text(head + "".join(rows), encoding="utf-8")
    reading = read_entries(path)
    assert len(reading.entries) == 1
    named = {(error.line, error.field) for error in reading.errors}
    assert named == {
        (3, "when"), (4, "outcome"), (4, "flutes"), (6, "flutes"), (7, "axial_depth_mm"), (8, None), (9, "mc"),
        (10, "machine"),
    }  # fmt: skip
    assert all(str(path) in str(error) for error in reading.errors)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "no column"),
        (b"\n\n", "no column"),
        (b"alpha,beta\n1,2\n", "no column"),
        (b"when,when\n2024-01-01,x\n", "two columns"),
        (b"\xff\xfew\x00h\x00", "UTF-8"),
        (b'when,machine\n"never closed', "not CSV"),
        (b"when,machine\n" + b"x" * 200_000 + b",y\n", "not CSV"),
    ],
)
def test_files_that_are_no_table(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "x.csv"
    path.write_bytes(content)
    with pytest.raises(LogError, match=words):
        read_entries(path)


@pytest.mark.parametrize(
    "content",
    ["", "[", "[]", '{"schema": "other"}', '{"schema": "millcalc-log/1", "entries": 3}', "[" * 100_000],
)
def test_json_of_something_else(tmp_path: Path, content: str) -> None:
    path = tmp_path / "x.json"
    path.write_text(content, encoding="utf-8")
    with pytest.raises(LogError):
        read_entries(path)


def test_json_with_bad_entries_names_them(tmp_path: Path) -> None:
    path = tmp_path / "x.json"
    data = {"schema": "millcalc-log/1", "entries": [3, {"when": "2024-01-01"}, cut().model_dump(mode="json")]}
    path.write_text(json.dumps(data), encoding="utf-8")
    reading = read_entries(path)
    assert len(reading.entries) == 1 and len(reading.errors) == 2
    assert "entries[0]" in str(reading.errors[0]) and "entries[1]" in str(reading.errors[1])


@pytest.mark.parametrize("text", ["Depth", "=axial_depth_mm", "Depth=deepness", "Depth="])
def test_mappings_that_say_nothing(text: str) -> None:
    with pytest.raises(LogError, match="--map"):
        parse_mapping([text])


def test_mapping_of_a_column_that_is_not_there(tmp_path: Path) -> None:
    path = tmp_path / "x.csv"
    path.write_text("when,machine\n2024-01-01,m\n", encoding="utf-8")
    with pytest.raises(LogError, match="a header that holds 'Deep'"):
        read_entries(path, {"Deep": Column("axial_depth_mm")})


def test_absent_file_and_folder(tmp_path: Path) -> None:
    for path in (tmp_path / "none.csv", tmp_path):
        with pytest.raises(LogError):
            read_entries(path)


def test_columns_are_every_field_once() -> None:
    assert len(set(CSV_COLUMNS)) == len(CSV_COLUMNS)
