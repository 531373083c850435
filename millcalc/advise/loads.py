"""Cutting forces of a cut, for arrays of settings at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from millcalc.mechanics.linear_edge import EdgeCoefficients

_STEPS = 48


@dataclass(frozen=True)
class UnitLoads:
    """Forces per millimetre of axial depth over one turn, same shape as the broadcast inputs.

    mean_n_mm: Length of the mean in-plane force vector [N/mm].
    peak_n_mm: Greatest in-plane resultant [N/mm].
    axial_n_mm: Greatest axial force [N/mm].
    torque_n_mm: Mean tangential force summed over the teeth in cut [N/mm].
    """

    mean_n_mm: NDArray[np.float64]
    peak_n_mm: NDArray[np.float64]
    axial_n_mm: NDArray[np.float64]
    torque_n_mm: NDArray[np.float64]


def unit_loads(
    edge: EdgeCoefficients, flutes: int, feed_per_tooth_mm: Any, engagement_rad: Any, runout_mm: float
) -> UnitLoads:
    """Forces per millimetre of depth over one turn, climb cut, helix lag neglected.

    edge: Linear-edge coefficients.
    flutes: Cutting edges [-].
    feed_per_tooth_mm: Feed per tooth [mm].
    engagement_rad: Engagement angle, up to pi [rad].
    runout_mm: Total indicator reading; one tooth takes it on top of its feed, at most one more tooth's
      share [mm].
    Returns: Arrays of the broadcast shape.

    Note: Neglecting the lag of the helix puts all of the edge into the cut at one moment, which is the high
      side for the peak. Forces are proportional to depth.

    Source: Budak, Altintas & Armarego, J. Eng. Ind. 118 (1996), equations of the linear-edge model (from
      memory).
    """
    feed, engaged = np.broadcast_arrays(
        np.asarray(feed_per_tooth_mm, float), np.asarray(engagement_rad, float)
    )
    feed, engaged = feed[..., None], engaged[..., None]
    entry = np.pi - engaged
    extra = np.minimum(runout_mm, feed * (flutes - 1)) if flutes > 1 else np.zeros_like(feed)
    phi_first = entry + engaged * ((np.arange(_STEPS) + 0.5) / _STEPS)
    share = engaged[..., 0] / (2 * np.pi)
    mean_x, mean_y, mean_t = (np.zeros(feed.shape[:-1]) for _ in range(3))
    fx, fy, axial = (np.zeros(phi_first.shape) for _ in range(3))
    for tooth in range(flutes):
        chip_feed = feed + extra if tooth == 0 else feed - extra / (flutes - 1)
        own_x, own_y, _, own_t = _tooth(edge, chip_feed, phi_first)
        mean_x += own_x.mean(axis=-1) * share
        mean_y += own_y.mean(axis=-1) * share
        mean_t += own_t.mean(axis=-1) * share
        phi = np.mod(phi_first + 2 * np.pi * tooth / flutes, 2 * np.pi)
        inside = (phi >= entry) & (phi <= np.pi)
        tooth_x, tooth_y, tooth_z, _ = _tooth(edge, chip_feed, phi)
        fx += np.where(inside, tooth_x, 0.0)
        fy += np.where(inside, tooth_y, 0.0)
        axial += np.where(inside, tooth_z, 0.0)
    return UnitLoads(np.hypot(mean_x, mean_y), np.hypot(fx, fy).max(axis=-1), axial.max(axis=-1), mean_t)


def _tooth(
    edge: EdgeCoefficients, feed_mm: NDArray[np.float64], phi: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Fx, Fy, Fz and tangential force of one tooth per millimetre of depth [N/mm]; none where it cuts air."""
    cuts = feed_mm > 1e-9
    chip = feed_mm * np.sin(phi)
    tangential = np.where(cuts, edge.ktc_n_mm2 * chip + edge.kte_n_mm, 0.0)
    radial = np.where(cuts, edge.krc_n_mm2 * chip + edge.kre_n_mm, 0.0)
    axial = np.where(cuts, edge.kac_n_mm2 * chip + edge.kae_n_mm, 0.0)
    sine, cosine = np.sin(phi), np.cos(phi)
    return -tangential * cosine - radial * sine, tangential * sine - radial * cosine, axial, tangential


def frame_attenuation(tooth_hz: Any, mode_hz: float) -> NDArray[np.float64]:
    """How much of the alternating force the frame follows, above its own mode.

    tooth_hz: Tooth-passing frequency [Hz].
    mode_hz: Lowest lateral frame mode [Hz].
    Returns: Share between 0 and 1; 1 at and below 1.41 times the mode, where it would not be attenuated
      [-].

    Source: Undamped forced response of one mode, 1 / |r^2 - 1| (closed form).
    """
    ratio = np.asarray(tooth_hz, float) / mode_hz
    return np.where(ratio > np.sqrt(2.0), 1.0 / np.maximum(ratio**2 - 1.0, 1.0), 1.0)
