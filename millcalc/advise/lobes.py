"""Depth that is safe from chatter over spindle speed: pockets of a tapped cutter, and the frame as a margin.

At router speeds the teeth pass far above the frame's modes, so the pockets come from cutter and spindle. The
frame is shown as a relative margin, not as a depth: its static stiffness and an assumed damping promise nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.advise import tuning
from millcalc.limits.build import make_tooling
from millcalc.limits.request import FULL_WIDTH, CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.limits.tuning import CUTTER_MODE_HZ, DEFAULT_DAMPING, DIAL_SPEED_SD, PROGRAM_SPEED_SD
from millcalc.mechanics.engagement import engagement_angle_rad
from millcalc.mechanics.kinematics import spindle_speed_rpm
from millcalc.mechanics.stability import (
    ChatterCut,
    VibrationMode,
    conservative_limit_mm,
    limit_at_speed_mm,
    lobes,
)
from millcalc.tables.models import Cutter, Machine, Material, Mode

Array = NDArray[np.float64]
_POINTS = 361


@dataclass(frozen=True, slots=True)
class Pocket:
    """A range of speeds where a deeper cut stays quiet.

    low_rpm, high_rpm: Ends of the range [rev/min].
    best_rpm: Speed inside it that is best with its own error allowed for [rev/min].
    depth_mm: Depth that is safe there, with speed and frequency off by their errors [mm].
    gain: That depth over the one safe at any speed [-].
    """

    low_rpm: float
    high_rpm: float
    best_rpm: float
    depth_mm: float
    gain: float


@dataclass(frozen=True, slots=True)
class FrameMargin:
    """How far the frame's mode stays out of it.

    frequency_hz: Lowest lateral mode of the frame [Hz].
    measured: Whether it was tapped.
    passes: Tooth-passing frequency over it at the speed looked at [-].
    times: Limit depth by this mode over the depth of cut: a relative figure [-].
    words: ``wide``, ``fair`` or ``narrow`` margin.
    """

    frequency_hz: float
    measured: bool
    passes: float
    times: float
    words: str


@dataclass(frozen=True)
class Stability:
    """The chatter limit of a cut over spindle speed.

    tooling, request: What was asked.
    mode: Mode of cutter and spindle; its frequency counts only when tapped.
    tapped: Whether frequency and damping were measured with this cutter at this stickout.
    why_not: Why no pockets can be given; empty when they can.
    speed_rpm, depth_mm: Limit depth over speed; empty without a tapped mode [rev/min], [mm].
    sure_mm: The same with speed and frequency off by their errors: the lowest nearby [mm].
    bound_mm: Depth that is safe at any speed [mm].
    pockets: Worth using on this spindle within the cutting-speed band, deepest first.
    at_rpm: Speed the frame's margin is given at [rev/min].
    at_depth_mm: Depth of cut it is given for [mm].
    frame: The frame's margin.
    """

    tooling: Tooling
    request: CutRequest
    mode: VibrationMode
    tapped: bool
    why_not: str
    speed_rpm: Array
    depth_mm: Array
    sure_mm: Array
    bound_mm: float
    pockets: tuple[Pocket, ...]
    at_rpm: float
    at_depth_mm: float
    frame: FrameMargin


def mode_name(axis: str, cutter: Cutter | None, stickout_mm: float | None) -> str:
    """Name of a mode in a machine file; cutter and stickout are part of it, since the mode belongs to them.

    axis: ``x``, ``y`` or ``z``.
    cutter: The tapped cutter; None for the frame.
    stickout_mm: Its stickout [mm].
    Returns: ``cutter flat-6mm-1f 22`` or ``frame X``.
    """
    if cutter is None or stickout_mm is None:
        return f"frame {axis.upper()}"
    return f"cutter {cutter.name} {stickout_mm:g}"


def mode_stiffness_n_um(
    machine: Machine, axis: str, cutter: Cutter | None, stickout_mm: float | None
) -> float:
    """Static stiffness that stands for the stiffness of a tapped mode.

    machine: The machine.
    axis: ``x``, ``y`` or ``z``.
    cutter: The tapped cutter; None for the frame.
    stickout_mm: Its stickout [mm].
    Returns: Of cutter, collet and spindle in series, or of the frame [N/um].
    Raises InputError: If the stickout is impossible.

    Note: One mode taken to carry all of the give; other modes carry a part of it, so its own stiffness is
      higher, and the limit found is on the low, careful side.
    """
    if cutter is None or stickout_mm is None:
        return float(getattr(machine.stiffness_n_um, axis))
    built = make_tooling(machine, _any_material(), cutter, stickout_mm=stickout_mm)
    return 1.0 / (built.cutter_um_n + built.spindle_um_n)


def _any_material() -> Material:
    from millcalc.tables import load_material

    return load_material("plywood-birch")


def tapped_mode(tooling: Tooling) -> Mode | None:
    """The softest mode tapped with this cutter at this stickout.

    tooling: What cuts what.
    Returns: None when it was not tapped so.
    """
    own = []
    for mode in tooling.cutter_modes:
        parts = mode.name.split()
        if len(parts) == 3 and parts[1] == tooling.cutter.name:
            try:
                near = abs(float(parts[2]) - tooling.stickout_mm) <= tuning.POCKET_STICKOUT_MM
            except ValueError:
                near = False
            if near:
                own.append(mode)
    return min(own, key=lambda mode: mode.stiffness_n_um * mode.damping_ratio, default=None)


def stability(
    tooling: Tooling,
    request: CutRequest,
    *,
    depth_mm: float,
    speed_rpm: float,
    mode: VibrationMode | None = None,
) -> Stability:
    """Chatter limit over speed for a cut, with the pockets worth using.

    tooling: What cuts what.
    request: Kind and width of cut.
    depth_mm: Depth of cut the frame's margin is given for [mm].
    speed_rpm: Speed it is given at [rev/min].
    mode: Mode to use instead of the tapped one of the machine file.
    Returns: Limit, pockets and the frame's margin.

    Source: Y. Altintas, E. Budak, CIRP Annals 44/1 (1995) 357 (from memory); see
      millcalc/mechanics/lobes.py.
    """
    edge = tooling.edge_sets[1]
    diameter = tooling.cutter.diameter_mm
    width = diameter if request.cut in FULL_WIDTH else (request.radial_width_mm or 0.15 * diameter)
    engaged = float(engagement_angle_rad(width, diameter))
    used, why_not = (mode, "") if mode is not None else _mode_of(tooling)

    def cut(modes: tuple[VibrationMode, ...]) -> ChatterCut:
        return ChatterCut(
            edge.ktc_n_mm2,
            edge.krc_n_mm2 / edge.ktc_n_mm2,
            tooling.cutter.flutes,
            np.pi - engaged,
            np.pi,
            modes,
            modes,
        )

    bound = conservative_limit_mm(cut((used,)))
    speeds = depths = sure = np.zeros(0)
    pockets: tuple[Pocket, ...] = ()
    if not why_not:
        top = max(tooling.highest_rpm, tooling.lowest_rpm * 1.01)
        speeds, depths = lobes(cut((used,)), tooling.lowest_rpm, top, _POINTS)
        sure = np.minimum(_sure(tooling, cut((used,)), speeds), depths)
        pockets = _pockets(tooling, speeds, sure, bound)
    return Stability(
        tooling,
        request,
        used,
        not why_not,
        why_not,
        speeds,
        depths,
        sure,
        bound,
        pockets,
        speed_rpm,
        depth_mm,
        _frame(tooling, cut, depth_mm, speed_rpm),
    )


def _mode_of(tooling: Tooling) -> tuple[VibrationMode, str]:
    """The tapped mode of the machine file; else a typical one, and why it tells nothing of the pockets."""
    known = tapped_mode(tooling)
    if known is not None:
        return VibrationMode(known.frequency_hz, known.damping_ratio, known.stiffness_n_um), ""
    damping = min((m.damping_ratio for m in tooling.cutter_modes), default=DEFAULT_DAMPING)
    stiff = 1.0 / (tooling.cutter_um_n + tooling.spindle_um_n)
    return VibrationMode(CUTTER_MODE_HZ, damping, stiff), (
        "this cutter was not tapped at this stickout, so where the pockets lie is not "
        "known: millcalc measure frequency --how"
    )


def _sure(tooling: Tooling, cut: ChatterCut, speeds: Array) -> Array:
    """Lowest limit within the errors of speed and frequency, for each speed."""
    error = float(
        np.hypot(
            tuning.POCKET_FREQUENCY_ERROR,
            DIAL_SPEED_SD if tooling.uses_dial else PROGRAM_SPEED_SD,
        )
    )
    wide = np.linspace(speeds[0] * (1 - error), speeds[-1] * (1 + error), 2 * _POINTS)
    limit = np.asarray(limit_at_speed_mm(cut, wide))
    return np.array(
        [float(limit[(wide >= n * (1 - error)) & (wide <= n * (1 + error))].min()) for n in speeds]
    )


def _pockets(tooling: Tooling, speeds: Array, sure: Array, bound: float) -> tuple[Pocket, ...]:
    """Runs of speeds that allow clearly more depth, inside the cutting-speed band."""
    band = tooling.speed_band_m_min
    assert band is not None
    low = float(spindle_speed_rpm(band.low, tooling.cutter.diameter_mm))
    high = float(spindle_speed_rpm(band.high, tooling.cutter.diameter_mm))
    usable = (speeds <= high) & ((speeds >= low) | (speeds >= 0.98 * speeds[-1]))
    good = usable & (sure >= tuning.POCKET_GAIN * bound)
    found = []
    edges = np.flatnonzero(np.diff(np.concatenate([[False], good, [False]]).astype(int)))
    for begin, end in edges.reshape(-1, 2):
        inside = slice(int(begin), int(end))
        best = int(begin) + int(np.argmax(sure[inside]))
        depth = float(sure[best])
        found.append(
            Pocket(float(speeds[begin]), float(speeds[end - 1]), float(speeds[best]), depth, depth / bound)
        )
    return tuple(sorted(found, key=lambda pocket: -pocket.depth_mm))


def _frame(tooling: Tooling, cut, depth_mm: float, speed_rpm: float) -> FrameMargin:  # type: ignore[no-untyped-def]
    """The frame's lowest mode as a relative margin at one speed."""
    lateral = [m for m in tooling.machine.modes if m.axis in ("x", "y") and m not in tooling.cutter_modes]
    lowest = min(lateral, key=lambda m: m.frequency_hz, default=None)
    damping = lowest.damping_ratio if lowest is not None else DEFAULT_DAMPING
    frequency = tooling.frame_mode_hz
    frame = VibrationMode(frequency, damping, 1.0 / tooling.frame_um_n)
    limit = float(limit_at_speed_mm(cut((frame,)), speed_rpm))
    times = limit / depth_mm
    words = (
        "wide"
        if times >= tuning.FRAME_MARGIN_WIDE
        else "fair"
        if times >= tuning.FRAME_MARGIN_FAIR
        else "narrow"
    )
    passes = speed_rpm * tooling.cutter.flutes / 60.0 / frequency
    return FrameMargin(
        frequency, lowest is not None and lowest.confidence == "measured", passes, times, words
    )
