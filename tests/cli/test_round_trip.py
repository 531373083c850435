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


def _log(tmp_path: Path, log: dict[str, str], times: int, *answers: str) -> None:
    bold = run(["settings", *CUT, "--proven", "--ap", "0.9", "--json"], tmp_path, **log)
    (tmp_path / "bold.json").write_text(bold.stdout, encoding="utf-8")
    for _ in range(times):
        done = run(["log", "add", "--from-settings", "bold.json", *answers], tmp_path, **log)
        assert done.returncode == 0, done.stderr


def test_five_good_cuts_beyond_the_first_cut_are_offered_beside_it(tmp_path: Path) -> None:
    """The first cut's advice stays: what ran stands beside it, with the step between."""
    log = {"MILLCALC_LOG": str(tmp_path / "cuts.db")}
    before = _depth(tmp_path, log)
    _log(tmp_path, log, 5, "--outcome", "good")
    assert _depth(tmp_path, log) == _depth(tmp_path, log, "--no-learn") == before == 0.55
    text = " ".join(run(["settings", *CUT], tmp_path, **log).stdout.split())
    assert "proven here: 12000 rpm, 460 mm/min, 0.9 mm deep: 5 good cuts" in text
    assert "the step between: 12000 rpm, 400 mm/min, 0.7 mm deep" in text
    everything = " ".join(run(["settings", *CUT, "--more"], tmp_path, **log).stdout.split())
    assert "Similar cuts in your log" in everything and "good" in everything


def test_shares_for_the_log_are_the_bare_physics(tmp_path: Path) -> None:
    """What was learned must not be learned again from its own advice."""
    log = {"MILLCALC_LOG": str(tmp_path / "cuts.db")}
    _log(tmp_path, log, 2, "--outcome", "failed", "--symptom", "chatter")
    given = ["--ap", "0.4", "--feed", "360", "--rpm", "12000", "--json"]
    learned = json.loads(run(["settings", *CUT, *given], tmp_path, **log).stdout)["limits"]
    bare = json.loads(run(["settings", *CUT, *given, "--no-learn"], tmp_path, **log).stdout)["limits"]
    shares = [{row["key"]: row["bare_share"] for row in rows} for rows in (learned, bare)]
    assert shares[0].pop("failed-here") > 0  # no physics: what the log itself says of this cut
    assert shares[0] == shares[1]
    assert {row["key"]: row["share"] for row in learned} != {row["key"]: row["share"] for row in bare}


def test_a_damaged_log_is_left_out_and_said(tmp_path: Path) -> None:
    (tmp_path / "cuts.db").write_bytes(b"not a database at all" * 100)
    done = run(["settings", *CUT], tmp_path, MILLCALC_LOG=str(tmp_path / "cuts.db"))
    assert done.returncode == 0
    assert "log was left out" in done.stderr


def test_the_readmes_round_trip(tmp_path: Path) -> None:
    """Proven cuts within every limit, logged as good five times, stand beside the first cut, as README says."""
    log = {"MILLCALC_LOG": str(tmp_path / "cuts.db")}
    cut = ["--machine", "gantry-800w", "--material", "6082", "--cutter", "flat-6mm-1f"]
    proven = run(["settings", *cut, "--proven", "--json"], tmp_path, **log)
    assert proven.returncode == 0 and json.loads(proven.stdout)["settings"]["feed_mm_min"] == 1280.0
    (tmp_path / "cut.json").write_text(proven.stdout, encoding="utf-8")
    for _ in range(5):
        run(["log", "add", "--from-settings", "cut.json", "--outcome", "good"], tmp_path, **log)
    text = " ".join(run(["settings", *cut], tmp_path, **log).stdout.split())
    assert "proven here: 24000 rpm, 1280 mm/min, 1.4 mm deep: 5 good cuts" in text
    readme = " ".join((Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8").split())
    assert "proven here: 24000 rpm, 1280 mm/min, 1.4 mm deep" in readme
