"""Practice judges the check: cuts known to work are not stopped, absurd ones are, for the right reason."""

from __future__ import annotations

import pytest

from tests.practice.chain import ABSURD, WORKS, Cut, check

# a warning on a cut that works may say that a limit is passed by at most this factor [-]
MOST_OVER = 1.3


def excess(finding) -> float:
    """By which factor the measured value passes its limit, whichever way the limit points [-]."""
    if finding.measured is None or not finding.limit:
        return float("inf")
    ratio = abs(finding.measured / finding.limit)
    return max(ratio, 1 / ratio if ratio else float("inf"))


@pytest.mark.parametrize("cut", WORKS, ids=lambda cut: cut.name)
def test_a_cut_that_works_is_not_stopped(cut: Cut) -> None:
    found = check(cut).findings
    stops = [f"{f.code}: {f.fact}" for f in found if f.severity == "stop"]
    assert not stops
    loud = [f"{f.code}: {f.fact}" for f in found if f.severity == "warning" and excess(f) > MOST_OVER]
    assert not loud


@pytest.mark.parametrize("cut", ABSURD, ids=lambda cut: cut.name)
def test_an_absurd_cut_is_stopped_for_the_right_reason(cut: Cut) -> None:
    stops = {f.code: f.fact for f in check(cut).findings if f.severity == "stop"}
    assert set(stops) & set(cut.because), f"expected a stop by {cut.because}, found {stops}"


def test_the_table_is_wide_enough() -> None:
    assert len(WORKS) >= 30 and len(ABSURD) >= 25
    assert len({cut.name for cut in WORKS + ABSURD}) == len(WORKS) + len(ABSURD)
    assert {cut.kind for cut in WORKS} >= {"slot", "side", "face", "ramp", "helix", "drill"}
