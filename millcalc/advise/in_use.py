"""The settings in use when a symptom was met."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from millcalc.limits.draws import one
from millcalc.limits.request import CutKind, CutRequest
from millcalc.limits.row import Limit
from millcalc.limits.state import State
from millcalc.limits.table import LIMITS, uses
from millcalc.limits.tooling import Tooling

if TYPE_CHECKING:
    from millcalc.advise.result import Advice


def _limit(key: str) -> Limit:
    return next(limit for limit in LIMITS if limit.key == key)


@dataclass(frozen=True)
class InUse:
    """The settings in use when the symptom was met.

    tooling: What cut what.
    cut: Kind of cut.
    speed_rpm, feed_mm_min, depth_mm, width_mm: Spindle speed [rev/min], feed [mm/min], depth and width of
      cut [mm].
    plunge_feed_mm_min: Feed of the straight plunge, if known [mm/min].
    tone_hz: Pitch of the squeal, if heard [Hz].
    proven: Whether this cut has run before, so that all of each limit may be used.
    """

    tooling: Tooling
    cut: CutKind
    speed_rpm: float
    feed_mm_min: float
    depth_mm: float
    width_mm: float
    plunge_feed_mm_min: float | None = None
    tone_hz: float | None = None
    proven: bool = False

    @classmethod
    def of(
        cls,
        advice: Advice,
        plunge_feed_mm_min: float | None = None,
        tone_hz: float | None = None,
        proven: bool = False,
    ) -> InUse:
        """The settings of an advice, where they are what was set.

        advice: The answer.
        plunge_feed_mm_min: Feed of the straight plunge, if known [mm/min].
        tone_hz: Pitch of the squeal, if heard [Hz].
        proven: Whether this cut has run before.
        """
        used = advice.settings
        return cls(
            advice.tooling,
            advice.request.cut,
            used.speed_rpm,
            used.feed_mm_min,
            used.axial_depth_mm,
            used.radial_width_mm,
            plunge_feed_mm_min,
            tone_hz,
            proven,
        )

    @property
    def feed_per_tooth_mm(self) -> float:
        """Chip load [mm]."""
        return self.feed_mm_min / (self.speed_rpm * self.tooling.cutter.flutes)

    @property
    def request(self) -> CutRequest:
        """The cut as it is judged: by a first cut's share of each limit, or by all of it."""
        return CutRequest(
            self.cut, self.depth_mm, self.width_mm, self.feed_mm_min, self.speed_rpm, proven=self.proven
        )

    @cached_property
    def state(self) -> State:
        """The cut for the limit functions."""
        return State(
            self.tooling,
            self.request,
            np.array([self.speed_rpm]),
            np.array([self.feed_per_tooth_mm]),
            np.array([self.depth_mm]),
            np.array([self.width_mm]),
        )

    def use(self, key: str) -> float:
        """Share of a limit, all of it being 1.

        key: Limit.
        Returns: Share [-].
        """
        return one(_limit(key).function(self.state).share)

    def over(self) -> tuple[str, ...]:
        """Keys of the limits that do not hold."""
        return tuple(key for key, use in uses(self.state).items() if one(use) > 1.0 + 1e-9)

    def changed(self, **changes: Any) -> InUse:
        """The same with some settings replaced.

        **changes: Attributes and their new values.
        Returns: The changed settings.
        """
        return replace(self, **changes)
