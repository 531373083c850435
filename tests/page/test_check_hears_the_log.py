"""The page's check hears the log as the terminal's does: one question, one answer."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from millcalc.page.worker import KINDS
from tests.check.test_learned import CHECK, cut, log, settings
from tests.helpers.command import config_folder, run


def test_a_failure_in_the_log_is_found_by_the_page_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = settings(tmp_path)
    depth = made["axial_depth_mm"]
    log(tmp_path, made, depth, 1, "failed", "--symptom", "chatter")
    cut(tmp_path, made, depth)
    typed = json.loads(run([*CHECK, "--json"], tmp_path).stdout)
    monkeypatch.chdir(tmp_path)
    for name, value in config_folder(tmp_path / "none").items():
        monkeypatch.setenv(name, value)
    (tmp_path / "out").mkdir()
    order = {"program": "slot.nc", "job": "job.yaml", "out": "out", "units": "mm", "stamp": "1"}
    KINDS["check"](order, tmp_path / "out", lambda stage, share: None)
    shown = json.loads((tmp_path / "out" / "check.json").read_text(encoding="utf-8"))
    assert shown["learned"] == typed["learned"]
    told, said = ([(f["code"], f["fact"]) for f in one["findings"]] for one in (typed, shown))
    assert said == told and "what failed here" in dict(said)["DEPTH-01"]
    page = (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    assert "--no-learn" not in page
    assert "With your log: " in page
