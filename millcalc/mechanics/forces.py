"""Forces of the linear-edge model over one turn of a helical cutter, in closed form along the edge.

A tooth whose tip stands at t covers the angles t - lag to t, since a helix lags behind by 2 a tan(helix) / D over the
depth a. What of that lies in the arc of cut is integrated exactly; the turn is sampled. Climb cut; x is the feed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from millcalc.mechanics._arrays import (
    FloatArray,
    Numbers,
    Result,
    between,
    not_negative,
    positive,
    result,
    whole,
)
from millcalc.mechanics.linear_edge import EdgeCoefficients

_TIPS = 40  # positions of the first tooth's tip over the arc of cut and the lag [-]
_KEPT_MOST = 200_000  # angles whose integrals are kept for the next material; more are computed again [-]
_LEAST_LAG_RAD = 2e-3  # a straight edge counts as one with this lag: the integral becomes the force itself


@dataclass(frozen=True)
class TurnLoads:
    """Forces on the cutter over one turn, of the broadcast shape of the arguments.

    mean_n: Length of the mean force vector across the axis [N].
    peak_n: Greatest force across the axis [N].
    axial_n: Greatest force along the axis, without the sign of the spiral [N].
    tangential_n: Mean of the tangential forces of all teeth; times the cutting speed it is the power [N].
    """

    mean_n: NDArray[np.float64]
    peak_n: NDArray[np.float64]
    axial_n: NDArray[np.float64]
    tangential_n: NDArray[np.float64]


def turn_loads(
    edge: EdgeCoefficients,
    diameter_mm: float,
    flutes: int,
    helix_deg: float,
    feed_per_tooth_mm: Numbers,
    engagement_rad: Numbers,
    axial_depth_mm: Numbers,
    runout_mm: float = 0.0,
) -> TurnLoads:
    """Mean and peak forces of a climb cut.

    edge: Coefficients of the material.
    diameter_mm: Cutter diameter D [mm].
    flutes: Teeth, evenly spread [-].
    helix_deg: Helix angle; its sign does not matter here [deg].
    feed_per_tooth_mm: Feed per tooth c [mm].
    engagement_rad: Engagement angle, up to pi [rad].
    axial_depth_mm: Axial depth a [mm].
    runout_mm: Total indicator reading; one tooth takes it on top of its feed, at most the others' share [mm].
    Returns: Arrays of the broadcast shape.
    Raises ValueError: If an argument is out of range.

    Note: A rigid cutter, circular tooth paths. The means do not depend on the helix. Sampled at 40 places of one
      tooth, so that a peak is found to about 1 %.

    >>> set_6082 = EdgeCoefficients(631.0, 99.0, 273.0, 13.0, 10.0, 2.8)
    >>> round(float(turn_loads(set_6082, 6.0, 1, 30.0, 0.03, np.pi, 1.0).peak_n), 1)
    34.4

    Source: E. Budak, Y. Altintas, E. J. A. Armarego, Journal of Engineering for Industry 118 (1996) 216 (from
      memory); integrals of sin, sin^2 and sin cos.
    """
    turn = turn_of(diameter_mm, flutes, helix_deg, engagement_rad, axial_depth_mm)
    return turn.loads(edge, feed_per_tooth_mm, runout_mm)


def _chips_mm(feed_mm: FloatArray, teeth: int, runout_mm: float) -> list[FloatArray]:
    """Feed that each tooth cuts: the first takes the runout on top of its own, the others less for it [mm]."""
    extra = np.minimum(runout_mm, feed_mm * (teeth - 1)) if teeth > 1 else np.zeros_like(feed_mm)
    others = np.maximum(feed_mm - extra / max(teeth - 1, 1), 0.0)
    return [np.maximum(feed_mm + extra, 0.0), *[others] * (teeth - 1)]


@dataclass(frozen=True)
class _Integrals:
    """Integrals over an arc: of cos, of -sin, of sin cos and of sin^2, and its length [rad]."""

    sine: FloatArray
    cosine: FloatArray
    squared: FloatArray
    area: FloatArray
    length: FloatArray


def _integrals(low: FloatArray, high: FloatArray) -> _Integrals:
    """Integrals over the angles low to high; sin 2x is 2 sin x cos x."""
    sin_low, sin_high, cos_low, cos_high = np.sin(low), np.sin(high), np.cos(low), np.cos(high)
    length = high - low
    return _Integrals(
        sin_high - sin_low,
        cos_high - cos_low,
        (sin_high**2 - sin_low**2) / 2.0,
        (length - sin_high * cos_high + sin_low * cos_low) / 2.0,
        length,
    )


def _side_forces(
    edge: EdgeCoefficients, chip_mm: FloatArray, over: _Integrals
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Integrals of fx, fy and fz of one tooth per millimetre of edge over an arc [N rad/mm].

    ft = Ktc c sin + Kte, fr = Krc c sin + Kre, fx = -ft cos - fr sin, fy = ft sin - fr cos; a tooth without a feed
    cuts air. What does not depend on the feed is summed before the feeds spread it out.
    """
    k, cuts = edge, _cutting(chip_mm)
    x = chip_mm * (-k.ktc_n_mm2 * over.squared - k.krc_n_mm2 * over.area)
    x += cuts * (k.kre_n_mm * over.cosine - k.kte_n_mm * over.sine)
    y = chip_mm * (k.ktc_n_mm2 * over.area - k.krc_n_mm2 * over.squared)
    y -= cuts * (k.kte_n_mm * over.cosine + k.kre_n_mm * over.sine)
    z = chip_mm * (-k.kac_n_mm2 * over.cosine)
    z += cuts * (k.kae_n_mm * over.length)
    return x, y, z


def _tangential(edge: EdgeCoefficients, chip_mm: FloatArray, over: _Integrals) -> FloatArray:
    """Integral of ft of one tooth per millimetre of edge over an arc [N rad/mm]."""
    cutting = -edge.ktc_n_mm2 * chip_mm * over.cosine
    return cutting + _cutting(chip_mm) * (edge.kte_n_mm * over.length)


def _cutting(chip_mm: FloatArray) -> FloatArray | float:
    """1 where a tooth has a feed, 0 where it has none; one number where all have one [-]."""
    cuts = chip_mm > 1e-9
    return 1.0 if cuts.all() else np.where(cuts, 1.0, 0.0)


@dataclass(frozen=True)
class Turn:
    """Where the teeth stand in the arc of cut over one turn: the same for every material and feed.

    teeth: Number of teeth [-].
    depth_mm: Axial depth [mm].
    entry_rad, lag_rad: Where the arc begins, and how far the helix lags behind over the depth; with an axis more [rad].
    """

    teeth: int
    depth_mm: FloatArray
    entry_rad: FloatArray
    lag_rad: FloatArray

    def loads(self, edge: EdgeCoefficients, feed_per_tooth_mm: Numbers, runout_mm: float = 0.0) -> TurnLoads:
        """Mean and peak forces with a material and a feed, see :func:`turn_loads`.

        edge: Coefficients of the material.
        feed_per_tooth_mm: Feed per tooth [mm].
        runout_mm: Total indicator reading [mm].
        Returns: Arrays of the broadcast shape.
        Raises ValueError: If the feed is negative or not finite.
        """
        feed = not_negative("feed_per_tooth_mm", feed_per_tooth_mm)
        chips = _chips_mm(feed, self.teeth, runout_mm)
        across, along = self._peaks(edge, chips)
        scale = self.depth_mm / self.lag_rad[..., 0]
        teeth = [
            (
                *_side_forces(edge, chip[..., None], self._whole),
                _tangential(edge, chip[..., None], self._whole),
            )
            for chip in chips
        ]
        mean_x, mean_y, _, mean_t = (
            np.sum(part, axis=0)[..., 0] * self.depth_mm / (2.0 * np.pi) for part in zip(*teeth, strict=True)
        )
        return TurnLoads(np.hypot(mean_x, mean_y), across * scale, along * scale, mean_t)

    def _peaks(self, edge: EdgeCoefficients, chips: list[FloatArray]) -> tuple[FloatArray, FloatArray]:
        """Greatest sums of all teeth over one turn, across and along the axis, per millimetre of edge [N rad/mm]."""
        shape = np.broadcast_shapes(self._tips.shape, chips[0][..., None].shape)
        x, y, z = (np.zeros(shape) for _ in range(3))
        for place, over in self._places():
            for total, more in zip(
                (x, y, z), _side_forces(edge, chips[place % len(chips)][..., None], over), strict=True
            ):
                total += more
        x *= x
        x += y * y
        return np.sqrt(x.max(axis=-1)), z.max(axis=-1)

    @cached_property
    def _whole(self) -> _Integrals:
        """Integrals over the whole arc."""
        return _integrals(self.entry_rad, np.full_like(self.entry_rad, np.pi))

    @cached_property
    def _tips(self) -> FloatArray:
        """Where the first tooth's tip stands, along the last axis [rad]."""
        spread = (np.arange(_TIPS) + 0.5) / _TIPS
        return self.entry_rad + (np.pi - self.entry_rad + self.lag_rad) * spread

    @cached_property
    def _kept(self) -> tuple[tuple[int, _Integrals], ...]:
        return tuple(self._walk())

    def _places(self) -> Iterable[tuple[int, _Integrals]]:
        """Teeth in the cut, by their place from the first one; kept for the next material where that is little."""
        return self._kept if self._tips.size <= _KEPT_MOST else self._walk()

    def _walk(self) -> Iterator[tuple[int, _Integrals]]:
        pitch = 2.0 * np.pi / self.teeth
        reach = int(np.ceil((np.pi + float(self.lag_rad.max(initial=0.0))) / pitch))
        for place in range(-reach, reach + 1):
            tip = self._tips + pitch * place
            low = np.clip(tip - self.lag_rad, self.entry_rad, np.pi)
            high = np.clip(tip, self.entry_rad, np.pi)
            if (high > low).any():  # else this tooth is out of the cut wherever the tip is
                yield place, _integrals(low, high)


def turn_of(
    diameter_mm: float, flutes: int, helix_deg: float, engagement_rad: Numbers, axial_depth_mm: Numbers
) -> Turn:
    """Where the teeth stand in the arc of cut.

    diameter_mm: Cutter diameter [mm].
    flutes: Teeth, evenly spread [-].
    helix_deg: Helix angle; its sign does not matter here [deg].
    engagement_rad: Engagement angle, up to pi [rad].
    axial_depth_mm: Axial depth [mm].
    Returns: What the forces of every material and feed share.
    Raises ValueError: If an argument is out of range.

    Source: Geometry.
    """
    arc = between("engagement_rad", engagement_rad, 0.0, np.pi + 1e-9)
    depth = not_negative("axial_depth_mm", axial_depth_mm)
    teeth = int(whole("flutes", flutes))
    helix = abs(float(between("helix_deg", helix_deg, -80.0, 80.0)))
    lag = 2.0 * depth * np.tan(np.radians(helix)) / float(positive("diameter_mm", diameter_mm))
    return Turn(
        teeth, depth, np.maximum(np.pi - arc, 0.0)[..., None], np.maximum(lag, _LEAST_LAG_RAD)[..., None]
    )


def power_of_force_w(tangential_n: Numbers, speed_m_min: Numbers) -> Result:
    """Give the cutting power of a mean tangential force.

    tangential_n: Mean tangential force of all teeth [N].
    speed_m_min: Cutting speed [m/min].
    Returns: Power [W].
    Raises ValueError: If an argument is not finite, or the speed is negative.

    >>> power_of_force_w(20.0, 300.0)
    100.0

    Source: Power is force times speed.
    """
    return result(
        not_negative("tangential_n", tangential_n) * not_negative("speed_m_min", speed_m_min) / 60.0
    )
