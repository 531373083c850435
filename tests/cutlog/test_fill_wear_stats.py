"""Filling an entry from files and tables; minutes of cutters; tables and plots over many cuts."""

from __future__ import annotations

import copy
import hashlib
import json
import math
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from cuts import START, cut, days
from scipy.stats import binomtest

from millcalc.cutlog import fill
from millcalc.cutlog.fill import from_check
from millcalc.cutlog.questions import ask_outcome, choice
from millcalc.cutlog.rows import entry_from
from millcalc.cutlog.stats import depth_plot, drift, frame_of, what_worked, wilson_interval
from millcalc.cutlog.wear import wear_of
from millcalc.cutlog.where import data_folder, log_path
from millcalc.errors import LogError
from millcalc.tables import load_cutter, load_material

# -- filling ----------------------------------------------------------------------------------------


def _settings_file(path: Path) -> dict[str, Any]:
    """What an advice for the sensor plate writes, by the project's own advice."""
    from millcalc.advise.advice import advise
    from millcalc.advise.bare_shares import bare_shares
    from millcalc.limits.build import make_tooling
    from millcalc.limits.request import CutRequest
    from millcalc.report.advice_json import advice_data
    from millcalc.tables import load_machine

    tooling = make_tooling(
        load_machine("gantry-800w"), load_material("al-6082-t6"), load_cutter("flat-6mm-1f")
    )
    advice = advise(tooling, CutRequest("slot"))
    data = advice_data(advice, bare_shares(advice))
    path.write_text(json.dumps(data), encoding="utf-8")
    return data


def test_an_advice_fills_what_it_knows(tmp_path: Path) -> None:
    path = tmp_path / "advice.json"
    data = _settings_file(path)
    known = fill.from_settings(fill.load_report(path, fill.SETTINGS_SCHEMA))
    assert known["machine"] == "gantry-800w" and known["operation"] == "slot"
    assert known["feed_mm_min"] == data["settings"]["feed_mm_min"]
    by_key = {limit["key"]: limit["share"] for limit in data["limits"]}
    assert known["shares"]["deflection"] == by_key["deflection"]
    assert known["shares"]["chip_low"] == by_key["rubbing"]
    assert known["shares"]["power"] == max(by_key["spindle-power"], by_key["spindle-torque"])
    assert "cutter-strength" not in known["shares"]
    assert known["force_n"] > 0 and known["power_w"] > 0 and known["deflection_mm"] > 0
    cut(**{**known, **fill.from_tables(known)})  # all of it fits an entry


def test_every_learnable_key_of_an_advice_is_known(tmp_path: Path) -> None:
    keys = {limit["key"] for limit in _settings_file(tmp_path / "a.json")["limits"]}
    never = {
        "cutting-speed", "spindle-top-speed", "spindle-low-speed", "cutter-strength", "flute-length", "reach",
        "chip-room", "top-feed", "acceleration",
    }  # fmt: skip
    assert {key for key in keys if fill.limit_kind(key) is None} == never & keys
    assert keys - never


def test_predictions_of_other_settings_are_outdated() -> None:
    filled = {"axial_depth_mm": 0.6, "feed_mm_min": 390.0, "machine": "a"}
    assert fill.outdated(filled, {"axial_depth_mm": 0.6, "notes": "x"}) == []
    assert fill.outdated(filled, {"axial_depth_mm": 0.8, "machine": "b"}) == ["machine", "axial_depth_mm"]


@pytest.mark.parametrize(
    "content", ["", "[1]", "{}", '{"format": "millcalc-check"}', "\ud7ff", '{"schema": 3}']
)
def test_reports_of_something_else_are_refused(tmp_path: Path, content: str) -> None:
    path = tmp_path / "r.json"
    path.write_text(content, encoding="utf-8")
    with pytest.raises(LogError, match="millcalc settings --json"):
        fill.load_report(path, fill.SETTINGS_SCHEMA)
    with pytest.raises(LogError):
        fill.load_report(tmp_path / "none.json", fill.CHECK_SCHEMA)


def _check_report(tools: int) -> dict[str, Any]:
    """What a check writes, by the project's own report model."""
    from millcalc.check.model import CheckReport, CutFacts, ProgramFacts, SetupFacts, Times, ToolUse

    uses = tuple(
        ToolUse(number=n, cutter="flat-6mm-1f", diameter_mm=6.02, cut_length_mm=1500.0 * n, deepest_mm=6.2,
                speeds_rpm=(18000.0,), feeds_mm_min=(720.0,) if n == 1 else (300.0, 720.0))
        for n in range(1, tools + 1)
    )  # fmt: skip
    facts = ProgramFacts(
        name="plate.nc", lines=9, size_bytes=99, sha256="ab" * 32, motions=5, complete=True, units=("G21",),
        profile="rs274-ngc", extents=None, tools=uses,
    )  # fmt: skip
    report = CheckReport(
        millcalc="0.1.0", program=facts, cut=CutFacts(basis="assumed", simulated=False),
        setup=SetupFacts(job="job.yaml", machine="gantry-800w", material="al-6082-t6", stock_mm=(150, 90, 6)),
        findings=(), not_checked=(), quieted=(), checked=(), checklist=(), cautions=(),
        times=Times(quick_s=200, strict_s=300, cutting_quick_s=120),
    )  # fmt: skip
    return json.loads(report.model_dump_json())


def test_a_check_fills_what_it_knows(tmp_path: Path) -> None:
    path = tmp_path / "report.json"
    path.write_text(json.dumps(_check_report(1)), encoding="utf-8")
    known = fill.from_check(fill.load_report(path, fill.CHECK_SCHEMA))
    assert known == {
        "machine": "gantry-800w", "material": "al-6082-t6", "stock_thickness_mm": 6, "program": "plate.nc",
        "program_sha256": "ab" * 32, "speed_rpm": 18000.0, "feed_mm_min": 720.0, "cut_metres": 1.5,
        "cut_minutes": 2.0, "cutter": "flat-6mm-1f", "diameter_mm": 6.02,
    }  # fmt: skip
    cut(**known)


def test_a_check_of_several_tools_wants_one_named() -> None:
    report = _check_report(3)
    with pytest.raises(LogError, match=r"a report of 3 tools.*--tool NUMBER"):
        fill.from_check(report)
    with pytest.raises(LogError, match="one of: 1, 2, 3"):
        fill.from_check(report, 7)
    second = fill.from_check(report, 2)
    assert second["cut_metres"] == 3.0
    assert not {"feed_mm_min", "cut_minutes"} & set(
        second
    )  # several feeds, and the time of all tools together


def test_shares_in_a_check_are_taken_when_it_has_them() -> None:
    report = _check_report(1)
    report["program"]["tools"][0] |= {
        "limits": [{"key": "deflection", "share": 0.8}, {"key": "odd", "share": 1}, 3]
    }
    assert fill.from_check(report)["shares"] == {"deflection": 0.8}


def test_program_fingerprint(tmp_path: Path) -> None:
    path = tmp_path / "plate.nc"
    path.write_bytes(b"G21\r\nM30\r\n")
    known = fill.from_program(path)
    assert known == {"program": "plate.nc", "program_sha256": hashlib.sha256(b"G21\r\nM30\r\n").hexdigest()}
    with pytest.raises(LogError):
        fill.from_program(tmp_path)


def test_tables_fill_and_names_become_the_tables_own() -> None:
    known = fill.from_tables({"cutter": "flat-6mm-1f", "material": "6082", "flutes": 2})
    assert known["material"] == "al-6082-t6" and known["diameter_mm"] == 6.0
    assert known["kc11_n_mm2"] == load_material("al-6082-t6").kc11_n_mm2.value
    assert "flutes" not in known
    assert fill.from_tables({"cutter": "a free name", "material": "scrap bin"}) == {}


# -- questions --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("answer", "option"),
    [("1", "curls"), ("Hairs", "hairs"), ("p", "powder"), ("", None), ("9", None), ("0", None), ("x", None)],
)
def test_answers_name_options(answer: str, option: str | None) -> None:
    assert choice(answer, ("curls", "hairs", "powder")) == option


def test_five_answers_make_an_outcome() -> None:
    answers = iter(
        ["what?", "3", "tone", "", "wavy", "1", "chatter, 18, nonsense", "80 %", "  squealed in the corner "]
    )
    found = ask_outcome({"feed_mm_min": 720.0}, lambda _: next(answers), lambda _: None)
    assert found == {
        "override_percent": 80.0,
        "outcome": "failed",
        "sound": "tone",
        "finish": "wavy",
        "bit_after": "clean",
        "symptoms": ["chatter", "poor-wall"],
        "notes": "squealed in the corner",
    }
    cut(**found)


def test_end_of_input_gives_no_outcome() -> None:
    assert ask_outcome({}, lambda _: "", lambda _: None) == {}


# -- wear -------------------------------------------------------------------------------------------


def test_minutes_of_each_bit_and_the_record_of_its_like() -> None:
    entries = [
        cut(bit="1", cut_minutes=40.0, bit_age_min=10.0),
        cut(bit="1", cut_minutes=50.0, when=START + days(1), symptoms=["cutter-worn"], outcome="acceptable"),
        cut(bit="2", cut_minutes=70.0),
        cut(bit="2", cut_minutes=15.0, when=START + days(2)),
        cut(bit="2", when=START + days(3)),
        cut(bit="3", cut_minutes=5.0, cutter="other"),
    ]
    first, second, third = wear_of(entries)
    assert (first.minutes, first.ended, first.record_minutes) == (100.0, True, 100.0)
    assert "replace it" in first.warning
    assert (second.minutes, second.cuts_without_time) == (85.0, 1)
    assert "ended at about 100 min" in second.warning
    assert third.record_minutes is None and third.warning == ""


# -- statistics -------------------------------------------------------------------------------------


@pytest.mark.parametrize(("good", "cuts"), [(0, 1), (1, 1), (9, 10), (3, 40), (40, 40)])
def test_wilson_interval_agrees_with_scipy(good: int, cuts: int) -> None:
    wanted = binomtest(good, cuts).proportion_ci(0.95, method="wilson")
    assert wilson_interval(good, cuts) == pytest.approx((wanted.low, wanted.high), abs=1e-6)
    assert wilson_interval(0, 0) == (0.0, 1.0)


def _some() -> list[Any]:
    outcomes = ("good", "good", "acceptable", "failed") * 2
    slots = [
        cut(axial_depth_mm=0.4 + 0.1 * i, outcome=outcome, when=START + days(40 * i))
        for i, outcome in enumerate(outcomes)
    ]
    side = cut(material="acrylic", cooling=None, radial_width_mm=None, size_error_mm=0.02, deflection_mm=0.01)
    return [*slots, side]


def test_what_worked_counts_and_bounds() -> None:
    table = what_worked(frame_of(_some()))
    assert list(table["cuts"]) == [8, 1]
    first = table.iloc[0]
    assert (first["good"], first["acceptable"], first["failed"]) == (4, 2, 2)
    assert first["deepest_good_mm"] == pytest.approx(0.9)
    assert first["shallowest_failed_mm"] == pytest.approx(0.7)
    assert math.isnan(table.iloc[1]["shallowest_failed_mm"])


def test_drift_by_quarter() -> None:
    table = drift(frame_of(_some()))
    assert table["cuts"].sum() == 9 and list(table["quarter"]) == sorted(table["quarter"])
    assert table.iloc[0]["error_ratio"] == pytest.approx(2.0)


def test_nothing_gives_empty_tables() -> None:
    empty = frame_of([])
    assert what_worked(empty).empty and drift(empty).empty


@pytest.mark.parametrize("ending", [".png", ".svg"])
def test_plot_is_written_whole(tmp_path: Path, ending: str) -> None:
    target = tmp_path / f"depth{ending}"
    assert depth_plot(frame_of(_some()), target, "shed gantry <&>") == 9
    start = target.read_bytes()[:400]
    assert start.startswith(b"\x89PNG") if ending == ".png" else b"<svg" in start or b"<?xml" in start
    assert [p.name for p in tmp_path.iterdir()] == [target.name]


def test_plot_refuses_what_it_cannot_draw(tmp_path: Path) -> None:
    with pytest.raises(LogError, match=r"\.png"):
        depth_plot(frame_of(_some()), tmp_path / "x.bmp")
    with pytest.raises(LogError, match="no cut"):
        depth_plot(frame_of([]), tmp_path / "x.png")
    with pytest.raises(LogError):
        depth_plot(frame_of(_some()), tmp_path / "none" / "x.png")


# -- where it lies ----------------------------------------------------------------------------------


def test_data_folder_by_platform(tmp_path: Path) -> None:
    assert data_folder({"LOCALAPPDATA": str(tmp_path)}, "win32", tmp_path) == tmp_path / "millcalc"
    assert data_folder({}, "win32", tmp_path) == tmp_path / "AppData" / "Local" / "millcalc"
    assert data_folder({}, "darwin", tmp_path) == tmp_path / "Library" / "Application Support" / "millcalc"
    assert data_folder({"XDG_DATA_HOME": "relative"}, "linux", tmp_path) == tmp_path / ".local/share/millcalc"


def test_which_log_is_used(tmp_path: Path) -> None:
    job = tmp_path / "job"
    job.mkdir()
    mine = {"MILLCALC_LOG": str(tmp_path / "mine.db")}
    assert log_path("a.db", job, mine) == Path("a.db")
    assert log_path(None, job, mine) == tmp_path / "mine.db"
    assert log_path(None, job, {}).parent.name == "millcalc"
    (job / "cuts.db").touch()
    assert log_path(None, job, {}) == job / "cuts.db"


def _leaves(data: object, at: tuple[object, ...] = ()) -> Iterator[tuple[object, ...]]:
    yield at
    for key, value in (
        data.items() if isinstance(data, dict) else enumerate(data[:2]) if isinstance(data, list) else ()
    ):
        yield from _leaves(value, (*at, key))


CHECK = {
    "format": "millcalc-check",
    "program": {
        "name": "a.nc",
        "sha256": "0" * 64,
        "tools": [
            {"number": 1, "cutter": "flat-6mm-1f", "speeds_rpm": [9000.0], "feeds_mm_min": [300.0], "flutes": 1,
             "cut_length_mm": 500.0, "axial_depth_mm": 1.0, "limits": [{"key": "power", "share": 0.5}]},
        ],
    },
    "setup": {"machine": "gantry-800w", "material": "al-6082-t6", "stock_mm": [100.0, 80.0, 6.0]},
    "times": {"cutting_quick_s": 100.0},
}  # fmt: skip


@pytest.mark.parametrize("wrong", [None, True, 0, -1, 1e300, "x", "", [], {}, [[]], [None], {"a": 1}, 10**30])
def test_a_report_with_wrong_types_gets_one_line_or_is_left_open(wrong: object) -> None:
    when = {"when": datetime.now(UTC), "outcome": "good", "machine": "m", "material": "al", "cutter": "c"}
    assert entry_from({**when, **from_check(CHECK)}).stock_thickness_mm == 6.0
    for place in list(_leaves(CHECK))[1:]:
        data = copy.deepcopy(CHECK)
        at: Any = data
        for key in place[:-1]:
            at = at[key]
        at[place[-1]] = wrong
        try:
            entry_from({**when, **from_check(data)})
        except LogError as error:
            assert "accepted" in str(error)


@pytest.mark.parametrize(
    ("part", "name", "said"),
    [
        ("setup", "stock_mm", "a list"),
        ("times", "cutting_quick_s", "a number"),
        ("program", "tools", "a list"),
    ],
)
def test_a_wrong_type_is_named(part: str, name: str, said: str) -> None:
    data: Any = copy.deepcopy(CHECK)
    data[part][name] = "six"
    with pytest.raises(LogError, match=f"{name}: found 'six'; accepted: {said}"):
        from_check(data)
