"""Other ways to make the same cut side by side: strategy, cutter, spindle speed, bed height."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

from millcalc.advise import tuning
from millcalc.advise.advice import advise
from millcalc.advise.entries import entry_for
from millcalc.advise.result import Advice
from millcalc.advise.solve import Point
from millcalc.errors import InputError
from millcalc.limits.build import default_stickout_mm
from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.limits.tuning import SHORTEST_REACH_MM, STICKOUT_CLEARANCE_MM
from millcalc.tables.models import Cutter
from millcalc.units_show import System, show_depth, show_length, show_speed

_SLOWER_FASTER = (0.8, 1.25)


@dataclass(frozen=True, slots=True)
class Alternative:
    """One way to make the cut.

    title: What it is.
    advice: Its settings and limits.
    passes: Passes to the depth asked for; 1 where none was given [-].
    pass_depth_mm: Depth of each pass when shared out evenly [mm].
    time_s_cm3: Time in the cut for a cubic centimetre [s].
    force_n: Peak force sideways, upper published coefficients [N].
    chance: Probability that every uncertain limit holds [-].
    needs: What it needs.
    best: Whether no other way is at once quicker, gentler and surer.
    """

    title: str
    advice: Advice
    passes: int
    pass_depth_mm: float
    time_s_cm3: float
    force_n: float
    chance: float
    needs: str
    best: bool = False


@dataclass(frozen=True, slots=True)
class BedRow:
    """Settings at one bed height.

    drop_mm: Drop [mm].
    raised_mm: How much higher the work lies than now [mm].
    tip_n_um: Stiffness at the tip, all springs in series [N/um].
    advice: Settings there.
    gain: Removal over the present one [-].
    """

    drop_mm: float
    raised_mm: float
    tip_n_um: float
    advice: Advice
    gain: float


def alternatives(
    tooling: Tooling,
    request: CutRequest,
    *,
    total_depth_mm: float | None = None,
    others: Sequence[Cutter] = (),
    units: System = "mm",
) -> tuple[tuple[Alternative, ...], tuple[str, ...]]:
    """Compute several ways to make a cut, quickest first.

    tooling: What cuts what now.
    request: What is asked now; whether it is proven and the length between corners are kept.
    total_depth_mm: Depth to get to in the end [mm].
    others: Other cutters that could be fitted.
    units: Units of the sentences.
    Returns: found: Only ways in which every limit holds. left_out: Ways with this cutter that do not hold,
      and which limit is in the way.
    Raises InputError: If the depth is impossible, or no way holds every limit.
    """
    if total_depth_mm is not None and not 0 < total_depth_mm < 500:
        raise InputError(f"{total_depth_mm:g} mm", "more than 0 and less than 500 mm", field="depth")
    free = CutRequest(proven=request.proven, segment_mm=request.segment_mm, finish=request.finish)
    left_out: list[str] = []
    found = _strategies(tooling, free, total_depth_mm, units, left_out=left_out)
    for cutter in others:
        if cutter.name == tooling.cutter.name or not _fits(tooling, cutter):
            continue
        other = tooling.with_changes(cutter=cutter, stickout_mm=default_stickout_mm(cutter))
        own = _strategies(other, free, total_depth_mm, units, only_main=True)
        if own:
            found.append(min(own, key=lambda one: one.time_s_cm3))
    if not found:
        raise InputError(
            "no way that holds every limit",
            "a stiffer machine, another cutter or a softer material",
            "see millcalc settings for the limit that is in the way",
        )
    marked = [replace(one, best=not any(_beats(other, one) for other in found)) for one in found]
    return tuple(sorted(marked, key=lambda one: one.time_s_cm3)), tuple(left_out)


def _fits(tooling: Tooling, cutter: Cutter) -> bool:
    changed = tooling.with_changes(cutter=cutter, stickout_mm=default_stickout_mm(cutter))
    return (
        cutter.kind in ("flat", "bull-nose")
        and cutter.shank_mm <= tooling.machine.spindle.largest_shank_mm + 0.01
        and cutter.max_rpm.value >= tooling.machine.spindle.min_rpm
        and changed.speed_band_m_min is not None
    )


def _beats(one: Alternative, other: Alternative) -> bool:
    """Whether one way is no worse in everything and better in something, beyond rounding."""
    no_worse = (
        one.time_s_cm3 <= other.time_s_cm3 * 1.001
        and one.force_n <= other.force_n * 1.001
        and one.chance >= other.chance - 0.001
    )
    better = (
        one.time_s_cm3 < other.time_s_cm3 * 0.98
        or one.force_n < other.force_n * 0.98
        or one.chance > other.chance + 0.01
    )
    return no_worse and better


def _strategies(
    tooling: Tooling,
    free: CutRequest,
    total_mm: float | None,
    units: System,
    only_main: bool = False,
    left_out: list[str] | None = None,
) -> list[Alternative]:
    """Ways with one cutter; those that hold no limit together are left out."""
    cutter = tooling.cutter
    deepest = min(cutter.flute_length_mm, tooling.stickout_mm - STICKOUT_CLEARANCE_MM)
    full = min(deepest, total_mm if total_mm is not None else 1.5 * cutter.diameter_mm)
    name = cutter.title
    trials: list[tuple[str, CutRequest, str]] = [
        (
            f"{name}: slot, depth by depth",
            replace(free, cut="slot"),
            "air or a brush in the slot: chips pack",
        ),
        (
            f"{name}: side cuts, {show_depth(full, units)} deep, narrow",
            replace(free, cut="side", axial_depth_mm=full),
            f"an open edge, or a start slot or bore to {show_depth(full, units)}",
        ),
        (f"{name}: side cuts, shallow and wider", replace(free, cut="side"), "an open edge, or a start bore"),
    ]
    found = []
    slot: Advice | None = None
    for title, asked, needs in trials:
        answer = advise(tooling, asked, units=units, buys=False)
        if not answer.fits:
            if left_out is not None:
                left_out.append(f"{title}: over {answer.limits[0].title}")
            continue
        if asked.cut == "slot":
            slot = answer
        elif asked.axial_depth_mm is not None and not only_main:
            found.append(_helix_first(tooling, answer, name, full, total_mm, units))
        found.append(_alternative(title, answer, total_mm, needs))
    if slot is not None and not only_main:
        found += _other_speeds(tooling, free, slot, name, total_mm, units)
    return found


def _helix_first(
    tooling: Tooling, side: Advice, name: str, full_mm: float, total_mm: float | None, units: System
) -> Alternative:
    """Down by a helix, then side cuts round it: for closed shapes."""
    settings = side.settings
    point = Point(
        settings.speed_rpm, settings.feed_per_tooth_mm, settings.axial_depth_mm, settings.radial_width_mm, 0.0
    )
    way = entry_for(tooling, point, None, units)
    around_mm = 3.1416 * (way.helix_bore_mm - tooling.cutter.diameter_mm)
    turns = full_mm / way.helix_pitch_mm
    seconds = 60.0 * turns * around_mm / way.helix_feed_mm_min
    made = _alternative(
        f"{name}: helix down, then side cuts {show_depth(full_mm, units)} deep",
        side,
        total_mm,
        f"room for a bore of {show_length(way.helix_bore_mm, units)}; {show_depth(way.helix_pitch_mm, units)} a "
        f"turn, {seconds:.0f} s for the helix",
    )
    bore_cm3 = 0.7854 * way.helix_bore_mm**2 * full_mm / 1000.0
    # a pocket of ten bores: the helix's own time shared out over it
    shared = (seconds + 9.0 * bore_cm3 * made.time_s_cm3) / (10.0 * bore_cm3)
    return replace(made, time_s_cm3=shared)


def _other_speeds(
    tooling: Tooling, free: CutRequest, slot: Advice, name: str, total_mm: float | None, units: System
) -> list[Alternative]:
    """The slot at the next slower and faster spindle speed."""
    now = slot.settings.speed_rpm
    if tooling.dial_rpm:
        slower = [rpm for rpm in tooling.dial_rpm if rpm < 0.98 * now][-1:]
        faster = [rpm for rpm in tooling.dial_rpm if rpm > 1.02 * now][:1]
        speeds = [*slower, *faster]
    else:
        speeds = [round(now * factor / 100) * 100.0 for factor in _SLOWER_FASTER]
    found = []
    for speed in speeds:
        if not tooling.lowest_rpm <= speed <= tooling.highest_rpm:
            continue
        answer = advise(tooling, replace(free, cut="slot", speed_rpm=speed), units=units, buys=False)
        if answer.fits:
            mark = answer.settings.dial_mark
            needs = f"dial at {mark}" if mark else "S word changed with the feed"
            found.append(_alternative(f"{name}: slot at {show_speed(speed)}", answer, total_mm, needs))
    return found


def _alternative(title: str, answer: Advice, total_mm: float | None, needs: str) -> Alternative:
    depth = answer.settings.axial_depth_mm
    passes = max(ceil(total_mm / depth - 1e-9), 1) if total_mm is not None else 1
    even = total_mm / passes if total_mm is not None else depth
    removal = answer.removal_cm3_min * even / depth
    force = next(item for item in answer.ranges if item.title == "peak force sideways")
    assert answer.chances is not None
    return Alternative(
        title, answer, passes, even, 60.0 / removal, force.high * even / depth, answer.chances.together, needs
    )


def bed_rows(
    tooling: Tooling, request: CutRequest, drops_mm: Sequence[float] | None = None, units: System = "mm"
) -> tuple[BedRow, ...]:
    """Settings over bed height: what a spacer under the work buys.

    tooling: What cuts what, at the present drop.
    request: The cut.
    drops_mm: Drops to compute; None takes steps from well above to somewhat below the present bed [mm].
    units: Units to round in.
    Returns: Smallest drop first.
    Raises InputError: If a drop is impossible.
    """
    now = tooling.drop_mm
    if drops_mm is None:
        steps = [now - raised for raised in (80, 60, 40, 30, 20, 10, 0, -10, -20)]
        drops_mm = [drop for drop in steps if drop >= tuning.SMALLEST_DROP_MM] or [now]
    wrong = [drop for drop in drops_mm if not SHORTEST_REACH_MM <= drop < 2000]
    if wrong:
        raise InputError(
            f"{wrong[0]:g} mm",
            f"drops of {SHORTEST_REACH_MM:g} mm or more and less than 2000 mm",
            field="drops",
        )
    here = advise(tooling, request, units=units, buys=False)
    rows = []
    for drop in sorted(set(drops_mm)):
        at = tooling.with_changes(drop_mm=drop)
        answer = here if drop == now else advise(at, request, units=units, buys=False)
        gain = answer.removal_cm3_min / here.removal_cm3_min if answer.fits else 0.0
        rows.append(BedRow(drop, now - drop, 1.0 / at.total_um_n, answer, gain))
    return tuple(rows)
