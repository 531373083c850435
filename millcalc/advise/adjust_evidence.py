"""What the model says for or against a cause, at the settings in use."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from millcalc.advise.in_use import InUse
from millcalc.limits.depths import chatter
from millcalc.limits.draws import one
from millcalc.limits.plunge import plunge_feed_mm_min
from millcalc.limits.request import FULL_WIDTH
from millcalc.mechanics.engagement import corner_engagement_rad
from millcalc.mechanics.motion import reachable_feed_mm_min
from millcalc.units_show import System, show_chip, show_depth, show_feed, show_length


@dataclass(frozen=True, slots=True)
class Evidence:
    """How much the model speaks for a cause: 0 against, 0.5 nothing to say, 1 for it [-]; and why."""

    score: float
    text: str


def _rise(value: float, low: float, high: float) -> float:
    """0 at `low`, 1 at `high`, straight between, on a logarithmic scale [-]."""
    if value <= 0:
        return 0.0
    return float(np.clip(np.log(value / low) / np.log(high / low), 0.0, 1.0))


def evidence_for(used: InUse, name: str, units: System = "mm") -> Evidence:
    """Judge a cause by the numbers of the settings in use.

    used: Settings in use.
    name: Which evidence.
    units: Units of the sentence.
    Returns: Score and one sentence.
    Raises KeyError: If there is no such evidence.
    """
    return _EVIDENCE[name](used, units)


def _none(_used: InUse, _units: System) -> Evidence:
    return Evidence(0.5, "the model has no number for this: look at the machine")


def _rubbing(used: InUse, units: System) -> Evidence:
    chip, floor = one(used.state.max_chip_mm), used.tooling.smallest_chip_mm
    low = used.tooling.chip_band_mm(used.cut)[0]
    if chip < floor:
        text = "too thin to cut"
    elif chip < low:
        text = "below the band"
    else:
        text = "enough to cut"
    shown, least, start = (show_chip(v, units) for v in (chip, floor, low))
    return Evidence(
        1.0 - _rise(chip, floor, 1.5 * max(low, 1.2 * floor)),
        f"the thickest chip is {shown}: {text} (rubs below {least}, band from {start})",
    )


def _chatter(used: InUse, units: System) -> Evidence:
    use = one(chatter(used.state).share)
    limit = used.depth_mm / use
    ratio = used.tooling.stickout_mm / used.tooling.cutter.diameter_mm
    return Evidence(
        _rise(use, 0.4, 1.5),
        f"depth {show_depth(used.depth_mm, units)} against {show_depth(limit, units)}, below which spindle and "
        f"collet are quiet at any speed; stickout {ratio:.1f} diameters",
    )


def _deflection(used: InUse, units: System) -> Evidence:
    bend, allowed = one(used.state.deflection_mm(1)), used.state.deflection_allowed_mm
    return Evidence(
        _rise(bend / allowed, 0.3, 1.5),
        f"the tip gives by about {show_length(bend, units)}, {show_length(allowed, units)} is allowed",
    )


def _deflection_cutter(used: InUse, units: System) -> Evidence:
    tooling = used.tooling
    share = (tooling.cutter_um_n + tooling.spindle_um_n) / tooling.total_um_n
    whole = _deflection(used, units)
    return Evidence(
        min(1.0, whole.score * (0.5 + share)),
        f"{whole.text}; {100 * share:.0f} % of the give is cutter and spindle",
    )


def _use_of(key: str, words: str) -> Callable[[InUse, System], Evidence]:
    def judge(used: InUse, _units: System) -> Evidence:
        use = used.use(key)
        return Evidence(_rise(use, 0.25, 1.2), f"{100 * use:.0f} % of {words} is used")

    return judge


def _power(used: InUse, _units: System) -> Evidence:
    use = max(used.use("spindle-power"), used.use("spindle-torque"))
    return Evidence(
        _rise(use, 0.25, 1.1), f"the cut takes up to {100 * use:.0f} % of what the spindle gives there"
    )


def _axial(used: InUse, _units: System) -> Evidence:
    force = one(used.state.loads(2).axial_n)
    up = used.tooling.cutter.spiral in ("up", "compression") and used.tooling.cutter.helix_deg > 0
    score = _rise(force, 5.0, 40.0) * (1.0 if up else 0.3)
    return Evidence(
        score,
        f"up to {force:.0f} N along the spindle"
        + (": the spiral lifts the plate and pulls the cutter down" if up else "; this spiral does not lift"),
    )


def _thrust_z(used: InUse, _units: System) -> Evidence:
    force, push = one(used.state.loads(2).axial_n), used.tooling.machine.thrust_n.z
    return Evidence(_rise(force / push, 0.1, 0.6), f"{force:.0f} N of {push:.0f} N at which Z stalls")


def _plunge(used: InUse, units: System) -> Evidence:
    tooling = used.tooling
    if not tooling.cutter.centre_cutting:
        return Evidence(1.0, "the end of this cutter does not cut to its centre: it must never plunge")
    top = plunge_feed_mm_min(tooling, used.speed_rpm, proven=used.proven)
    if used.plunge_feed_mm_min is None:
        return Evidence(0.5, f"the plunge feed is not given; at most {show_feed(top, units)} is right")
    return Evidence(
        _rise(used.plunge_feed_mm_min / top, 0.5, 1.5),
        f"plunges at {show_feed(used.plunge_feed_mm_min, units)}, at most {show_feed(top, units)} is right",
    )


def reached_feed_mm_min(used: InUse, segment_mm: float = 1.0) -> float:
    """Feed that is reached in a small curve or between close corners.

    used: Settings in use.
    segment_mm: Length between corners [mm].
    Returns: Feed [mm/min].
    """
    axes = used.tooling.machine.acceleration_mm_s2
    return min(float(reachable_feed_mm_min(segment_mm, min(axes.x, axes.y))), used.feed_mm_min)


def _acceleration(used: InUse, units: System) -> Evidence:
    reached = reached_feed_mm_min(used)
    return Evidence(
        _rise(used.feed_mm_min / reached, 1.0, 1.8) if reached < used.feed_mm_min else 0.15,
        f"within {show_length(1.0, units)} the machine reaches {show_feed(reached, units)} of "
        f"{show_feed(used.feed_mm_min, units)}",
    )


def corner_factor(used: InUse) -> float:
    """Feed in a square inside corner that keeps the chip of the straight, as a share of the feed.

    used: Settings in use.
    Returns: Share, at most 1 [-].

    Note: Mean chip ~ (1 - cos(engagement)) / engagement; volume goes with 1 - cos(engagement).
    """
    width, diameter = used.width_mm, used.tooling.cutter.diameter_mm
    if used.cut in FULL_WIDTH or width >= diameter:
        return 1.0
    straight = one(used.state.engagement_rad)
    corner = min(float(corner_engagement_rad(width, diameter)), float(np.pi))
    return float((1.0 - np.cos(straight)) / (1.0 - np.cos(corner)))


def _corner(used: InUse, _units: System) -> Evidence:
    factor = corner_factor(used)
    if factor >= 1.0:
        return Evidence(0.4, "a slot is cut at full width everywhere: a corner adds little")
    return Evidence(
        _rise(1.0 / factor, 1.2, 4.0), f"in a square inside corner the load rises {1 / factor:.1f} times"
    )


def _heat(used: InUse, _units: System) -> Evidence:
    speed, chip = used.use("cutting-speed"), _rubbing(used, "mm").score
    flutes = used.tooling.cutter.flutes
    score = min(1.0, 0.5 * _rise(speed, 0.3, 1.0) + 0.5 * chip + 0.1 * (flutes - 1))
    return Evidence(
        score,
        f"{100 * speed:.0f} % of the highest cutting speed with {flutes} flute{'s' if flutes > 1 else ''}; "
        + _rubbing(used, "mm").text,
    )


def _soft(used: InUse, _units: System) -> Evidence:
    material = used.tooling.material
    soft = (
        material.name in ("al-1050", "al-5754", "al-5083", "al-unknown", "copper") or not material.grade_known
    )
    return Evidence(
        0.85 if soft else 0.3, f"{material.title} is {'a soft or unknown' if soft else 'no soft'} alloy"
    )


def _flutes(used: InUse, _units: System) -> Evidence:
    flutes, most = used.tooling.cutter.flutes, used.tooling.material.max_flutes_slot
    return Evidence(
        _rise(flutes / most, 0.5, 1.34), f"{flutes} flutes, at most {most} clear their chips in this material"
    )


def _runout(used: InUse, units: System) -> Evidence:
    flutes, runout = used.tooling.cutter.flutes, used.tooling.runout_mm
    if flutes == 1:
        return Evidence(
            0.35, f"run-out {show_length(runout, units)}; with one flute it widens slots, no more"
        )
    ratio = runout / used.feed_per_tooth_mm
    return Evidence(_rise(ratio, 0.1, 1.0), f"run-out is {100 * ratio:.0f} % of the chip load")


def _backlash(used: InUse, units: System) -> Evidence:
    play = used.tooling.machine.backlash_mm
    measured = "backlash_mm" in used.tooling.machine.measured
    return Evidence(
        _rise(max(play, 1e-3), 0.02, 0.15),
        f"play {show_length(play, units)} ({'measured' if measured else 'typical, not measured'})",
    )


def _wear(_used: InUse, _units: System) -> Evidence:
    return Evidence(0.5, "how sharp the edge is no number says: look with a loupe; millcalc log wear")


def _up_cut(used: InUse, _units: System) -> Evidence:
    spiral = used.tooling.cutter.spiral
    return Evidence(0.9 if spiral == "up" else 0.1, f"the cutter has a {spiral} spiral")


_EVIDENCE: dict[str, Callable[[InUse, System], Evidence]] = {
    "none": _none,
    "rubbing": _rubbing,
    "chip-low": _rubbing,
    "chatter": _chatter,
    "deflection": _deflection,
    "deflection-cutter": _deflection_cutter,
    "power": _power,
    "thrust": _use_of("axis-thrust", "half the push at which an axis stalls"),
    "thrust-z": _thrust_z,
    "axial": _axial,
    "strength": _use_of("cutter-strength", "what the cutter bears in bending"),
    "chip-room": _use_of("chip-room", "the depth chips get out of"),
    "plunge": _plunge,
    "acceleration": _acceleration,
    "corner": _corner,
    "heat": _heat,
    "soft": _soft,
    "flutes": _flutes,
    "runout": _runout,
    "backlash": _backlash,
    "wear": _wear,
    "up-cut": _up_cut,
}
