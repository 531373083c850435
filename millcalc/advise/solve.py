"""The search: the settings that remove most material while every limit holds."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from millcalc.advise import tuning
from millcalc.advise.grid import depths_to_try_mm, feeds_to_try_mm, speeds_to_try_rpm, widths_to_try_mm
from millcalc.advise.result import LimitShare
from millcalc.limits.request import FULL_WIDTH, CutRequest
from millcalc.limits.state import State
from millcalc.limits.table import keys_holding, limits_of, worst_use
from millcalc.limits.tooling import ROUNDED_ENDS, Tooling
from millcalc.mechanics.kinematics import feed_mm_min, feed_per_tooth_mm, removal_rate_mm3_min
from millcalc.units_show import System, depth_to_set_mm, feed_to_set_mm_min

_HOLDS = 1.0 + 1e-9
_DEPTH_STEPS = 48
_FAST_COSTS = 0.02  # of the removal, between the fastest speed and standing still [-]
_STEPS_BACK, _STEP_BACK = 6, 0.99  # tries to give depth back after rounding, and how far each goes [-]
_DEEPENED = 10  # best settings of the grid that are deepened before they are compared [-]


@dataclass(frozen=True, slots=True)
class Point:
    """One setting: speed [rev/min], feed per tooth [mm], depth [mm], width [mm], and the worst use [-]."""

    speed_rpm: float
    feed_per_tooth_mm: float
    depth_mm: float
    width_mm: float
    use: float

    def removal(self, tooling: Tooling) -> float:
        """Removal rate [mm3/min]."""
        feed = float(feed_mm_min(self.feed_per_tooth_mm, tooling.cutter.flutes, self.speed_rpm))
        return tooling.section_mm2(self.depth_mm, self.width_mm) * feed

    def state(self, tooling: Tooling, request: CutRequest) -> State:
        """The point as a State.

        tooling: What cuts what.
        request: What is asked.
        Returns: Scalars in arrays of one.
        """
        return State(
            tooling,
            request,
            np.array([self.speed_rpm]),
            np.array([self.feed_per_tooth_mm]),
            np.array([self.depth_mm]),
            np.array([self.width_mm]),
        )


def dial_mark(tooling: Tooling, speed_rpm: float) -> str | None:
    """The dial mark nearest to a speed.

    tooling: Machine with its dial.
    speed_rpm: Spindle speed [rev/min].
    Returns: The mark as printed on the dial, a value between two marks where the speed lies between them;
      None for a spindle set by the program.
    """
    dial = sorted(tooling.machine.spindle.dial, key=lambda m: m.rpm)
    if not tooling.uses_dial or not dial:
        return None
    nearest = min(dial, key=lambda m: abs(m.rpm - speed_rpm))
    if abs(nearest.rpm - speed_rpm) <= 0.02 * speed_rpm:
        return nearest.mark
    try:
        marks = [float(m.mark) for m in dial]
    except ValueError:
        return nearest.mark
    return f"{float(np.interp(speed_rpm, [m.rpm for m in dial], marks)):.1f}"


def find(tooling: Tooling, request: CutRequest, units: System = "mm") -> tuple[Point, bool]:
    """The best setting and whether every limit holds there.

    tooling: What cuts what.
    request: What is asked; given numbers stay as they are.
    units: ``mm`` or ``in``: in which units depth and feed are rounded.
    Returns: The setting, rounded as a person sets it, and whether all limits hold.

    Note: A grid over width, chip, speed and depth, then a finer one over the depth; rounding is downwards.
      Where no setting holds, the one with the smallest overrun is given.
    """
    speeds = speeds_to_try_rpm(tooling, request)
    widths = widths_to_try_mm(tooling, request)
    depths = depths_to_try_mm(tooling, request)
    ae, n, ap = widths[:, None, None, None], speeds[None, None, :, None], depths[None, None, None, :]
    fz = feeds_to_try_mm(tooling, request, ae, n)
    state = State(tooling, request, n, fz, ap, ae)
    use = worst_use(state)
    fz_full, n_full, ap_full, ae_full = (np.broadcast_to(a, use.shape) for a in (fz, n, ap, ae))
    feed = feed_mm_min(fz_full, tooling.cutter.flutes, n_full)
    score = removal_rate_mm3_min(ap_full, ae_full, feed) * _liking(state, speeds.max())
    holds = use <= _HOLDS
    nearest, keys = holds, None
    if not holds.any():
        # what was given overruns something whatever the rest is: keep the depth within its own limits all the same
        depth_use = np.broadcast_to(worst_use(state, keys_holding("depth")), use.shape)
        within = depth_use <= _HOLDS
        ranked = np.where(within if within.any() else depth_use <= 1.02 * depth_use.min(), use, np.inf)
        nearest = ranked <= 1.02 * ranked.min()
        keys = keys_holding("depth") if within.any() else None
    deepens = request.axial_depth_mm is None and bool(holds.any() or keys)
    best = np.where(nearest, score, -1.0)
    columns = best.max(axis=-1)  # the deepest that holds of every width, chip and speed
    points, tops_mm = [], []
    for place in np.argsort(columns, axis=None)[::-1][: _DEEPENED if deepens else 1]:
        where = np.unravel_index(place, columns.shape)
        if columns[where] < 0:
            break
        full = (*where, int(np.argmax(best[where])))
        points.append(Point(*(float(a[full]) for a in (n_full, fz_full, ap_full, ae_full, use))))
        tops_mm.append(float(depths[min(full[-1] + 1, len(depths) - 1)]))
    if deepens:
        points = _deepened(tooling, request, points, tops_mm, keys, speeds.max())
    chosen = max(points, key=lambda p: _worth(tooling, request, p, speeds.max())) if points[1:] else points[0]
    point = _rounded(tooling, request, chosen, units)
    return point, point.use <= _HOLDS


def _liking(state: State, fastest_rpm: float) -> NDArray[np.float64]:
    """Factor on the removal of settings that remove about the same: a thicker chip is quieter and cooler [-].

    A chip within its band goes before a thinner one, and a slower spindle before a faster one by a hair.
    """
    low = np.asarray(state.chip_band_mm[0], float)
    thin = 1.0 - np.clip(np.asarray(state.max_chip_mm, float) / low, 0.0, 1.0)
    slower = 1.0 - _FAST_COSTS * np.asarray(state.speed_rpm, float) / fastest_rpm
    return np.asarray((1.0 - tuning.THIN_CHIP_COSTS * thin) * slower)


def _worth(tooling: Tooling, request: CutRequest, point: Point, fastest_rpm: float) -> float:
    """What a point removes, by how it is liked [mm3/min]."""
    return point.removal(tooling) * float(_liking(point.state(tooling, request), fastest_rpm).item())


def _contenders(
    tooling: Tooling,
    request: CutRequest,
    points: list[Point],
    spans: list[tuple[float, float]],
    fastest_rpm: float,
) -> set[int]:
    """Places of the points that may still come out best: worth as much at their deepest as another at its least.

    Under a rounded or pointed end a deeper cut may be worth less: there all stay.
    """
    if tooling.cutter.kind in ROUNDED_ENDS:
        return set(range(len(points)))
    speed, fz, width = _columns(points)
    depths = np.array(spans)
    feed = feed_mm_min(fz, tooling.cutter.flutes, speed)
    liking = _liking(State(tooling, request, speed, fz, depths, width), fastest_rpm)
    worth = removal_rate_mm3_min(depths, width, feed) * liking
    return set(np.flatnonzero(worth[:, 1] * _HOLDS >= worth[:, 0].max()).tolist())


def _columns(points: list[Point]) -> tuple[NDArray[np.float64], ...]:
    """Speeds, feeds per tooth and widths of points, a row each."""
    names = ("speed_rpm", "feed_per_tooth_mm", "width_mm")
    return tuple(np.array([[getattr(point, name)] for point in points]) for name in names)


def _deepened(
    tooling: Tooling,
    request: CutRequest,
    points: list[Point],
    tops_mm: list[float],
    keys: tuple[str, ...] | None,
    fastest_rpm: float,
) -> list[Point]:
    """Raise each depth until a limit is reached: two rounds of a fine grid, the second within a step of the first.

    All points are judged at once: a row of depths each. What cannot come out best any more is left out.
    """
    spans = [(point.depth_mm, top_mm) for point, top_mm in zip(points, tops_mm, strict=True)]
    open_ = list(range(len(points)))
    for _ in range(2):
        left = _contenders(tooling, request, points, spans, fastest_rpm)
        open_ = [i for i in open_ if i in left]
        if not open_:
            break
        depths = np.stack([np.linspace(*spans[i], _DEPTH_STEPS) for i in open_])
        speed, fz, width = _columns([points[i] for i in open_])
        over = worst_use(State(tooling, request, speed, fz, depths, width), keys) > _HOLDS
        for i, steps, beyond in zip(open_, depths, over, strict=True):
            first = max(int(np.argmax(beyond)), 1)
            whole = not beyond.any()
            spans[i] = (spans[i][1],) * 2 if whole else (float(steps[first - 1]), float(steps[first]))
        open_ = [i for i, beyond in zip(open_, over, strict=True) if beyond.any()]
    left = _contenders(tooling, request, points, spans, fastest_rpm)
    return [replace(points[i], depth_mm=spans[i][0]) for i in sorted(left)]


def _rounded(tooling: Tooling, request: CutRequest, point: Point, units: System) -> Point:
    """Round depth, width and feed downwards, as a person sets them; given numbers stay."""
    flutes = tooling.cutter.flutes
    depth, width, fz = point.depth_mm, point.width_mm, point.feed_per_tooth_mm
    if request.axial_depth_mm is None:
        depth = depth_to_set_mm(depth, units) or depth
    if request.radial_width_mm is None and request.cut not in FULL_WIDTH:
        width = depth_to_set_mm(width, units) or width
    if request.feed_mm_min is None:
        feed = float(feed_mm_min(fz, flutes, point.speed_rpm))
        set_point = Point(point.speed_rpm, fz, depth, width, 0.0)
        least, floor = (_floor_mm_min(tooling, request, p) for p in (point, set_point))
        if feed >= least * (1 - 1e-9):  # a width rounded down thins the chip: no rubbing for a step of a rule
            feed = max(feed, floor)
        set_feed = feed_no_slower_mm_min(feed, floor, units)
        fz = float(feed_per_tooth_mm(set_feed, flutes, point.speed_rpm))
    rounded = _judged(tooling, request, Point(point.speed_rpm, fz, depth, width, 0.0))
    if point.use > _HOLDS or request.axial_depth_mm is not None:
        return rounded
    for _ in range(_STEPS_BACK):  # a feed that had to be rounded up may ask for a step of depth
        smaller = depth_to_set_mm(_STEP_BACK * rounded.depth_mm, units)
        if rounded.use <= _HOLDS or not 0 < smaller < rounded.depth_mm:
            break
        rounded = _judged(tooling, request, replace(rounded, depth_mm=smaller))
    while (
        rounded.use <= _HOLDS
    ):  # a limit may lie on the next step, and a width or feed rounded down leave room
        deeper = _judged(tooling, request, replace(rounded, depth_mm=_next_depth_mm(rounded.depth_mm, units)))
        if deeper.use > _HOLDS:
            break
        rounded = deeper
    return rounded


def _judged(tooling: Tooling, request: CutRequest, point: Point) -> Point:
    """The same with its use."""
    return replace(point, use=float(worst_use(point.state(tooling, request)).item()))


def _next_depth_mm(depth_mm: float, units: System) -> float:
    """The next deeper depth that a person sets [mm]."""
    grown = 1.0 + 2.0 ** -np.arange(12, 0, -1)  # less than a step first
    return next(
        d for d in (depth_to_set_mm(depth_mm * float(g), units) for g in (*grown, 3.0)) if d > depth_mm
    )


def _floor_mm_min(tooling: Tooling, request: CutRequest, point: Point) -> float:
    """Slowest feed at which the thickest chip of a cut keeps its distance from rubbing [mm/min]."""
    thickest = float(np.ravel(point.state(tooling, request).max_chip_mm)[0])
    chip = point.feed_per_tooth_mm * tooling.thin_chip_mm / thickest
    return float(feed_mm_min(chip, tooling.cutter.flutes, point.speed_rpm))


def feed_no_slower_mm_min(feed: float, floor: float, units: System) -> float:
    """A feed as a person sets it, rounded down, but up where that would pass a floor that it keeps [mm/min]."""
    rounded = feed_to_set_mm_min(feed, units) or feed
    if rounded >= floor * (1 - 1e-9) or feed < floor * (1 - 1e-9):
        return rounded
    return feed_to_set_mm_min(floor, units, "up")


def shares(tooling: Tooling, request: CutRequest, point: Point) -> tuple[LimitShare, ...]:
    """Every limit at a setting, largest use first.

    tooling: What cuts what.
    request: What is asked.
    point: The setting.
    Returns: Sorted by share / budget.
    """
    return limit_shares(point.state(tooling, request))


def limit_shares(state: State) -> tuple[LimitShare, ...]:
    """Every limit that applies to a state, largest use of what may be used first.

    state: One setting (arrays of one).
    Returns: Sorted by share / budget.
    """
    rows = []
    for limit in limits_of(state):
        need = limit.function(state)
        rows.append(
            LimitShare(
                limit.key,
                limit.title,
                float(np.ravel(need.demand)[0]),
                float(np.ravel(need.limit)[0]),
                limit.unit,
                float(np.ravel(need.share)[0]),
                limit.budget(state.request, state.tooling),
                need.reason,
                need.source,
                limit.binds(state),
            )
        )
    return tuple(sorted(rows, key=lambda row: (not row.binds, -row.used)))
