"""The SARIF log: the published schema, the standard's columns, and nothing lost on the way.

SARIF: Static Analysis Results Interchange Format Version 2.1.0, OASIS Standard, 27 March 2020; the schema is the
published one, see data/README.md.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import jsonschema
import pytest

from millcalc.check.prepare import CheckOptions
from millcalc.check.run import Looked, look_at
from millcalc.report.check_sarif import artifact_location, sarif_failed, sarif_part, sarif_text
from millcalc.tables import demo_root

SCHEMA = json.loads((Path(__file__).parent / "data" / "sarif-2.1.0-rtm.5.json").read_text(encoding="utf-8"))
PLATE = demo_root() / "sensor_plate"
LEVELS = {"stop": "error", "warning": "warning", "note": "note"}


def log_of(*looked: Looked) -> dict[str, Any]:
    text = sarif_text([sarif_part(each.report, each.ctx.program) for each in looked])
    assert text.isascii() and text.endswith("}\n")
    log: dict[str, Any] = json.loads(text)
    valid(log)
    return log


def valid(log: dict[str, Any]) -> None:
    checker = jsonschema.Draft4Validator.FORMAT_CHECKER
    jsonschema.Draft4Validator(SCHEMA, format_checker=checker).validate(log)


@pytest.fixture(scope="module")
def bad() -> Looked:
    quiet = {"SCREW-01": "the screw is out", "TIME-01": "seldom seen"}
    return look_at(PLATE / "bad.nc", PLATE / "job.yaml", CheckOptions(quiet=quiet))


def test_the_schema_refuses_what_is_not_sarif() -> None:
    for wrong in ({}, {"version": "2.1.0", "runs": [{}]}, {"version": "2.0.0", "runs": []}):
        with pytest.raises(jsonschema.ValidationError):
            valid(wrong)


def test_every_finding_arrives_with_its_level_and_place(bad: Looked) -> None:
    run = log_of(bad)["runs"][0]
    failed = [r for r in run["results"] if r["kind"] == "fail" and "suppressions" not in r]
    assert len(failed) == len(bad.report.findings) > 10
    for finding, result in zip(bad.report.findings, failed, strict=True):
        assert (result["ruleId"], result["level"]) == (finding.code, LEVELS[finding.severity])
        assert run["tool"]["driver"]["rules"][result["ruleIndex"]]["id"] == finding.code
        assert finding.action.rstrip(".")[1:] in result["message"]["text"]
        assert result["occurrenceCount"] == finding.count
        region = result["locations"][0]["physicalLocation"].get("region", {})
        assert region.get("startLine") == finding.line
        if finding.measured is not None:
            assert result["properties"]["measured"] == finding.measured
    assert {r["level"] for r in failed} == {"error", "warning", "note"}


def test_accepted_and_unmade_checks_are_told(bad: Looked) -> None:
    results = log_of(bad)["runs"][0]["results"]
    accepted = [r for r in results if "suppressions" in r]
    assert [r["ruleId"] for r in accepted] == [q.finding.code for q in bad.report.quieted]
    assert accepted[0]["suppressions"][0]["kind"] == "external"
    assert "the screw is out" in accepted[0]["suppressions"][0]["justification"]
    unmade = [r for r in results if r["kind"] == "open"]
    assert len(unmade) == len(bad.report.not_checked) > 0
    assert all(r["level"] == "none" and r["message"]["text"].startswith("Not checked:") for r in unmade)


def test_an_acceptance_in_the_program_is_in_the_source(tmp_path: Path) -> None:
    program = tmp_path / "p.nc"
    program.write_text(
        "(millcalc: accept MODE-01: always in mm here)\nG90 G17 G94 G54\nG0 Z5\nG1 X5 F90\nM30\n",
        encoding="utf-8",
    )
    results = log_of(look_at(program))["runs"][0]["results"]
    assert [r["suppressions"][0]["kind"] for r in results if r["ruleId"] == "MODE-01"] == ["inSource"]


def test_rules_carry_their_help_and_cautions_are_there(bad: Looked) -> None:
    run = log_of(bad)["runs"][0]
    for rule in run["tool"]["driver"]["rules"]:
        assert "Why:" in rule["help"]["text"] and "**Source**" in rule["help"]["markdown"], rule["id"]
        assert "``" not in rule["help"]["text"] + rule["fullDescription"]["text"]
        assert rule["name"].isalnum()
    said = " ".join(n["message"]["text"] for n in run["invocations"][0]["toolExecutionNotifications"])
    assert "glasses" in said and "look yourself" in said and "not a guarantee" in said
    assert run["invocations"][0]["executionSuccessful"] is True
    assert " safe" not in json.dumps(run).lower().replace("safety", "")


@pytest.mark.parametrize(
    "line",
    [
        b"G1 X1.2.3 Y5",
        "(Maß 𝛼) G1 X1.2.3 Y5".encode(),
        "(Maß) G1 X1.2.3 Y5".encode("cp1252"),
        b"(" + b"-" * 300 + b") G1 X1.2.3 Y5",
    ],
)
@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"])
def test_columns_are_utf16_code_units(tmp_path: Path, line: bytes, end: bytes) -> None:
    program = tmp_path / "p.nc"
    program.write_bytes(end.join([b"G21 G90", b"G0 Z5 F90", line, b"M30", b""]))
    log = log_of(look_at(program))
    assert log["runs"][0]["columnKind"] == "utf16CodeUnits"
    assert end.decode() in log["runs"][0]["newlineSequences"]
    result = next(r for r in log["runs"][0]["results"] if r["ruleId"] == "WORD-03")
    region = result["locations"][0]["physicalLocation"]["region"]
    assert region["startLine"] == region.get("endLine", 3) == 3
    try:
        text = line.decode("utf-8")
    except UnicodeDecodeError:
        text = line.decode("cp1252")
    units = text.encode("utf-16-le")
    shown = units[2 * (region["startColumn"] - 1) : 2 * (region["endColumn"] - 1)].decode("utf-16-le")
    assert shown == "1.2."  # the number that is malformed


def test_places_are_relative_to_the_working_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "in here").mkdir()
    program = tmp_path / "in here" / "a 100% #1 é.nc"
    program.write_bytes(b"G0 X1\n")
    monkeypatch.chdir(tmp_path)
    place = log_of(look_at(Path("in here") / program.name))["runs"][0]["artifacts"][0]["location"]
    assert place["uriBaseId"] == "SRCROOT" and "\\" not in place["uri"]
    assert unquote(place["uri"]) == f"in here/{program.name}"
    assert artifact_location(str(program)) == place
    monkeypatch.chdir(tmp_path / "in here")
    (tmp_path / "other").mkdir()
    outside = artifact_location(str(tmp_path / "other" / "p.nc"))
    assert outside["uri"].startswith("file://") and "uriBaseId" not in outside
    assert artifact_location("../other/p.nc") == outside


def test_several_programs_and_one_that_cannot_be_read(bad: Looked) -> None:
    alone = look_at(PLATE / "good.nc")
    parts = [sarif_part(bad.report, bad.ctx.program), sarif_part(alone.report, alone.ctx.program)]
    log = json.loads(sarif_text([*parts, sarif_failed("gone.nc", "no file of that name")]))
    valid(log)
    run = log["runs"][0]
    assert len(run["artifacts"]) == 3
    assert run["invocations"][0]["executionSuccessful"] is False
    assert "no file of that name" in run["invocations"][0]["toolExecutionNotifications"][0]["message"]["text"]
    codes = [rule["id"] for rule in run["tool"]["driver"]["rules"]]
    assert codes == sorted(set(codes))


@pytest.mark.parametrize(
    "data", [b"", b"\xef\xbb\xbfG1 X1.2.3\n", bytes(range(256)) * 30, "G1 X1\n".encode("utf-16")]
)
def test_odd_bytes_make_a_valid_log(tmp_path: Path, data: bytes) -> None:
    program = tmp_path / "odd.nc"
    program.write_bytes(data)
    assert log_of(look_at(program))["runs"][0]["results"]
