"""When a finding happens: closed forms of plane geometry for first contact, release and the size of a freed piece."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from millcalc.check.model import FindingOut
from tests.helpers import looking

CUT = "G0 X50 Y35\nG1 Z-0.5 F75\nG0 Z10\n"  # somewhere else
HEAD = "G21 G90 G17 G94 G54\nT1 M6\nS13200 M3\nG4 P6\nG0 Z10\n"
RADIUS = 3.0


def _finding(found: looking.Looked, code: str) -> FindingOut:
    return next(finding for finding in found.report.findings if finding.code == code)


@pytest.mark.parametrize("y", [12.0, 21.5])
def test_a_rapid_from_beside_the_stock_meets_it_a_radius_before_its_edge(tmp_path: Path, y: float) -> None:
    found = looking.looked(tmp_path, f"{HEAD}{CUT}G0 X-20 Y{y}\nG0 Z-1\nG0 X30\nG0 Z10\nM5\nM2\n")
    rapid = _finding(found, "RAPID-01")
    assert rapid.place_mm is not None and rapid.at is not None and rapid.at.tip_mm == rapid.place_mm
    assert rapid.place_mm.x == pytest.approx(-RADIUS, abs=0.5), "the stock's edge is X0"
    assert rapid.at.share == pytest.approx((20 - RADIUS) / 50, abs=0.01)
    assert (rapid.place_mm.y, rapid.place_mm.z) == (y, -1.0)


def test_a_rapid_in_its_own_slot_meets_the_wall_at_the_slots_end(tmp_path: Path) -> None:
    cut = "G0 X15 Y12\nG1 Z-1 F75\nG1 X30 F190\nG0 X15\nG0 X45\nG0 Z10\nM5\nM2\n"
    rapid = _finding(looking.looked(tmp_path, HEAD + cut), "RAPID-01")
    assert rapid.line == 10 and rapid.place_mm is not None
    assert rapid.place_mm.x == pytest.approx(30.0, abs=0.5), (
        "the slot was cut to X30, and is empty until there"
    )


def test_a_plunge_in_rapid_is_marked_at_the_stocks_top(tmp_path: Path) -> None:
    rapid = _finding(looking.looked(tmp_path, f"{HEAD}{CUT}G0 X20 Y20\nG0 Z-2\nG0 Z10\nM5\nM2\n"), "RAPID-02")
    assert rapid.place_mm is not None and rapid.place_mm.z == pytest.approx(0.0, abs=0.3)


@pytest.mark.parametrize(("width", "height"), [(30.0, 20.0), (30.07, 20.13), (25.45, 22.22)])
def test_a_freed_piece_has_its_true_size_and_comes_free_where_the_outline_closes(
    tmp_path: Path, width: float, height: float
) -> None:
    left, front = 10.2 - RADIUS, 8.1 - RADIUS
    right, back = 10.2 + width + RADIUS, 8.1 + height + RADIUS
    body = f"G0 X{left} Y{front}\nG1 Z-6.2 F75\nG1 X{right} F390\nG1 Y{back}\nG1 X{left}\nG1 Y{front}\nG0 Z10\nM5\nM2\n"
    found = looking.looked(tmp_path, HEAD + body)
    (piece,) = found.ctx.removal.loose
    cell = found.ctx.removal.cell_mm
    assert piece.size_mm == pytest.approx((width, height), abs=0.2 * cell)
    loose = _finding(found, "LOOSE-01")
    assert "give or take 0.2 mm" in loose.fact and loose.at is not None and loose.at.tip_mm is not None
    # the round end of the last cut meets the round end of the first: two radii apart at the slot's outer wall
    assert loose.at.tip_mm.y == pytest.approx(front + 2 * RADIUS, abs=0.8)
    (watched,) = [entry for entry in found.report.times.watch if entry.what == "a piece comes free"]
    assert watched.from_s == pytest.approx(loose.at.time_s, abs=0.06)


def test_every_finding_of_a_motion_carries_its_moment_and_place(tmp_path: Path) -> None:
    report = looking.demo("sensor_plate", "bad").report
    moved = [finding for finding in report.findings if finding.place_mm is not None]
    assert len(moved) > 20
    for finding in moved:
        assert finding.at is not None and 0 <= finding.at.share <= 1, finding.code
        if finding.code != "LOOSE-01":  # its place is the piece's, not the cutter's
            assert finding.at.tip_mm == finding.place_mm, finding.code
        assert finding.at.time_s is not None and math.isfinite(finding.at.time_s)
