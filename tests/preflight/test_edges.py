"""Verdicts just at an edge: what is said there, and by which rule."""

from __future__ import annotations

import math

import numpy as np
import pytest

from millcalc.gcode.motions import LINE
from millcalc.preflight import run_rules
from millcalc.preflight.feed_model import feed_model
from millcalc.preflight.geometry import some
from millcalc.preflight.rules.corners import _over_ramp
from millcalc.preflight.rules.increments import _pile_up
from millcalc.preflight.rules.stock import _slope_of_tab
from millcalc.preflight.tabs import find_tabs
from millcalc.preflight.wording import tool_name
from tests.helpers.tables import arc_move, table
from tests.preflight.test_cases import RULES, asked, context
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


@pytest.mark.parametrize(
    ("begin", "end", "y", "over"),
    [
        (60, 40, 60, True), (60, 40, 62, True), (60, 40, 58, True), (60, 40, 64, False), (60, 40, 56, False),
        (38, 20, 60, True), (36, 20, 60, False), (62, 80, 60, True), (64, 80, 60, False),
    ],
)  # fmt: skip
def test_a_ramp_is_passed_over_within_a_cutter_beside_it(begin: int, end: int, y: int, over: bool) -> None:
    """A ramp from X40 to X60 at Y60 and a cutter of 3 mm: its wedge lies under passes up to 3 mm beside."""
    ramp = "$H / G0 X40 Y60 / G1 Z0 F60 / G1 X60 Z-1"
    facts = (ctx := context({"with": {}, "p": f"{ramp} / G1 X{begin} Y{y} F300 / G1 X{end}"})).facts
    ramps = np.flatnonzero(facts.going_down & ~facts.straight_down)
    assert _over_ramp(ctx, facts.n - 1, ramps) is over


@pytest.mark.parametrize(
    ("x", "y", "near"),
    [
        (32, 30, True), (32, 31.4, True), (32, 31.6, False), (32, 28.6, True), (32, 28.4, False), (28.6, 30, True),
        (28.4, 30, False), (37, 30, True), (37, 32, False), (45.4, 30, True), (45.6, 30, False),
    ],
)  # fmt: skip
def test_a_tab_and_its_slopes_reach_half_a_cutter_to_every_side(x: float, y: float, near: bool) -> None:
    """A tab from X30 to X44 at Y30 and a cutter of 3 mm: a skin within 1.5 mm of that way was meant."""
    tab = "G1 X30 F300 / G1 X34 Z-4 / G1 X40 / G1 X44 Z-6.2 / G1 X60"
    ctx = context({"with": {}, "p": f"$H / G0 X20 Y30 / G1 Z-6.2 F60 / {tab} / G0 Z5 / M30"})
    assert _slope_of_tab(ctx, (x, y, -5.0)) is near


@pytest.mark.parametrize(("speed", "edge"), [("0.5", "0.0047"), ("1", "0.0094")])  # pi 3 mm n
def test_a_spindle_that_hardly_turns_is_told_its_speed(speed: str, edge: str) -> None:
    (one,) = found("SPIN-08", f"G21 G90 / M3 S{speed} / G0 Z5 / G0 X20 Y20 / G1 Z-1 F60 / G1 X40 F100", PLATE)
    said = f"T1: {edge} m/min at the edge, far below the band of 100 to 850 m/min for this material"
    assert one.fact == said
    assert one.action == "10600 rpm would be at the edge of the band; keep the chip by scaling F"


def test_a_drill_that_hardly_moves_rubs() -> None:
    drill = {"with": {"cutters": {"T1": {"cutter": "drill-3mm-hss", "stickout": "30 mm"}}}}
    (one,) = found("FEED-11", "G21 G90 / M3 S6500 / G0 Z5 / G0 X20 Y20 / G1 Z-3 F0.5 / G0 Z5 / M30", drill)
    assert one.fact == (
        "T1 drills at F 0.5 mm/min, under 0.0001 mm a turn; a drill of 3 mm rubs below 0.02 mm here"
    )


def test_tool_nought_has_a_name_and_an_unknown_one_none() -> None:
    assert (tool_name(0), tool_name(7), tool_name(-1)) == ("0", "7", "?")


@pytest.mark.parametrize(
    ("x", "told"), [(112, None), (113, "12 % of the length at depth lies beside the stock: 13 mm")]
)
def test_a_tenth_of_the_way_may_lie_beside_the_stock(x: int, told: str | None) -> None:
    facts = [f.fact for f in found("STOCK-01", f"$H / G1 Z-1 F60 / G1 X{x} F300 / G0 Z5 / M30", PLATE)]
    assert facts == ([] if told is None else [f"{told} past the right"])


@pytest.mark.parametrize(("level_mm", "length_mm"), [(30, 32.0), (36, 38.0), (45, None)])
def test_a_tab_is_at_most_forty_long(level_mm: int, length_mm: float | None) -> None:
    """Half of two slopes of 2 mm and the level way between them."""
    tab = f"G1 X20 F300 / G1 X22 Z-4 / G1 X{22 + level_mm} / G1 X{24 + level_mm} Z-6.2 / G1 X90"
    ctx = context({"with": {}, "p": f"$H / G0 X10 Y30 / G1 Z-6.2 F60 / {tab} / G0 Z5 / M30"})
    assert [tab.length_mm for tab in find_tabs(ctx)] == (
        [] if length_mm is None else [pytest.approx(length_mm)]
    )


def test_a_dial_cannot_follow_a_speed_below_one_either() -> None:
    dial = {"with": {"spindle": {"set_by": "dial"}}}
    (one,) = found("SPIN-06", "G21 G90 / M3 S0.5 / G0 Z5 / G1 X20 F60 / S12000 / G1 X30", dial)
    assert one.fact == "2 speeds (S0, S12000) with a spindle set by hand"


@pytest.mark.parametrize("side", ["F600 / G1 X50", "G1 X50 F600"])
def test_a_plunge_inherits_a_feed_wherever_its_word_stood(side: str) -> None:
    cuts = f"G1 Z-1 F60 / {side} / G0 Z5 / G0 X10 / G1 Z-1 / G1 X30 / G0 Z5 / M30"
    (one,) = found("PLUNGE-06", f"G21 G90 / M3 S18000 / G0 Z5 / G0 X20 Y20 / {cuts}", {})
    assert one.fact == "a straight plunge at the side cut's feed, F 600 mm/min"
    assert one.action == "write F 60 mm/min in this line, and F 600 mm/min again in the next side cut"


@pytest.mark.parametrize(("slow_mm", "share", "severity"), [(6, "under 1 %", "note"), (8, "1 %", "warning")])
def test_less_than_half_a_hundredth_of_thin_chips_is_a_note(slow_mm: int, share: str, severity: str) -> None:
    """6 mm of 1206 at a chip too thin are 0.498 %, 8 mm of 1208 are 0.66 %."""
    body = " / ".join(f"G1 X{20 if k % 2 else 80} Y{20 + k}" for k in range(20))
    slow = f"$H / G1 Z-0.5 F60 / G1 X20 F900 / {body} / G1 X{20 + slow_mm} F20 / G0 Z5 / M30"
    (one,) = found("FEED-04", slow, PLATE)
    assert f"the least that still cuts is 0.005 mm ({share} of the cutting length)" in one.fact
    assert one.severity.name.lower() == severity


@pytest.mark.parametrize(
    ("way", "words"),
    [
        ("G0 X20 Y20 Z5", "1 motion"),
        ("G0 X20 Y20 / G0 Z5", "2 motions"),
        ("G0 X20 / G0 Y20 / G0 Z5", "3 motions"),
    ],
)
def test_the_way_to_the_first_known_place_is_counted(way: str, words: str) -> None:
    program = f"G21 G90 / M3 S18000 / {way} / G0 X20 Y20 / G1 Z-1 F60 / G1 X50 / G0 Z5 / M30"
    case = {"with": {"position": None}, "p": program}
    (one,) = run_rules(context(case), rules=(RULES["SCREW-01"],)).not_checked
    assert one.what == f"the way to the first known place ({words})"
    assert one.because == "where the machine stands then is not in the program"


def test_without_a_machine_a_plunge_takes_its_share_of_the_band() -> None:
    """0.3 of 0.027 mm a tooth, one tooth, 18000 rev/min: 145.8 mm/min."""
    (one,) = found("PLUNGE-01", "$H / G1 Z-1 F2000 / G1 X50 / G0 Z5 / M30", {"with": {"machine": None}})
    assert one.fact == "T1 plunges at F 2000 mm/min; straight down 146 mm/min is the most here"
    assert one.action.startswith("F 145 mm/min, or go in on a ramp") and one.limit == pytest.approx(145.8)


def test_where_nothing_slower_is_known_a_plunge_takes_three_tenths_of_the_side_feed() -> None:
    cuts = "G1 Z-1 F600 / G1 X50 / G0 Z5 / G0 X10 / G1 Z-1 / G1 X30 / G0 Z5 / M30"
    (one,) = found("PLUNGE-06", f"G21 G90 / M3 S18000 / G0 Z5 / G0 X20 Y20 / {cuts}", {})
    assert one.action == "write F 180 mm/min in this line, and F 600 mm/min again in the next side cut"


def test_a_shank_that_touches_half_a_millimetre_of_wall_is_found() -> None:
    """A slot 12.4 mm deep in three passes of a 3 mm cutter with flutes of 12 mm: no pass is deep, the wall stands."""
    passes = " / ".join(f"G0 X20 / G0 Z0.5 / G1 Z-{deep} F60 / G1 X40 F300 / G0 Z5" for deep in (5, 10, 12.4))
    kept = {
        "stock": {"thickness": "15 mm"},
        "cutters": {"T1": {"cutter": "flat-3mm-1f", "stickout": "20 mm"}},
    }
    (said,), _ = asked("HOLDER-02", {"p": f"$H / {passes}", "sim": True, "with": kept})
    assert said["fact"] == "T1 goes 12.4 mm deep; its flutes are 12 mm long"
    assert said["action"] == "fit a cutter with flutes of 14 mm or more"


@pytest.mark.parametrize(("depth", "times", "word"), [(0.35, "1.35", "note"), (0.4, "1.53", "stop")])
def test_a_cutter_bent_half_again_beyond_what_it_bears_is_a_stop(depth, times, word) -> None:
    """A 1 mm cutter, 8 mm out; not simulated, so that a smaller excess is a note: the width is only assumed."""
    kept = {"cutters": {"T1": {"cutter": "flat-1mm-1f", "stickout": "8 mm"}}}
    (said,), _ = asked("FORCE-04", {"with": kept, "p": f"$H / G0 X-5 / G0 Z-{depth} / G1 X50 F600"})
    assert said["fact"].startswith(f"T1: the bending stress is {times} times what the cutter bears")
    assert said["at"][0] == word


@pytest.mark.parametrize(("seconds", "said"), [
    (89.4, "89 s"), (89.6, "1 min 30 s"), (5399, "89 min 59 s"), (5400, "1 h 30 min"), (7265, "2 h 01 min"),
])  # fmt: skip
def test_a_duration_as_people_say_it(seconds: float, said: str) -> None:
    assert context({"p": "$H"}).say.clock(seconds) == said


@pytest.mark.parametrize("places", [(5.0, 1.0, 5.0), (5.0, 1.0, 5.0, 5.0, 1.0)])
def test_heights_read_as_steps_rise_far_beyond_their_own_range(places) -> None:
    """Z 5, 1, 5 are heights 4 mm apart; as steps they end at 11 mm, more than one and a half times that."""
    moves = [{"to": (0.0, 0.0, z)} for z in places]
    assert _pile_up(table(moves), np.arange(len(moves)))


def test_steps_that_come_back_do_not_pile_up() -> None:
    """Z 1, -1, 1: as steps they stay within a millimetre."""
    moves = [{"to": (0.0, 0.0, z)} for z in (1.0, -1.0, 1.0)]
    assert not _pile_up(table(moves), np.arange(3))


@pytest.mark.parametrize(("highest", "rpm"), [(10_000.0, 10_000.0), (24_000.0, None)])
def test_a_fixed_spindle_turns_at_its_one_speed(highest: float, rpm: float | None) -> None:
    """From the machine's own speeds where they are one; unknown where they are a range."""
    ctx = context({"p": "$H / G1 Z-1 F60"})
    spindle = ctx.setup.machine.spindle
    spindle = spindle.model_copy(update={"speed_set_by": "fixed", "min_rpm": 10_000.0, "max_rpm": highest})
    assert context({"p": "$H / G1 Z-1 F60", "machine": {"spindle": spindle}}).facts.hand_rpm == rpm


def test_rapids_of_a_program_that_cuts_nothing_are_not_called_plunges() -> None:
    """Without a stock the depth at which a program cuts is the only surface known; this one shows none."""
    assert not found("RAPID-02", "G21 G90 / G0 Z5 / G0 X20 / G0 Z-1 / M30", None)
    assert found("RAPID-02", "G21 G90 / G0 Z5 / G0 X20 / G0 Z-1 / G1 X40 F300 / M30", None)


def test_the_lift_stands_before_the_first_of_the_rapids_in_a_row() -> None:
    """Two rapids in the material, the second deeper: up before line 8, down at feed after line 9."""
    program = "$H / G1 Z-2 F60 / G1 X30 / G0 Y30 / G0 X40 Z-3 / G1 X60 F300"
    (said,), _ = asked("RAPID-01", {"sim": True, "p": program})
    assert said["action"] == (
        "write G0 Z 5 mm before line 8; after line 9 write G1 Z -3 mm F 54 mm/min, and no Z word between them"
    )


@pytest.mark.parametrize(("z", "told"), [("3", True), ("4.98", True), ("4.995", False)])
def test_homing_by_way_of_the_travel_height_is_no_low_point(z: str, told: bool) -> None:
    """Without a stock the travel height counts, to a hundredth of a millimetre."""
    assert bool(found("RAPID-06", f"G21 G90 G0 Z5 / G0 X20 / G28 Z{z} / M30", None)) is told
