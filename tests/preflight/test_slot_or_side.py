"""From which width on a cut is judged as a slot: nine tenths of the cutter's diameter."""

from __future__ import annotations

import pytest

from millcalc.preflight.hold_loads import cut_forces
from millcalc.preflight.uses import cut_uses
from tests.preflight.test_cases import context


def second_pass(width_mm):
    """A slot 1.2 mm deep with a 3 mm cutter from the stock's edge, and a pass beside it."""
    first = "$H / G0 X-5 / G1 Z-1.2 F60 / G1 X50 F300 / G0 Z5"
    program = f"{first} / G0 X-5 Y{20 + width_mm:g} / G1 Z-1.2 F60 / G1 X45 F300"
    ((cut,), _) = cut_uses(context({"p": program, "sim": True}))
    return cut


@pytest.mark.parametrize(("width_mm", "room_mm"), [(2.0, 6.0), (2.6, 3.1), (2.8, 1.5), (3.0, 1.5)])
def test_chip_room_of_a_pass_beside_a_slot(width_mm, room_mm):
    """Half a diameter deep in a slot, two diameters beside one, and between them where a side cut is nearly a slot."""
    cut = second_pass(width_mm)
    assert cut.width_mm[-1] == pytest.approx(width_mm, abs=0.15)
    assert 1.2 / cut.uses["chip-room"][-1] == pytest.approx(room_mm, rel=0.1)


def test_force_of_a_pass_beside_a_slot():
    """A thin pass pushes and lifts less than the slot beside it; from nine tenths on it asks as much."""
    side, lift = cut_forces(second_pass(0.3))
    assert side == pytest.approx([43.7, 34.8], abs=0.3) and lift == pytest.approx([12.3, 8.2], abs=0.2)
    side, lift = cut_forces(second_pass(2.8))
    assert side[1] == side[0] and lift[1] == lift[0]


def test_a_ball_is_judged_by_the_mean_height_of_what_it_removes():
    """1 mm deep with a 4 mm ball: a circle's segment of 2.457 mm2 on a chord of 3.464 mm, 0.709 mm high on average."""
    ball = {"cutters": {"T1": {"cutter": "ball-4mm-2f", "stickout": "20 mm"}}}
    program = "$H / G0 X-5 / G1 Z-1 F60 / G1 X50 F300"
    ((cut,), _) = cut_uses(context({"p": program, "sim": True, "with": ball}))
    assert cut.depth_mm[-1] == pytest.approx(0.709, abs=0.03)
