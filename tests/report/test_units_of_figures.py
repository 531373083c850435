"""Pictures and long words of an answer say the same as its table, in the same units."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from millcalc.cli.common import wrapped
from millcalc.report.figures import alternatives_figure


@pytest.mark.parametrize(
    ("units", "text", "volume"),
    [("mm", "29.4 s", "a cubic centimetre"), ("in", "482 s", "a cubic inch")],  # 1 in3 is 16.387 cm3
)
def test_the_bars_of_other_ways_count_the_volume_of_the_units(units: Any, text: str, volume: str) -> None:
    way: Any = SimpleNamespace(time_s_cm3=29.4, title="slot", best=True)
    figure = alternatives_figure([way], units)
    assert [row["text"] for row in figure.data["rows"]] == [text]
    assert figure.data["axis"] == f"time in the cut for {volume}; shorter is quicker"


def test_a_path_longer_than_the_line_stays_whole_to_be_copied(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    path = "jobs/" + "sensor-plate-" * 5 + "/job.yaml"
    assert path in [line.strip() for line in wrapped(f"Wrote {path}")]
