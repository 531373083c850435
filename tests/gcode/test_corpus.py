"""Each program of the corpus reads as its entry in ``corpus/index.yaml`` says, worked out by hand."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml

from millcalc.findings import Finding
from millcalc.gcode.motions import DWELL, FLAG_COMP_LEFT, PROBE, RAPID, MotionTable
from millcalc.gcode.options import ReadOptions
from millcalc.gcode.profiles import profile_names
from millcalc.gcode.program import Program
from millcalc.gcode.reader import read_program

CORPUS = Path(__file__).parent / "corpus"
INDEX: dict[str, dict[str, Any]] = yaml.safe_load((CORPUS / "index.yaml").read_text(encoding="utf-8"))
NAMES = sorted(INDEX)
IN_PLANE = {17: (0, 1), 18: (2, 0), 19: (1, 2)}


@cache
def read(name: str) -> Program:
    options = ReadOptions(**INDEX[name].get("options", {}))
    return read_program((CORPUS / f"{name}.nc").read_bytes(), f"{name}.nc", options=options)


def lines_of(finding: Finding) -> set[int]:
    """Lines a finding points at; {0} for the whole program."""
    if not finding.spans:
        return {0}
    lines = {span.line for span in finding.spans}
    if finding.last_line is not None:
        lines |= set(range(min(lines), finding.last_line + 1))
    return lines


def family_fits(finding: Finding, families: str) -> bool:
    return families == "*" or finding.code.split("-")[0] in families.split("|")


def own_extents(table: MotionTable) -> tuple[list[float], list[float]]:
    """Least and greatest coordinates, arcs at the quarter points they pass, worked out row by row."""
    low, high = [math.inf] * 3, [-math.inf] * 3

    def take(axis: int, value: float) -> None:
        if not math.isnan(value):
            low[axis], high[axis] = min(low[axis], value), max(high[axis], value)

    for row in range(len(table)):
        for axis in range(3):
            take(axis, table.start_mm[row, axis])
            take(axis, table.end_mm[row, axis])
        if not table.is_arc[row]:
            continue
        first, second = IN_PLANE[int(table.plane[row])]
        centre, start = table.centre_mm[row], table.start_mm[row]
        radius = math.hypot(start[first] - centre[first], start[second] - centre[second])
        angle = math.atan2(start[second] - centre[second], start[first] - centre[first])
        sweep = float(table.sweep_rad[row])
        for quarter in range(-12, 13):
            turned = (quarter * math.pi / 2 - angle) / sweep if sweep else -1.0
            if 0.0 <= turned <= 1.0:
                take(first, centre[first] + radius * round(math.cos(quarter * math.pi / 2)))
                take(second, centre[second] + radius * round(math.sin(quarter * math.pi / 2)))
    return low, high


def test_the_index_and_the_folder_name_the_same_programs() -> None:
    assert sorted(path.stem for path in CORPUS.glob("*.nc")) == NAMES
    assert len(NAMES) >= 80


@pytest.mark.parametrize("name", NAMES)
def test_findings_are_those_and_only_those_worked_out_by_hand(name: str) -> None:
    entry, program = INDEX[name], read(name)
    told = [(finding.code, sorted(lines_of(finding)), finding.fact) for finding in program.findings]
    if entry.get("clean"):
        assert not program.findings, told
        return
    complaints, may = entry.get("complaints", {}), set(entry.get("may", []))
    last = max((n for n in range(1, program.lines + 1) if program.line_text(n).strip()), default=1)
    allowed = set(may)
    for line, families in complaints.items():
        if line == "any":
            allowed |= set(range(program.lines + 2))
            fitting = [f for f in program.findings if family_fits(f, families)]
        elif line == "end":
            allowed |= {0, 1, last}
            fitting = [f for f in program.findings if lines_of(f) & {0, 1, last} and family_fits(f, families)]
        else:
            first, _, final = str(line).partition("-")
            wanted = set(range(int(first), int(final or first) + 1))
            allowed |= wanted
            fitting = [f for f in program.findings if wanted & lines_of(f) and family_fits(f, families)]
        assert fitting, f"{name}: nothing of {families} on line {line}; found {told}"
    stray = [t for t, f in zip(told, program.findings, strict=True) if not lines_of(f) <= allowed]
    assert not stray, f"{name}: {stray}"


@pytest.mark.parametrize("name", NAMES)
def test_every_finding_is_complete(name: str) -> None:
    program = read(name)
    for finding in program.findings:
        assert finding.fact and finding.action and finding.code, finding
        for span in finding.spans:
            assert 1 <= span.line <= program.lines, finding
            if span.start or span.end:
                width = program.line_starts[span.line] - program.line_starts[span.line - 1]
                assert 1 <= span.start < span.end <= width + 1, finding


@pytest.mark.parametrize("name", NAMES)
def test_motions_are_those_worked_out_by_hand(name: str) -> None:
    entry, program = INDEX[name], read(name)
    table = program.motions
    feeds = table.is_feed
    counts = {
        "motions": len(table),
        "rapids": int((table.kind == RAPID).sum()),
        "feeds": int(feeds.sum()),
        "arcs": int(table.is_arc.sum()),
        "probes": int((table.kind == PROBE).sum()),
        "comp_left": int(((table.flags & FLAG_COMP_LEFT) != 0).sum()),
        "stops": sum(event.kind == "stop" for event in program.events),
        "messages": sum(event.kind == "message" for event in program.events),
    }
    for key, count in counts.items():
        if key in entry:
            assert count == entry[key], key
    if "extents" in entry:
        low, high = own_extents(table)
        for axis, (least, most) in entry["extents"].items():
            assert low["xyz".index(axis)] == pytest.approx(least, abs=1e-6), axis
            assert high["xyz".index(axis)] == pytest.approx(most, abs=1e-6), axis
    if "feed_length_mm" in entry:
        assert table.length_mm[feeds].sum() == pytest.approx(entry["feed_length_mm"], rel=1e-7)
    if "dwell_s" in entry:
        assert table.dwell_s[table.kind == DWELL].sum() == pytest.approx(entry["dwell_s"], abs=1e-9)
    if "tools" in entry:
        assert sorted(set(table.tool[feeds].tolist())) == entry["tools"]
    if "speeds" in entry:
        assert sorted(set(table.spindle_rpm[feeds].tolist())) == entry["speeds"]
    if "feed_rates" in entry:
        assert sorted(set(table.feed_mm_min[feeds].round(6).tolist())) == pytest.approx(
            sorted(entry["feed_rates"]), rel=1e-7
        )
    if "end" in entry:
        assert table.end_mm[-1].tolist() == pytest.approx(entry["end"], abs=1e-9)


@pytest.mark.parametrize("name", [name for name in NAMES if "same_as" in INDEX[name]])
def test_variants_move_as_their_original(name: str) -> None:
    entry = INDEX[name]
    mine, other = read(name).motions, read(entry["same_as"]).motions
    assert len(mine) == len(other)
    for column in ("kind", "plane", "tool", "spindle_dir", "coolant", "feed_mode", "call_depth"):
        assert np.array_equal(getattr(mine, column), getattr(other, column)), column
    for column in ("start_mm", "end_mm", "centre_mm", "sweep_rad", "length_mm", "feed_mm_min", "spindle_rpm"):
        np.testing.assert_allclose(
            getattr(mine, column),
            getattr(other, column),
            rtol=0,
            atol=entry.get("same_tolerance", 0.0),
            err_msg=column,
        )
    if entry.get("same_lines", "same_tolerance" not in entry):
        assert np.array_equal(mine.line, other.line)


@pytest.mark.parametrize("name", NAMES)
def test_both_paths_read_every_program_alike_in_every_dialect(name: str) -> None:
    data = (CORPUS / f"{name}.nc").read_bytes()
    profiles = profile_names()
    for profile in {"any", profiles[NAMES.index(name) % len(profiles)]}:
        limits = {"profile": profile, "max_motions": 4000, "max_jumps": 500, "max_blocks": 5000}
        plain = read_program(data, options=ReadOptions(force_slow=True, **limits))
        fast = read_program(data, options=ReadOptions(force_fast=True, **limits))
        assert [(f.code, f.spans, f.fact) for f in plain.findings] == [
            (f.code, f.spans, f.fact) for f in fast.findings
        ]
        for column in plain.motions.__dataclass_fields__:
            one, two = getattr(plain.motions, column), getattr(fast.motions, column)
            np.testing.assert_allclose(one, two, rtol=1e-12, atol=1e-12, err_msg=column)
