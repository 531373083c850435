"""Columns that the rules read, on a few motions each: heights, ways, levels of travel, tabs and depths, by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from millcalc.gcode.motions import LINE, RAPID
from millcalc.preflight.facts import Facts
from millcalc.preflight.tabs import find_tabs
from tests.helpers.tables import arc_move, table
from tests.preflight.test_cases import context


def facts_of(text: str) -> Facts:
    """Rapids and feeds from X0 Y0 Z5, one axis each: ``rX100 fZ-1``."""
    here, moves = [0.0, 0.0, 5.0], []
    for word in text.split():
        here["XYZ".index(word[1])] = float(word[2:])
        moves.append({"kind": RAPID if word[0] == "r" else LINE, "to": tuple(here)})
    return Facts(table(moves, (0.0, 0.0, 5.0)), None, None)


@pytest.mark.parametrize(
    ("moves", "travel", "work"),
    [
        # the highest level with a tenth of the sideways rapids: 9, 10 and 12 mm of a hundred
        ("rX100 rZ20 rX91", 5, 5), ("rX90 rZ20 rX80", 20, 20), ("rX100 rZ20 rX88", 20, 20),
        # no sideways rapids: the highest end of any; none at all: nothing
        ("rZ20", 20, 20), ("rX0.1 rZ20 rZ1", 20, 20), ("fX10 fZ3", None, None),
        # a tenth of the feed at or above it makes a level one of cutting
        ("rX100 fX91 fZ-1 fX0", 5, 0.001), ("rZ2 rX100 fX90 rZ-1 rX20 rZ5", 5, 2.001),
        ("rZ-1 rX100 fX50 rZ8", 8, 0.001), ("rZ-1 rX100 fX50", -1, -1), ("rZ2 rX100 fX80 rZ-1 fX0 rZ5", 5, -0.999),
        ("rZ2 rX100 fX92 fZ-1 fX0 rZ5", 2, 0.001),
        # levels closer than a micrometre are one
        ("rX100 rZ5.0004 rX0 fZ-1 fX50", 5, 0.001), ("rX6 rZ5.0004 rX0 rZ1 rX100", 5, 5),
        # the work ends at the highest sideways cut, or at zero where most cuts lie below it; plunges count alone
        ("rX100 fZ1 fX50", 5, 1.001), ("rX100 fZ4.9995 fX50 fZ4 fX0", 5, 4.001), ("rX100 fZ-1", 5, 0.001),
        ("rX100 fZ2", 5, 2.001), ("rX100 fZ3 fX101", 5, 3.001),
    ],
)  # fmt: skip
def test_where_a_program_travels_and_where_it_is_at_the_work(moves, travel, work) -> None:
    facts = facts_of(moves)
    assert facts.travel_level_mm == (travel if travel is None else pytest.approx(travel, abs=1e-9))
    assert facts.at_work_mm == (work if work is None else pytest.approx(work, abs=1e-9))


def test_the_way_of_a_helix_and_the_depth_of_upright_arcs() -> None:
    """One turn of radius 5 with 3 mm down; half turns of radius 5 in the plane of X and Z, below and above."""
    down = {"kind": LINE, "from": (0, 0, 0), "to": (10, 0, -1)}
    below = arc_move((-5, 0, 0), (0, 0, 0), -math.pi, plane=18)
    above = arc_move((-5, 0, 0), (0, 0, 0), math.pi, plane=18)
    facts = Facts(
        table([arc_move((5, 0, 0), (0, 0, 0), 2 * math.pi, rise=-3), down, below, above]), None, None
    )
    assert facts.plan_mm[0] == pytest.approx(10 * math.pi)
    assert sorted(facts.z_low[2:].round(9)) == [-5, 0]
    assert facts.z_low[:2].tolist() == [-3, -1]
    assert facts.drop_deg[1] == pytest.approx(math.degrees(math.atan(0.1)))


@pytest.mark.parametrize(
    ("rise", "kinds"),
    [(0, "sideways milling"), (-0.08, "sideways milling going_down"), (-0.1, "milling going_down"),
     (0.1, "milling"), (-9.9, "milling going_down"), (-10.1, "going_down")],
)  # fmt: skip
def test_slopes_over_ten_millimetres(rise: float, kinds: str) -> None:
    """Half a degree is 0.087 mm, 45 degrees 10 mm."""
    facts = Facts(table([{"to": (10, 0, rise)}]), None, None)
    names = ("sideways", "milling", "going_down", "straight_down")
    assert " ".join(name for name in names if getattr(facts, name)[0]) == kinds


@pytest.mark.parametrize(
    ("where", "inside"),
    [("X-1.4", True), ("X-1.6", False), ("Y-1.4", True), ("Y81.6", False), ("X101.4", True)],
)
def test_a_cutter_of_three_is_inside_up_to_half_its_width(where: str, inside: bool) -> None:
    facts = context({"p": f"$H / G0 {where} / G1 Z-1 F60"}).facts
    assert bool(facts.inside[-1]) is inside
    assert [bool(context({"p": f"$H / G1 Z{z} F60"}).facts.inside[-1]) for z in (-0.0005, -0.0015)] == [
        False,
        True,
    ]


def test_a_depth_is_counted_from_the_next_level_cut_before() -> None:
    cuts = "G1 Z-2 F60 / G1 X60 F300 / G1 Z-1 F60 / G1 X20 / G1 Z-2 / G1 X60 / G1 Z-2.0004 / G1 X20 / G1 X30 Z-2.5"
    depth = context({"p": f"$H / {cuts} / G1 X40"}).facts.depth_mm
    told = depth[np.isfinite(depth)]
    assert told == pytest.approx([2, 1, 1, 1, 0.5, 0.5])


def test_the_speed_of_a_dial_is_that_of_its_mark() -> None:
    job = {"machine": "belt-small-trim-router", "spindle": {"dial_mark": "3"}}
    facts = context({"with": job, "p": "$H / G1 Z-1 F60"}).facts
    assert facts.hand_rpm == 18000 and facts.rpm.tolist() == [18000] * facts.n


@pytest.mark.parametrize(
    ("tab", "length_mm"),
    [
        ("G1 Z-6.14 / G1 X40 / G1 Z-6.2", 10), ("G1 Z-6.16 / G1 X40 / G1 Z-6.2", None),
        ("G1 Z-0.03 / G1 X40 / G1 Z-6.2", 10), ("G1 Z-0.01 / G1 X40 / G1 Z-6.2", None),
        ("G1 Z-5 / G1 X40 / G1 Z-6.16", 10), ("G1 Z-5 / G1 X40 / G1 Z-6.14", None),
        ("G1 X34 Z-5 / G1 X40 / G1 X43 Z-6.2", 9.5), ("G1 Z-5 / G1 Z-6.2", None), ("G1 Z-5 / G1 X40", None),
        ("G1 Z-5 / G1 X40 / G0 Z-6.2", None), ("G1 Z-5 / G1 X35 / G1 X40 / G1 Z-6.2", 10),
    ],
)  # fmt: skip
def test_a_tab_is_a_lift_a_level_way_and_the_same_depth_again(tab: str, length_mm: float | None) -> None:
    """From X30 on in a plate of 6 mm, cut 0.2 mm through; a rise of 0.05 mm is none; slopes count half."""
    found = find_tabs(context({"p": f"$H / G1 Z-6.2 F60 / G1 X30 F300 / {tab}"}))
    assert [one.length_mm for one in found] == ([] if length_mm is None else [pytest.approx(length_mm)])
