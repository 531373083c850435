"""The motion table as CSV: read back, it is the motion table and what the simulation found."""

from __future__ import annotations

import csv
import io
import math
import re
from pathlib import Path

import numpy as np
import pytest

from millcalc.check.columns import motion_columns
from millcalc.check.prepare import make_context
from millcalc.check.run import Looked, look_at
from millcalc.report import table_csv
from millcalc.report.table_csv import FIRST_COLUMNS, write_table
from millcalc.tables import demo_root

PLATE = demo_root() / "sensor_plate"


@pytest.fixture(scope="module")
def bad() -> Looked:
    return look_at(PLATE / "bad.nc", PLATE / "job.yaml")


def text_of(ctx) -> str:
    stream = io.StringIO(newline="")
    assert write_table(stream, motion_columns(ctx), len(ctx.program.motions)) == len(ctx.program.motions)
    return stream.getvalue()


def rows_of(text: str) -> list[dict[str, str]]:
    assert "nan" not in text.lower() and "\r" not in text and "inf" not in text
    return list(csv.DictReader(io.StringIO(text)))


def test_it_is_the_motion_table_and_the_cut(bad):
    rows, table, removal = rows_of(text_of(bad.ctx)), bad.ctx.program.motions, bad.ctx.removal
    assert len(rows) == len(table) > 20

    def same(name: str, values, within: float) -> None:
        for row, value in zip(rows, values, strict=True):
            if math.isnan(value):
                assert row[name] == ""
            else:
                assert float(row[name]) == pytest.approx(float(value), abs=within)

    same("line", table.line, 0)
    same("end_x_mm", table.end_mm[:, 0], 1e-6)
    same("start_z_mm", table.start_mm[:, 2], 1e-6)
    same("feed_mm_min", table.feed_mm_min, 1e-6)
    same("length_mm", table.length_mm, 1e-6)
    same("feed_per_tooth_mm", bad.ctx.facts.chip_mm, 1e-6)
    same("time_quick_s", bad.ctx.feeds.time_quick_s, 1e-6)
    known = ~removal.skipped
    same("axial_depth_mm", np.where(known, removal.axial_depth_mm, np.nan), 1e-3)
    same("engagement_deg", np.where(known, np.degrees(removal.engagement_rad), np.nan), 1e-3)
    assert sum(float(row["volume_mm3"] or 0) for row in rows) == pytest.approx(
        removal.volume_mm3.sum(), rel=1e-6
    )
    assert {row["kind"] for row in rows} >= {"rapid", "line"}
    assert any(row["side"] == "slot" for row in rows)
    assert rows[0]["simulated"] == "position unknown" and rows[0]["axial_depth_mm"] == ""


def test_every_column_names_its_unit(bad):
    named = {"motion", "line", "tool", "kind", "plane", "work_frame", "spindle", "cuts", "side", "simulated"}
    ends = ("_mm", "_mm2", "_mm3", "_deg", "_s", "_min")
    assert all(name in named or name.endswith(ends) for name in list(motion_columns(bad.ctx)))
    assert text_of(bad.ctx).startswith(FIRST_COLUMNS)


def test_slices_make_the_same_table(bad, monkeypatch):
    whole = text_of(bad.ctx)
    for rows in (1, 7, len(bad.ctx.program.motions)):
        monkeypatch.setattr(table_csv, "TABLE_CHUNK_ROWS", rows)
        assert text_of(bad.ctx) == whole


def test_unknown_things_are_empty():
    ctx = make_context(b"G21 G90\nG0 Z5 Y0\nG1 X3 F90\nG4 P2\nG2 X5 I1 J0\nM30\n", "p.nc")
    rows = rows_of(text_of(ctx))
    assert [row["kind"] for row in rows] == ["rapid", "line", "dwell", "arc cw"]
    assert all(
        row["tool"] == row["axial_depth_mm"] == row["side"] == row["time_quick_s"] == "" for row in rows
    )
    assert rows[0]["start_x_mm"] == "" and rows[2]["dwell_s"] == "2.0" and rows[1]["dwell_s"] == ""
    assert float(rows[3]["sweep_deg"]) == pytest.approx(-180) and rows[1]["sweep_deg"] == ""
    assert rows[1]["spindle_rev_min"] == ""


def test_a_program_without_motions_is_a_header():
    assert text_of(make_context(b"M30\n", "p.nc")).count("\n") == 1


def test_the_guide_names_every_column_in_order(bad):
    guide = (Path(__file__).parents[2] / "docs" / "formats.md").read_text(encoding="utf-8")
    table = guide.split("<!-- columns -->")[1].split("\n\n")[0]
    rows = [line.split("|")[1] for line in table.splitlines() if line.startswith("| `")]
    assert re.findall(r"`(\w+)`", " ".join(rows)) == list(motion_columns(bad.ctx))
