"""Advice, cut, five answers, and the next advice differs and says why."""

from __future__ import annotations

import json
from pathlib import Path

from tests.helpers.command import run

CUT = ["--machine", "screw-desktop-300w", "--material", "6082", "--cutter", "flat-6mm-1f"]


def _depth(tmp_path: Path, log: dict[str, str], *more: str) -> float:
    return float(
        json.loads(run(["settings", *CUT, "--json", *more], tmp_path, **log).stdout)["settings"][
            "axial_depth_mm"
        ]
    )


def test_five_good_cuts_beyond_the_limits_deepen_the_next_advice(tmp_path: Path) -> None:
    log = {"MILLCALC_LOG": str(tmp_path / "cuts.db")}
    before = _depth(tmp_path, log)
    bold = run(["settings", *CUT, "--proven", "--ap", "0.9", "--json"], tmp_path, **log)
    (tmp_path / "bold.json").write_text(bold.stdout, encoding="utf-8")
    for _ in range(5):
        done = run(["log", "add", "--from-settings", "bold.json", "--outcome", "good"], tmp_path, **log)
        assert done.returncode == 0, done.stderr
    after = _depth(tmp_path, log)
    assert after > before
    assert _depth(tmp_path, log, "--no-learn") == before
    text = " ".join(run(["settings", *CUT, "--more"], tmp_path, **log).stdout.split())
    assert "learned from the log" in text
    assert "Similar cuts in your log" in text and "good" in text


def test_shares_for_the_log_are_the_bare_physics(tmp_path: Path) -> None:
    """What was learned must not be learned again from its own advice."""
    log = {"MILLCALC_LOG": str(tmp_path / "cuts.db")}
    test_five_good_cuts_beyond_the_limits_deepen_the_next_advice(tmp_path)
    given = ["--ap", "0.4", "--feed", "360", "--rpm", "12000", "--json"]
    learned = json.loads(run(["settings", *CUT, *given], tmp_path, **log).stdout)["limits"]
    bare = json.loads(run(["settings", *CUT, *given, "--no-learn"], tmp_path, **log).stdout)["limits"]
    shares = [{row["key"]: row["bare_share"] for row in rows} for rows in (learned, bare)]
    assert shares[0] == shares[1]
    assert {row["key"]: row["share"] for row in learned} != {row["key"]: row["share"] for row in bare}


def test_a_damaged_log_is_left_out_and_said(tmp_path: Path) -> None:
    (tmp_path / "cuts.db").write_bytes(b"not a database at all" * 100)
    done = run(["settings", *CUT], tmp_path, MILLCALC_LOG=str(tmp_path / "cuts.db"))
    assert done.returncode == 0
    assert "log was left out" in done.stderr


def test_the_readmes_round_trip(tmp_path: Path) -> None:
    """Proven cuts within every limit, logged as good five times: F1280 becomes F1300, as README says."""
    log = {"MILLCALC_LOG": str(tmp_path / "cuts.db")}
    cut = ["--machine", "gantry-800w", "--material", "6082", "--cutter", "flat-6mm-1f", "--proven", "--json"]
    proven = run(["settings", *cut], tmp_path, **log)
    assert proven.returncode == 0 and json.loads(proven.stdout)["settings"]["feed_mm_min"] == 1280.0
    (tmp_path / "cut.json").write_text(proven.stdout, encoding="utf-8")
    for _ in range(5):
        run(["log", "add", "--from-settings", "cut.json", "--outcome", "good"], tmp_path, **log)
    after = json.loads(run(["settings", *cut], tmp_path, **log).stdout)
    assert after["settings"]["feed_mm_min"] == 1300.0
    assert "the limit is taken at 1.04 times" in " ".join(
        run(["log", "learn"], tmp_path, **log).stdout.split()
    )
