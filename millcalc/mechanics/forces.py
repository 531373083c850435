"""Forces of the linear-edge model over one turn of a helical cutter, in closed form along the edge.

A tooth whose tip stands at t covers the angles t - lag to t, since a helix lags behind by 2 a tan(helix) / D over the
depth a. What of that lies in the arc of cut is integrated exactly; the turn is sampled. Climb cut; x is the feed.
"""

from __future__ import annotations

from dataclasses import dataclass

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
    feed = not_negative("feed_per_tooth_mm", feed_per_tooth_mm)
    arc = between("engagement_rad", engagement_rad, 0.0, np.pi + 1e-9)
    depth = not_negative("axial_depth_mm", axial_depth_mm)
    teeth = int(whole("flutes", flutes))
    helix = abs(float(between("helix_deg", helix_deg, -80.0, 80.0)))
    lag = 2.0 * depth * np.tan(np.radians(helix)) / float(positive("diameter_mm", diameter_mm))
    lag = np.maximum(lag, _LEAST_LAG_RAD)[..., None]
    entry = np.maximum(np.pi - arc, 0.0)[..., None]
    chips = _chips_mm(feed, teeth, runout_mm)
    across, along = _peaks(edge, chips, entry, lag)
    scale = depth / lag[..., 0]
    whole_turn = _integrals(entry, np.full_like(entry, np.pi))
    teeth_means = [_forces(edge, chip[..., None], whole_turn) for chip in chips]
    mean_x, mean_y, _, mean_t = (
        np.sum(part, axis=0)[..., 0] * depth / (2.0 * np.pi) for part in zip(*teeth_means, strict=True)
    )
    return TurnLoads(np.hypot(mean_x, mean_y), across * scale, along * scale, mean_t)


def _chips_mm(feed_mm: FloatArray, teeth: int, runout_mm: float) -> list[FloatArray]:
    """Feed that each tooth cuts: the first takes the runout on top of its own, the others less for it [mm]."""
    extra = np.minimum(runout_mm, feed_mm * (teeth - 1)) if teeth > 1 else np.zeros_like(feed_mm)
    others = np.maximum(feed_mm - extra / max(teeth - 1, 1), 0.0)
    return [np.maximum(feed_mm + extra, 0.0), *[others] * (teeth - 1)]


def _peaks(
    edge: EdgeCoefficients, chips: list[FloatArray], entry: FloatArray, lag: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Greatest sums of all teeth over one turn, across and along the axis, per millimetre of edge [N rad/mm]."""
    tips = entry + (np.pi - entry + lag) * ((np.arange(_TIPS) + 0.5) / _TIPS)
    pitch = 2.0 * np.pi / len(chips)
    reach = int(np.ceil((np.pi + float(lag.max(initial=0.0))) / pitch))
    shape = np.broadcast_shapes(tips.shape, chips[0][..., None].shape)
    x, y, z = (np.zeros(shape) for _ in range(3))
    for place in range(-reach, reach + 1):
        tip = tips + pitch * place
        low, high = np.clip(tip - lag, entry, np.pi), np.clip(tip, entry, np.pi)
        if not (high > low).any():  # this tooth is out of the cut wherever the tip is
            continue
        # the angles do not depend on the feed: their integrals are taken before the feeds spread them out
        more = _forces(edge, chips[place % len(chips)][..., None], _integrals(low, high))
        x, y, z = x + more[0], y + more[1], z + more[2]
    return np.hypot(x, y).max(axis=-1), z.max(axis=-1)


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


def _forces(
    edge: EdgeCoefficients, chip_mm: FloatArray, over: _Integrals
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Integrals of fx, fy, fz and ft of one tooth per millimetre of edge over an arc [N rad/mm].

    ft = Ktc c sin + Kte, fr = Krc c sin + Kre, fx = -ft cos - fr sin, fy = ft sin - fr cos; a tooth without a feed
    cuts air.
    """
    cuts = np.where(chip_mm > 1e-9, 1.0, 0.0)
    k = edge
    x = chip_mm * (-k.ktc_n_mm2 * over.squared - k.krc_n_mm2 * over.area)
    x = x + cuts * (k.kre_n_mm * over.cosine - k.kte_n_mm * over.sine)
    y = chip_mm * (k.ktc_n_mm2 * over.area - k.krc_n_mm2 * over.squared)
    y = y - cuts * (k.kte_n_mm * over.cosine + k.kre_n_mm * over.sine)
    z = -k.kac_n_mm2 * chip_mm * over.cosine + cuts * (k.kae_n_mm * over.length)
    t = -k.ktc_n_mm2 * chip_mm * over.cosine + cuts * (k.kte_n_mm * over.length)
    return x, y, z, t


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
