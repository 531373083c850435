"""The check's report: JSON against its schema, the terminal page, and the words it must not use."""

from __future__ import annotations

import io
import json
import math
import re
from pathlib import Path

import jsonschema
import pytest

from millcalc.check.model import CheckReport
from millcalc.check.prepare import CheckOptions
from millcalc.check.run import look_at, look_over
from millcalc.report.check_first_text import print_first_check
from millcalc.report.check_json import check_json, report_schema
from millcalc.report.check_text import print_check
from millcalc.report.console import make_console
from millcalc.units_show import System

ROOT = Path(__file__).parents[2]
PLATE = ROOT / "demo_jobs" / "sensor_plate"
SCHEMA = ROOT / "materials" / "report.schema.json"


@pytest.fixture(scope="module")
def bad() -> CheckReport:
    return look_at(PLATE / "bad.nc", PLATE / "job.yaml").report


@pytest.fixture(scope="module")
def good() -> CheckReport:
    return look_at(PLATE / "good.nc", PLATE / "job.yaml").report


@pytest.fixture(scope="module")
def alone() -> CheckReport:
    return look_at(PLATE / "bad.nc").report


def page(
    report: CheckReport, width: int, encoding: str = "utf-8", everything: bool = False, units: System = "mm"
) -> str:
    """What the program prints: the first screen, or all of it."""
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding=encoding, newline="\n")
    (print_check if everything else print_first_check)(make_console(stream, width=width), report, units)
    stream.flush()
    return raw.getvalue().decode(encoding)


def test_shipped_schema_is_the_models():
    """Write it anew with ``report_schema()`` after a change of the model, and raise VERSION when old readers break."""
    assert json.loads(SCHEMA.read_text(encoding="utf-8")) == report_schema()


@pytest.mark.parametrize("which", ["bad", "good", "alone"])
def test_json_fits_the_schema(which, request):
    text = check_json(request.getfixturevalue(which))
    assert text.isascii() and text.endswith("}\n")
    document = json.loads(text, parse_constant=lambda name: pytest.fail(f"{name} is no JSON"))
    jsonschema.Draft202012Validator(report_schema()).validate(document)


def test_schema_refuses_what_is_not_a_report():
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(report_schema()).validate({"format": "millcalc-check"})


@pytest.mark.parametrize("which", ["bad", "good", "alone"])
@pytest.mark.parametrize("width", [80, 120])
@pytest.mark.parametrize("everything", [False, True])
def test_page_keeps_the_width_and_never_says_safe(which, width, everything, request):
    text = page(request.getfixturevalue(which), width, everything=everything)
    lines = text.splitlines()
    assert max(len(line) for line in lines) <= width
    assert not any(line != line.rstrip() for line in lines)
    words = {word.strip(".,;:()!?").lower() for word in text.split()}
    assert "safe" not in words and "ok" not in words


def test_page_without_unicode(bad):
    text = page(bad, 80, encoding="ascii", everything=True)
    assert "?" not in text.replace("look yourself", "").split("no check sees these")[0]
    assert "->" in text


def test_first_screen_tells_the_worst_and_counts_the_rest(bad):
    text = page(bad, 100)
    told = sum("→ " in line for line in text.splitlines() if line.startswith("  →"))
    assert 1 <= told <= 5
    rest = sum(len(block.findings) for block in bad.told()[told:])
    assert f"and {rest} more" in text and rest <= len(bad.findings) - told
    everything = page(bad, 100, everything=True)
    assert all(finding.code in everything for finding in bad.findings)
    assert "From: " in everything


def test_worst_come_first(bad):
    rank = {"stop": 0, "warning": 1, "note": 2}
    order = [rank[finding.severity] for finding in bad.findings]
    assert order == sorted(order)
    assert bad.findings[0].code == "SCREW-01"


def test_bar_stands_under_the_word(bad):
    lines = page(bad, 100, everything=True).splitlines()
    at = next(i for i, line in enumerate(lines) if "S30000 M3" in line)
    bar = lines[at + 1]
    start = bar.index("~")
    assert lines[at][start : start + len(bar.strip())] == "S30000"


def test_exit_code_follows_the_floor(bad, good):
    assert bad.exit_code() == 1 and bad.exit_code("stop") == 1
    assert good.exit_code() == 0
    assert good.exit_code("note") == 1


def test_verdict_counts_what_was_looked_at(good, alone):
    assert f"{len(good.checked)} things checked" in good.verdict()
    assert len(alone.checked) < len(good.checked)
    clean = look_over(b"G21 G90 G17 G94 G54\nM3 S10000\nG4 P5\nG0 Z5\nG0 X0 Y0\nM5\nM30\n").report
    text = clean.model_copy(update={"findings": ()}).verdict()
    assert text.startswith("no problem found in the ")


def test_everything_unknown_is_listed(alone):
    codes = {entry.code for entry in alone.not_checked}
    assert {"SCREW-01", "DEPTH-01", "LOOSE-01", "TRAVEL-01"} <= codes
    assert not codes & set(alone.checked)


def test_clearances_are_nearest_first(good):
    gaps = [entry.gap_mm for entry in good.clearances]
    assert len(gaps) == 4 and gaps == sorted(gaps) and all(math.isfinite(g) for g in gaps)


def test_inches(bad):
    report = look_at(PLATE / "bad.nc", PLATE / "job.yaml", CheckOptions(units="in", simulate=False)).report
    assert " in" in report.findings[0].fact and " mm" not in report.findings[0].fact
    for everything in (False, True):
        told = page(report, 100, everything=everything, units="in")
        # a remedy is to be written into the program, which names no unit and is read as millimetres
        assert " mm" not in re.sub(r"→.*(\n {4}.*)*", "", told)
        assert "write G1 Z -3.2 mm" in " ".join(told.split())


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\x00\x01\xff" * 50,
        b"%\n%\n",
        b"\n\n\n",
        b"(only a comment)",
        b"G1 X1e9999 F1\n",
        "G1 X5 F−20\n".encode(),
    ],
)
def test_odd_programs_end_in_a_report(data):
    report = look_over(data, "odd.nc").report
    assert report.findings
    json.loads(check_json(report))
    page(report, 80)


def test_tabs_wide_lines_and_odd_characters_in_the_excerpt():
    text = "G21 G90 G94 G54 G17\tG0 Z5\n" + "G0 X1 " + "(" + "x" * 300 + ") Y2\n" + "G1 X\u00e9 F100\n"
    report = look_over(text.encode("utf-8"), "odd.nc").report
    out = page(report, 80, everything=True)
    assert max(len(line) for line in out.splitlines()) <= 80 and "\t" not in out
