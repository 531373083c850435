"""The answer: settings, every limit with the share used, ranges, and what would buy more."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import Tooling

if TYPE_CHECKING:
    from millcalc.limits.chances import Chances


THINNED = 0.97  # of the feed per tooth; a thickest chip below is said to be thinned [-]


@dataclass(frozen=True, slots=True)
class LimitShare:
    """One limit and how much of it a cut uses.

    key: Short name of the limit, explained by ``millcalc explain``.
    title: Name shown to the person.
    demand, limit: What the cut asks for and what there is, in `unit`.
    unit: Unit of both.
    share: demand / limit (or limit / demand for a smallest value) [-].
    budget: Share that may be used [-].
    reason: Where the limit comes from, one sentence.
    source: Source key or ``common practice, no source``.
    binds: Whether it holds the cut back; else its share is a hint.
    """

    key: str
    title: str
    demand: float
    limit: float
    unit: str
    share: float
    budget: float
    reason: str
    source: str
    binds: bool = True

    @property
    def used(self) -> float:
        """Share of the budget that is used [-]; above 1 the limit does not hold."""
        return self.share / self.budget


@dataclass(frozen=True, slots=True)
class Settings:
    """What to set.

    speed_rpm: Spindle speed [rev/min].
    dial_mark: Dial mark for that speed, where the spindle is dialled by hand.
    feed_mm_min, feed_per_tooth_mm: Feed [mm/min] and chip load [mm].
    axial_depth_mm, radial_width_mm: Depth and width of cut [mm].
    plunge_feed_mm_min, ramp_angle_deg, ramp_feed_mm_min: Straight plunge feed [mm/min], ramp angle [deg],
      feed while ramping [mm/min].
    helix_bore_mm, helix_pitch_mm, helix_feed_mm_min: Bore [mm], pitch [mm/turn] and feed of the tool centre
      [mm/min] of a helical entry.
    """

    speed_rpm: float
    dial_mark: str | None
    feed_mm_min: float
    feed_per_tooth_mm: float
    axial_depth_mm: float
    radial_width_mm: float
    plunge_feed_mm_min: float
    plunge_allowed: bool
    ramp_angle_deg: float
    ramp_feed_mm_min: float
    helix_bore_mm: float | None = None
    helix_pitch_mm: float | None = None
    helix_feed_mm_min: float | None = None


@dataclass(frozen=True, slots=True)
class Range:
    """A computed quantity with the spread that comes from published coefficients."""

    title: str
    low: float
    nominal: float
    high: float
    unit: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Buy:
    """A change and what it would buy, computed: the depth, removal rate, speed and feed with it."""

    change: str
    depth_mm: float
    removal_cm3_min: float
    gain: float
    governing: str
    speed_rpm: float
    feed_mm_min: float


@dataclass(frozen=True)
class Advice:
    """The whole answer.

    tooling, request: What was asked.
    settings: What to set, rounded as a person sets it.
    limits: Every limit, largest use first.
    fits: Whether every limit holds within its budget.
    ranges: Force, power, deflection and chip thickness as ranges.
    removal_cm3_min: Removal rate [cm3/min].
    compliance_um_n: Springs in series: cutter, collet and spindle, frame [um/N].
    reasons: Why each number is what it is, one sentence each.
    notes: Doubts the person should know.
    buys: What would buy more.
    sources: (what, source key, confidence) of the numbers used.
    given: Which of rpm, feed, ap, ae the person gave.
    holds: Which limit (key) holds back ``depth``, ``feed`` and ``speed``.
    chances: How sure each limit is to hold at these settings; None for a drilled hole.
    """

    tooling: Tooling
    request: CutRequest
    settings: Settings
    limits: tuple[LimitShare, ...]
    fits: bool
    ranges: tuple[Range, ...]
    removal_cm3_min: float
    compliance_um_n: dict[str, float]
    reasons: tuple[str, ...]
    notes: tuple[str, ...]
    buys: tuple[Buy, ...] = ()
    sources: tuple[tuple[str, str, str], ...] = ()
    given: tuple[str, ...] = field(default=())

    holds: dict[str, str] = field(default_factory=dict)
    chances: Chances | None = None

    @property
    def governing(self) -> LimitShare:
        """The limit that is overrun most, or else the one that holds the depth back."""
        worst = self.limits[0]
        if worst.used > 1.0 + 1e-9 or "depth" not in self.holds:
            return worst
        return next(limit for limit in self.limits if limit.key == self.holds["depth"])
