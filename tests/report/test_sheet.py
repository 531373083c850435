"""The sheet: what it must carry, that it is escaped, and where it is written."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest
from typer.testing import CliRunner

from millcalc.check.sheet_facts import sheet_tools
from millcalc.cli.main import app
from millcalc.report.sheet import sheet_page
from millcalc.tables import demo_root
from tests.helpers import looking

PLATE = demo_root() / "sensor_plate"


def _text(page: str) -> str:
    """What a reader sees."""
    body = re.sub(r"<(style|svg)\b.*?</\1>", " ", page, flags=re.DOTALL)
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", body)))


def test_the_sheet_carries_what_the_machine_needs() -> None:
    found = looking.demo("sensor_plate")
    page = sheet_page(found)
    text = _text(page)
    program = found.report.program
    assert program.sha256[:6] in text and "good.nc" in text and str(program.size_bytes) in text
    for words in ("22 mm", "13200 rpm", "390 mm/min", "-6.2 mm", "front-left in X Y", "S1 front left screw",
                  "6.2 mm", "YOU STAND HERE", "29:06", "26:27", "first tab"):  # fmt: skip
        assert words in text, words
    for question in found.report.checklist[:8]:
        assert re.sub(r"\s+", " ", question) in text
    for caution in found.report.cautions[:3]:
        assert caution in text
    levels = sheet_tools(found.ctx, found.report)[0].levels
    assert any("×" in level for level in levels) and all(level in text for level in levels)
    assert "hum" in text and "log add" in text and "not a guarantee" in text
    assert not re.search(r"\bsafe\b", text, re.IGNORECASE)
    assert "<script" not in page and 'style="' not in page and not re.search(r'(src|href)="(?!data:|#)', page)


def test_passes_of_equal_depth_are_told_as_one(tmp_path: Path) -> None:
    passes = "".join(f"G1 X15 Y12 Z-{0.3 * k:.1f} F75\nG1 X45 F390\n" for k in range(1, 5))
    text = f"G21 G90 G17\nT1 M6\nS13200 M3\nG4 P6\nG0 Z10\nG0 X15 Y12\n{passes}G0 Z10\nM5\nM2\n"
    found = looking.looked(tmp_path, text)
    (tool,) = sheet_tools(found.ctx, found.report)
    assert tool.levels == ("to Z -1.2 mm: 4 × 0.3 mm",)
    assert tool.feeds == "390 mm/min"


@pytest.mark.parametrize(
    ("spindle", "speed", "note"),
    [
        ("{set_by: dial, dial_mark: '3'}", "dial 3", "about 17200 rpm"),
        ("{set_by: dial}", "dial 2", "about 13600 rpm"),  # the mark nearest to S13200
        ("{set_by: program}", "13200 rpm", "set by the program"),
    ],
)
def test_a_dialled_spindle_shows_the_step_of_its_dial(
    tmp_path: Path, spindle: str, speed: str, note: str
) -> None:
    job = looking.JOB.replace("gantry-800w", "screw-gantry-trim-router") + f"spindle: {spindle}\n"
    found = looking.looked(tmp_path, job=job)
    (tool,) = sheet_tools(found.ctx, found.report)
    assert (tool.speed, tool.speed_note) == (speed, note)


def test_accepted_findings_stand_on_the_sheet_with_their_reason(tmp_path: Path) -> None:
    options = looking.CheckOptions(quiet={"DEPTH-01": "air blast & <b>brush</b> at hand"})
    found = looking.looked(tmp_path, options=options, text=looking.SLOTS.replace("Z-0.5", "Z-5.8"))
    assert [q.finding.code for q in found.report.quieted] == ["DEPTH-01"]
    page = sheet_page(found)
    assert "air blast &amp; &lt;b&gt;brush&lt;/b&gt; at hand" in page


def test_a_program_without_a_job_still_gives_a_sheet(tmp_path: Path) -> None:
    for text in ("", "G0 Z5\n", looking.SLOTS):
        found = looking.looked(tmp_path, text, None)
        shown = _text(sheet_page(found))
        assert "unknown" in shown and "could not be checked" in shown


# ---- commands --------------------------------------------------------------------------------------


def test_the_sheet_command_writes_beside_and_replaces_only_with_force(tmp_path: Path) -> None:
    runner = CliRunner()
    target = tmp_path / "a.html"
    done = runner.invoke(app, ["sheet", str(PLATE / "job.yaml"), "-o", str(target)])
    assert done.exit_code == 0, done.output
    assert target.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.html"], "no part files are left"
    again = runner.invoke(
        app, ["sheet", str(PLATE / "good.nc"), "--job", str(PLATE / "job.yaml"), "-o", str(target)]
    )
    assert again.exit_code != 0 and "or --force to replace it" in str(again.exception)
    bad = runner.invoke(
        app, ["sheet", str(PLATE / "bad.nc"), "--job", str(PLATE / "job.yaml"), "-o", str(target), "--force"]
    )
    assert bad.exit_code == 1, "stops stand on it"


@pytest.mark.parametrize("name", ["report.html", "picture.png"])
def test_check_writes_nothing_over_a_file_of_yours(tmp_path: Path, name: str) -> None:
    mine = tmp_path / name
    mine.write_text("(millcalc: accept SCREW-05: my notes about millcalc)", encoding="utf-8")
    done = CliRunner().invoke(app, ["check", str(PLATE / "good.nc"), "-o", str(mine)])
    assert done.exit_code != 0 and "a file of that name; accepted: a new name, or --force" in str(
        done.exception
    )
    assert mine.read_text(encoding="utf-8").startswith("(millcalc: accept")
    for wrong in ("part.nc", "report", "folder.d/x.html"):
        done = CliRunner().invoke(app, ["check", str(PLATE / "good.nc"), "-o", str(tmp_path / wrong)])
        assert done.exit_code != 0 and not (tmp_path / wrong).exists()


def test_check_writes_page_and_picture_and_replaces_with_force(tmp_path: Path) -> None:
    page, picture = tmp_path / "r.html", tmp_path / "p.png"
    arguments = ["check", str(PLATE / "good.nc"), "--job", str(PLATE / "job.yaml"), "-o", str(page), "-o",
                 str(picture)]  # fmt: skip
    page.write_text("older", encoding="utf-8")
    done = CliRunner().invoke(app, [*arguments, "--force"])
    assert done.exit_code == 0, done.output
    assert "page written to" in done.output.replace("\n", " ")
    assert page.stat().st_size > 100_000
    assert picture.read_bytes().startswith(b"\x89PNG")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["p.png", "r.html"]


def test_settings_plot(tmp_path: Path) -> None:
    base = ["settings", "--machine", "gantry-800w", "--material", "6082", "--cutter", "flat-6mm-1f"]
    for name, head in (("m.svg", b"<?xml"), ("m.png", b"\x89PNG")):
        done = CliRunner().invoke(app, [*base, "-o", str(tmp_path / name)])
        assert done.exit_code == 0, done.output
        assert (tmp_path / name).read_bytes().startswith(head)
    drilled = CliRunner().invoke(app, [*base, "--cut", "plunge", "-o", str(tmp_path / "x.svg")])
    assert drilled.exit_code != 0 and "plunging" in str(drilled.exception)
    assert not (tmp_path / "x.svg").exists()


def test_a_speed_the_spindle_cannot_turn_is_no_setting_on_the_sheet() -> None:
    found = looking.demo("sensor_plate", "bad")
    tool = sheet_tools(found.ctx, found.report)[0]
    assert tool.speed == "13200 rpm" and "S30000 cannot be turned: 6000 rpm to 24000 rpm" in tool.speed_note


def test_every_question_and_caution_is_on_the_sheet_or_counted() -> None:
    for found in (looking.demo("sensor_plate"), looking.demo("sensor_plate", "bad"), looking.demo("box")):
        text, report = _text(sheet_page(found)), found.report
        for lines in (report.checklist, report.cautions):
            missing = [line for line in lines if re.sub(r"\s+", " ", line) not in text]
            counted = re.findall(r"and (\d+) more: see the report", text)
            assert not missing or str(len(missing)) in counted, missing
