"""docs/screws.md stays true: its commands run, its worked case comes out."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from millcalc.check.prepare import make_context
from millcalc.cli.main import app
from millcalc.holding.asked import Wish
from millcalc.holding.find import find_hold_down
from millcalc.holding.forces import screw_holds_n
from millcalc.holding.tuning import (
    SCREWS_LEAST,
    SCREWS_SPAN_PER_THICKNESS,
    SCREWS_THIN_PLATE_MM,
    SCREWS_TWO_FROM_MM,
)
from millcalc.job import build_setup, load_job
from millcalc.job.tuning import MARGIN_GUESSED_MM, MARGIN_MEASURED_MM
from millcalc.mechanics.holddown import screw_withdrawal_n
from millcalc.preflight.tuning import (
    HOLD_FRICTION,
    HOLDER_MARGIN_MM,
    PANEL_WITHDRAWAL_SHARE,
    WITHDRAWAL_SAFETY,
)
from millcalc.tables import demo_root

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "docs" / "screws.md").read_text(encoding="utf-8")


def test_options_named_exist() -> None:
    known = CliRunner().invoke(app, ["screws", "--help"], env={"COLUMNS": "200", "TERM": "dumb"}).stdout
    for option in set(re.findall(r"--[a-z][a-z-]+", TEXT)):
        assert option in known, option


def test_worked_case() -> None:
    gravity = 0.680 / 1.12
    assert f"{gravity:.3f}" == "0.607"
    assert screw_withdrawal_n(gravity, 4.0, 10.0) == pytest.approx(1596, abs=0.6)
    assert screw_withdrawal_n(gravity, 4.0, 10.0, PANEL_WITHDRAWAL_SHARE) == pytest.approx(479, abs=0.6)
    assert screw_holds_n(680.0, 4.0, 10.0, WITHDRAWAL_SAFETY) == pytest.approx(87, abs=0.5)
    folder = demo_root() / "sensor_plate"
    setup = build_setup(load_job(folder / "job.yaml"), folder / "job.yaml")
    answer = find_hold_down(make_context((folder / "good.nc").read_bytes(), "good.nc", setup))
    assert answer.holds_n == pytest.approx(87, abs=0.5)
    assert answer.load_n == pytest.approx(32, abs=0.5)


def test_numbers_are_those_in_use() -> None:
    assert (MARGIN_GUESSED_MM, MARGIN_MEASURED_MM, HOLDER_MARGIN_MM) == (3, 1, 1)
    assert (HOLD_FRICTION, PANEL_WITHDRAWAL_SHARE) == (0.25, 0.3)
    assert WITHDRAWAL_SAFETY == Wish().safety == 5.51 and WITHDRAWAL_SAFETY >= 15_700 / 2850
    assert (SCREWS_LEAST, SCREWS_TWO_FROM_MM) == (4, 40)
    assert (SCREWS_THIN_PLATE_MM, SCREWS_SPAN_PER_THICKNESS) == (4, 25)
