"""Verdicts just at an edge: what is said there, and by which rule."""

from __future__ import annotations

import math

import numpy as np
import pytest

from millcalc.gcode.motions import LINE
from millcalc.preflight.feed_model import feed_model
from millcalc.preflight.geometry import some
from tests.helpers.tables import arc_move, table
from tests.preflight.test_feed_model import machine
from tests.preflight.test_trust import PLATE, found

CHANGED = (
    "G21 G90 T1 M6 / M3 S9000 / G0 Z5 / G0 X5 Y5 / G1 Z-1 F60 / G0 Z5 / T2 M6 / G0 Z4 / T3 M6 / G1 Z-1 / M30"
)


def test_of_two_tool_changes_before_a_cut_the_last_one_wants_the_start() -> None:
    (one,) = found("SPIN-11", CHANGED, {})
    assert one.fact == "cuts after the tool change in line 9 without a spindle start in between"
    assert one.action == "write M3, S and a dwell after line 9"


@pytest.mark.parametrize(("z", "height"), [("0", "0 mm"), ("0.5", "0.5 mm")])
def test_a_cutter_that_only_reaches_the_top_is_told_how_far_it_is(z: str, height: str) -> None:
    (one,) = found("STOCK-02", f"$H / G1 Z{z} F60 / G1 X80", PLATE)
    assert one.fact == (
        f"the program never touches the stock: its lowest height is {height} above the stock's top"
    )


@pytest.mark.parametrize(("x", "code"), [("20.0008", "RAPID-02"), ("20.0012", "RAPID-01")])
def test_a_rapid_goes_straight_down_up_to_a_thousandth_beside(x: str, code: str) -> None:
    says = {
        "RAPID-01": "rapid motion 1 mm deep through the stock (taken as uncut)",
        "RAPID-02": "rapid motion straight down, 1 mm into the stock",
    }
    for one in says:
        facts = [f.fact for f in found(one, f"$H / G0 X{x} Z-1", PLATE)]
        assert facts == ([says[one]] if one == code else [])


@pytest.mark.parametrize(
    ("plane", "start"), [(17, (1.0, 0.0, 0.0)), (18, (0.0, 0.0, 1.0)), (19, (0.0, 1.0, 0.0))]
)
def test_a_small_circle_is_held_to_its_radius_in_every_plane(
    plane: int, start: tuple[float, float, float]
) -> None:
    """v = sqrt(a r): 100 mm/s2 on 1 mm: 10 mm/s; ten turns from rest to rest, 0.1 s lost at the ends."""
    arc = arc_move(start, (0, 0, 0), 20 * math.pi) | {
        "feed": 6000,
        "plane": plane,
        "to": start,
        "from": start,
    }
    assert feed_model(table([arc]), machine(100)).time_quick_s[0] == pytest.approx(2 * math.pi + 0.1)


@pytest.mark.parametrize("rows", [[], [1], [0, 2], [1, 2], [2, 0]])
def test_motions_picked_out_are_those_asked_for(rows: list[int]) -> None:
    motions = table([{"kind": LINE, "to": (x, 0, 0)} for x in (10, 20, 30, 40)])
    picked = some(motions, np.array(rows, np.intp))
    assert picked.end_mm[:, 0].tolist() == [10.0 * (row + 1) for row in rows]


@pytest.mark.parametrize(
    ("z", "told"), [("0", None), ("-0.009", None), ("-0.012", "-0.01 mm"), ("-1", "-1 mm")]
)
def test_a_stop_counts_as_inside_the_stock_from_a_hundredth_on(z: str, told: str | None) -> None:
    facts = [f.fact for f in found("TOOL-03", f"$H / G1 Z1 F60 / G1 X40 / G1 Z{z} / M0 / G0 Z5 / M30", PLATE)]
    assert facts == ([] if told is None else [f"program stop at Z {told}, below the stock's top"])
