"""Check hears the log as settings does: what was lowered is judged lower, what was raised passes, both are said."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.helpers.command import run

SLOT = ["--machine", "gantry-800w", "--material", "al-6061-t6", "--cutter", "flat-6mm-1f"]
JOB = """
machine: gantry-800w
material: al-6061-t6
proven: true
stock: {size_x: 80 mm, size_y: 60 mm, thickness: 20 mm}
zero: {xy: front-left, z: stock top, work_offset: G54}
cutters: {T1: {cutter: flat-6mm-1f}}
"""
CHECK = ["check", "slot.nc", "--job", "job.yaml"]


def settings(folder: Path, *more: str) -> dict[str, float]:
    found: dict[str, float] = json.loads(
        run(["settings", *SLOT, "--proven", "--json", *more], folder).stdout
    )["settings"]
    return found


def cut(folder: Path, made: dict[str, float], depth_mm: float) -> None:
    """The slot as a program, with its job."""
    (folder / "job.yaml").write_text(JOB, encoding="utf-8")
    lines = ["G21 G90 G17 G94 G54", f"S{made['speed_rpm']:.0f} M3", "G4 P10", "G0 Z10", "G0 X-4 Y30",
             f"G0 Z-{depth_mm:.3f}", f"G1 X84 F{made['feed_mm_min']:.0f}", "G0 Z10", "M5", "M30", ""]  # fmt: skip
    (folder / "slot.nc").write_text("\n".join(lines), encoding="utf-8")


def log(folder: Path, made: dict[str, float], depth_mm: float, times: int, *outcome: str) -> None:
    typed = [
        "--rpm",
        f"{made['speed_rpm']:.0f}",
        "--feed",
        f"{made['feed_mm_min']:.0f}",
        "--ap",
        str(depth_mm),
    ]
    for _ in range(times):
        assert run(["log", "add", *SLOT, *typed, "--outcome", *outcome], folder).returncode == 0


def test_a_failure_is_heard_by_the_check_with_the_number_of_settings(tmp_path: Path) -> None:
    made = settings(tmp_path)
    log(tmp_path, made, made["axial_depth_mm"], 1, "failed", "--symptom", "chatter")
    cut(tmp_path, made, made["axial_depth_mm"])
    text = " ".join(run(CHECK, tmp_path).stdout.split())
    assert f"a slot {made['axial_depth_mm']:g} mm deep failed here" in text
    assert "with your log: " in text and "(--no-learn)" in text, text
    assert "without it not DEPTH-01 (warning)" in text
    said = re.search(r"T1 cuts ([\d.]+) mm deep; [a-z ]+ allows ([\d.]+) mm", text)
    assert said and float(said[1]) == made["axial_depth_mm"]
    now = settings(tmp_path)["axial_depth_mm"]
    assert now <= float(said[2]) <= now + 0.06, said[0]
    assert "DEPTH-01" not in run([*CHECK, "--no-learn"], tmp_path).stdout
    cut(tmp_path, settings(tmp_path), now)
    assert "DEPTH-01" not in run([*CHECK, "--all"], tmp_path).stdout


def test_what_settings_advises_from_a_raise_passes_the_check_that_hears_the_same_log(tmp_path: Path) -> None:
    before = settings(tmp_path)
    log(tmp_path, before, 2.4, 15, "good")
    after = settings(tmp_path)
    assert after["axial_depth_mm"] > 1.3 * before["axial_depth_mm"]
    cut(tmp_path, after, after["axial_depth_mm"])
    report = json.loads(run([*CHECK, "--json"], tmp_path).stdout)
    judged = {"DEPTH-01", "FEED-02", "FEED-03", "FORCE-01", "FORCE-02", "FORCE-03", "FORCE-04"}
    assert not {finding["code"] for finding in report["findings"]} & judged
    assert report["learned"]["margins"]["deflection"] == pytest.approx(1.42, abs=0.02)
    assert report["learned"]["without"].startswith("without it also DEPTH-01 (warning)")
    assert "15 telling cuts" in report["learned"]["reasons"]
    bare = json.loads(run([*CHECK, "--json", "--no-learn"], tmp_path).stdout)
    assert bare["learned"] is None and "DEPTH-01" in {finding["code"] for finding in bare["findings"]}
    everything = " ".join(run([*CHECK, "--all"], tmp_path).stdout.split())
    assert "deflection × 1.42" in everything and "this machine's limit is about" in everything


def test_without_a_log_nothing_is_said_of_it_and_a_damaged_one_is_named(tmp_path: Path) -> None:
    cut(tmp_path, settings(tmp_path), 0.5)
    assert "your log" not in run(CHECK, tmp_path).stdout
    (tmp_path / "cuts.db").write_bytes(b"not a database at all" * 100)
    text = run(CHECK, tmp_path, MILLCALC_LOG=str(tmp_path / "cuts.db")).stdout
    assert "the log was left out" in " ".join(text.split())


def test_a_corrected_copy_hears_the_log_too(tmp_path: Path) -> None:
    """The same plate twice: feeds that a lowered chip limit refuses are mended to it."""
    made = settings(tmp_path)
    log(tmp_path, made, 0.5, 4, "failed", "--symptom", "welded-chips")
    cut(tmp_path, made, 0.3)
    found = json.loads(run([*CHECK, "--json"], tmp_path).stdout)
    assert found["learned"]["margins"]["chip_high"] < 0.9
    assert "FEED-03" in {finding["code"] for finding in found["findings"]}
    run(["correct", "slot.nc", "--job", "job.yaml", "-o", "new.nc"], tmp_path)
    assert "FEED-03" not in run(["check", "new.nc", "--job", "job.yaml", "--all"], tmp_path).stdout
    run(["correct", "slot.nc", "--job", "job.yaml", "-o", "bare.nc", "--no-learn"], tmp_path)
    assert (tmp_path / "bare.nc").read_bytes() != (tmp_path / "new.nc").read_bytes()


def test_a_job_of_three_cutters_opens_its_log_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from millcalc.check.prepare import CheckOptions, make_context
    from millcalc.cutlog.store import Log
    from millcalc.cutlog.taught import learner
    from millcalc.job import build_setup
    from millcalc.job.read import parse_job

    made = settings(tmp_path)
    log(tmp_path, made, made["axial_depth_mm"], 1, "failed", "--symptom", "chatter")
    monkeypatch.setenv("MILLCALC_LOG", str(tmp_path / "none" / "cuts.db"))
    opened, begin = [], Log.__init__
    monkeypatch.setattr(
        Log, "__init__", lambda self, *a, **more: (opened.append(a), begin(self, *a, **more))[1]
    )
    cutters = "cutters: {T1: {cutter: flat-6mm-1f}, T2: {cutter: flat-3mm-2f}, T3: {cutter: flat-6mm-1f}}"
    setup = build_setup(parse_job(JOB.replace("cutters: {T1: {cutter: flat-6mm-1f}}", cutters)))
    ctx = make_context(b"G21\nM30\n", "a.nc", setup, CheckOptions(simulate=False, learned=learner(tmp_path)))
    assert len(opened) == 1
    depth = made["axial_depth_mm"]
    failed = {n: [one.depth_mm for one in margins.failed] for n, margins in ctx.taught.margins.items()}
    assert failed[1] == failed[3] == [depth] and not failed.get(2)
