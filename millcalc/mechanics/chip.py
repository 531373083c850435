"""Chip thickness: how thick the chip is that a tooth takes, and what run-out makes of it."""

from __future__ import annotations

import numpy as np

from millcalc.mechanics._arrays import (
    FloatArray,
    Numbers,
    Result,
    at_most,
    between,
    finite,
    not_negative,
    positive,
    result,
    whole,
)
from millcalc.mechanics.engagement import engagement_angle_rad


def _ratio(radial_width_mm: Numbers, diameter_mm: Numbers) -> FloatArray:
    diameter = positive("diameter_mm", diameter_mm)
    width = positive("radial_width_mm", radial_width_mm)
    return np.asarray(at_most("radial_width_mm", width, "diameter_mm", diameter) / diameter)


def max_chip_mm(feed_per_tooth_mm: Numbers, radial_width_mm: Numbers, diameter_mm: Numbers) -> Result:
    """Give the largest chip thickness: 2 fz sqrt(r (1 - r)) with r = ae/D below one half, else fz.

    Parameters
    ----------
    feed_per_tooth_mm : float or array
        Feed per tooth fz [mm].
    radial_width_mm, diameter_mm : float or array
        Radial width ae and cutter diameter D [mm].

    Returns
    -------
    float or array
        Largest undeformed chip thickness [mm].

    Raises
    ------
    ValueError
        If an argument is not finite, not positive, or ae exceeds D.

    Notes
    -----
    Circular tooth path (fz much smaller than D), straight edge, straight wall, no run-out.

    Examples
    --------
    >>> round(max_chip_mm(0.05, 0.6, 6.0), 4)
    0.03

    References
    ----------
    Y. Altintas, Manufacturing Automation, 2nd ed., Cambridge 2012, chapter 2 (from memory); agrees to the
    printed digits with Dormer Pramet, milling catalogue 2021-22, p. 114.
    """
    half = np.minimum(_ratio(radial_width_mm, diameter_mm), 0.5)
    tooth = not_negative("feed_per_tooth_mm", feed_per_tooth_mm)
    return result(2.0 * tooth * np.sqrt(half * (1.0 - half)))


def mean_chip_mm(feed_per_tooth_mm: Numbers, radial_width_mm: Numbers, diameter_mm: Numbers) -> Result:
    """Give the mean chip thickness over the arc of cut: hm = 2 fz (ae/D) / phi.

    Parameters
    ----------
    feed_per_tooth_mm : float or array
        Feed per tooth fz [mm].
    radial_width_mm, diameter_mm : float or array
        Radial width ae and cutter diameter D [mm].

    Returns
    -------
    float or array
        Mean undeformed chip thickness; 2 fz / pi in a slot [mm].

    Raises
    ------
    ValueError
        If an argument is not finite, not positive, or ae exceeds D.

    Notes
    -----
    Cut from the edge of the work (side milling) or a slot; not for a face cut with the cutter centred.

    Examples
    --------
    >>> round(mean_chip_mm(0.05, 6.0, 6.0), 4)
    0.0318

    References
    ----------
    H. Tschaetsch, Praxis der Zerspantechnik (from memory).
    """
    ratio = _ratio(radial_width_mm, diameter_mm)
    tooth = not_negative("feed_per_tooth_mm", feed_per_tooth_mm)
    angle = np.asarray(engagement_angle_rad(radial_width_mm, diameter_mm))
    return result(2.0 * tooth * ratio / angle)


def thinning_factor(radial_width_mm: Numbers, diameter_mm: Numbers) -> Result:
    """Give the factor on the feed per tooth that restores the chip thickness of a half-width cut.

    Parameters
    ----------
    radial_width_mm, diameter_mm : float or array
        Radial width ae and cutter diameter D [mm].

    Returns
    -------
    float or array
        1 / (2 sqrt(r (1 - r))) with r = ae/D below one half, else 1 [-].

    Raises
    ------
    ValueError
        If an argument is not finite, not positive, or ae exceeds D.

    Notes
    -----
    Use it only while force, feed and acceleration stay inside their limits, and not in corners, where the
    engagement grows.

    Examples
    --------
    >>> round(thinning_factor(0.6, 6.0), 2)
    1.67

    References
    ----------
    Dormer Pramet, milling catalogue 2021-22, p. 114 (tabulated factors).
    """
    half = np.minimum(_ratio(radial_width_mm, diameter_mm), 0.5)
    return result(1.0 / (2.0 * np.sqrt(half * (1.0 - half))))


def feed_for_max_chip_mm(chip_mm: Numbers, radial_width_mm: Numbers, diameter_mm: Numbers) -> Result:
    """Give the feed per tooth whose largest chip has a thickness.

    Parameters
    ----------
    chip_mm : float or array
        Largest chip thickness wanted [mm].
    radial_width_mm, diameter_mm : float or array
        Radial width ae and cutter diameter D [mm].

    Returns
    -------
    float or array
        Feed per tooth fz [mm].

    Raises
    ------
    ValueError
        If an argument is not finite, not positive, or ae exceeds D.

    Examples
    --------
    >>> round(feed_for_max_chip_mm(0.03, 0.6, 6.0), 4)
    0.05

    References
    ----------
    Inverse of :func:`max_chip_mm`.
    """
    return result(
        not_negative("chip_mm", chip_mm) * np.asarray(thinning_factor(radial_width_mm, diameter_mm))
    )


def feed_for_mean_chip_mm(chip_mm: Numbers, radial_width_mm: Numbers, diameter_mm: Numbers) -> Result:
    """Give the feed per tooth whose mean chip has a thickness.

    Parameters
    ----------
    chip_mm : float or array
        Mean chip thickness wanted [mm].
    radial_width_mm, diameter_mm : float or array
        Radial width ae and cutter diameter D [mm].

    Returns
    -------
    float or array
        Feed per tooth fz [mm].

    Raises
    ------
    ValueError
        If an argument is not finite, not positive, or ae exceeds D.

    Examples
    --------
    >>> round(feed_for_mean_chip_mm(0.0318, 6.0, 6.0), 3)
    0.05

    References
    ----------
    Inverse of :func:`mean_chip_mm`.
    """
    chip = not_negative("chip_mm", chip_mm)
    return result(chip / np.asarray(mean_chip_mm(1.0, radial_width_mm, diameter_mm)))


def feed_for_mean_chip_sqrt_mm(chip_mm: Numbers, radial_width_mm: Numbers, diameter_mm: Numbers) -> Result:
    """Give the feed per tooth for a mean chip by the catalogue approximation fz = hm sqrt(D/ae).

    Parameters
    ----------
    chip_mm : float or array
        Mean chip thickness hm [mm].
    radial_width_mm, diameter_mm : float or array
        Radial width ae and cutter diameter D [mm].

    Returns
    -------
    float or array
        Feed per tooth fz [mm].

    Raises
    ------
    ValueError
        If an argument is not finite, not positive, or ae exceeds D.

    Notes
    -----
    Close to :func:`feed_for_mean_chip_mm` for ae well below D/2; catalogues use it up to a full slot, where
    it gives a mean chip 36 % below its name.

    Examples
    --------
    >>> round(feed_for_mean_chip_sqrt_mm(0.16, 0.2 * 10, 10.0), 2)
    0.36

    References
    ----------
    Stellram, catalogue, p. 87; Ceratizit, electronic catalogue 2026, p. 802.
    """
    chip = not_negative("chip_mm", chip_mm)
    return result(chip / np.sqrt(_ratio(radial_width_mm, diameter_mm)))


def arc_max_chip_mm(feed_per_tooth_mm: Numbers, entry_rad: Numbers, exit_rad: Numbers) -> Result:
    """Give the largest chip thickness between two angles of a turn: max of fz sin(phi).

    Parameters
    ----------
    feed_per_tooth_mm : float or array
        Feed per tooth fz [mm].
    entry_rad, exit_rad : float or array
        Entry and exit angle, 0 to pi [rad].

    Returns
    -------
    float or array
        Largest chip thickness [mm].

    Raises
    ------
    ValueError
        If an argument is not finite or out of range, or exit comes before entry.

    Examples
    --------
    >>> round(arc_max_chip_mm(0.05, 0.0, np.pi / 6), 4)
    0.025

    References
    ----------
    Y. Altintas, Manufacturing Automation, 2nd ed., Cambridge 2012, chapter 2 (from memory).
    """
    entry = between("entry_rad", entry_rad, 0.0, np.pi)
    leave = between("exit_rad", exit_rad, 0.0, np.pi)
    if np.any(leave < entry):
        raise ValueError("exit_rad must not come before entry_rad")
    tooth = not_negative("feed_per_tooth_mm", feed_per_tooth_mm)
    ahead = (entry <= np.pi / 2.0) & (leave >= np.pi / 2.0)
    return result(tooth * np.where(ahead, 1.0, np.maximum(np.sin(entry), np.sin(leave))))


def centred_mean_chip_mm(
    feed_per_tooth_mm: Numbers,
    radial_width_mm: Numbers,
    diameter_mm: Numbers,
    lead_angle_deg: Numbers = 90.0,
) -> Result:
    """Give the mean chip of a face cut with the cutter centred on the width.

    Parameters
    ----------
    feed_per_tooth_mm : float or array
        Feed per tooth fz [mm].
    radial_width_mm, diameter_mm : float or array
        Width of the cut ae and cutter diameter D [mm].
    lead_angle_deg : float or array
        Angle kappa of the main edge against the machined face; 90 for a square shoulder [deg].

    Returns
    -------
    float or array
        sin(kappa) fz (ae/D) / arcsin(ae/D) [mm].

    Raises
    ------
    ValueError
        If an argument is not finite or out of range, or ae exceeds D.

    Examples
    --------
    >>> round(centred_mean_chip_mm(0.1, 22.0, 22.0), 4)
    0.0637

    References
    ----------
    Dijet, catalogue 2018, p. F007.
    """
    ratio = _ratio(radial_width_mm, diameter_mm)
    kappa = np.radians(between("lead_angle_deg", lead_angle_deg, 0.0, 90.0, open_low=True))
    tooth = not_negative("feed_per_tooth_mm", feed_per_tooth_mm)
    return result(np.sin(kappa) * tooth * ratio / np.arcsin(np.minimum(ratio, 1.0)))


def lead_angle_feed_mm(chip_mm: Numbers, lead_angle_deg: Numbers) -> Result:
    """Give the feed per tooth that makes a chip thickness on an inclined edge: fz = h / sin(kappa).

    Parameters
    ----------
    chip_mm : float or array
        Chip thickness h [mm].
    lead_angle_deg : float or array
        Angle kappa of the edge against the machined face [deg].

    Returns
    -------
    float or array
        Feed per tooth fz [mm].

    Raises
    ------
    ValueError
        If an argument is not finite or out of range.

    Examples
    --------
    >>> round(lead_angle_feed_mm(0.08, 42.0), 2)
    0.12

    References
    ----------
    Stellram, catalogue, p. 87.
    """
    kappa = np.radians(between("lead_angle_deg", lead_angle_deg, 0.0, 90.0, open_low=True))
    return result(not_negative("chip_mm", chip_mm) / np.sin(kappa))


def slab_max_chip_mm(
    feed_mm_min: Numbers, speed_rpm: Numbers, flutes: Numbers, depth_mm: Numbers, diameter_mm: Numbers
) -> Result:
    """Give the largest chip of slab milling: (2 f / (N z)) sqrt(t/D), for a depth t small against D.

    Parameters
    ----------
    feed_mm_min : float or array
        Table feed f [mm/min].
    speed_rpm : float or array
        Spindle speed N [rev/min].
    flutes : int or array
        Number of teeth z [-].
    depth_mm, diameter_mm : float or array
        Depth of cut t, radial to the cutter, and cutter diameter D [mm].

    Returns
    -------
    float or array
        Largest chip thickness [mm].

    Raises
    ------
    ValueError
        If an argument is not finite or out of range, or t exceeds D.

    Notes
    -----
    Leaves out the factor sqrt(1 - t/D) of :func:`max_chip_mm`; the two agree for t much smaller than D.

    Examples
    --------
    >>> round(slab_max_chip_mm(100.0, 60.0, 10, 5.0, 75.0), 4)
    0.0861

    References
    ----------
    A. Ghosh, A. K. Mallik, Manufacturing Science, chapter 4, examples 4.15 and 4.16.
    """
    teeth = whole("flutes", flutes) * positive("speed_rpm", speed_rpm)
    ratio = _ratio(depth_mm, diameter_mm)
    return result(2.0 * not_negative("feed_mm_min", feed_mm_min) / teeth * np.sqrt(ratio))


def least_chip_mm(edge_radius_um: Numbers, ratio: Numbers) -> Result:
    """Give the chip thickness below which an edge rubs and ploughs: a share of its edge radius.

    Parameters
    ----------
    edge_radius_um : float or array
        Cutting-edge radius [um].
    ratio : float or array
        Smallest chip over edge radius [-].

    Returns
    -------
    float or array
        Smallest chip that is cut [mm].

    Raises
    ------
    ValueError
        If an argument is not finite or not positive.

    Notes
    -----
    Published ratios are 0.14 to 0.43 over many materials; a worn edge has several times the radius.

    Examples
    --------
    >>> round(least_chip_mm(5.0, 0.35), 5)
    0.00175

    References
    ----------
    Cheng et al., International Journal of Advanced Manufacturing Technology 97 (2018) 3119 (abstract).
    """
    return result(positive("edge_radius_um", edge_radius_um) * positive("ratio", ratio) / 1000.0)


def tooth_radii_mm(runout_mm: float, flutes: int, phase_rad: float = 0.0) -> FloatArray:
    """Give by how much each tooth stands out when the cutter turns off its axis.

    Parameters
    ----------
    runout_mm : float
        Total indicator reading, twice the offset of the axes [mm].
    flutes : int
        Number of teeth, evenly spread over the turn [-].
    phase_rad : float
        Angle of the offset from the first tooth [rad].

    Returns
    -------
    array of shape (flutes,)
        Radius of each tooth minus the mean radius [mm].

    Raises
    ------
    ValueError
        If an argument is not finite or out of range.

    Notes
    -----
    Parallel offset only; tilt of the axis is not in it.

    Examples
    --------
    >>> tooth_radii_mm(0.02, 2).tolist()
    [0.01, -0.01]

    References
    ----------
    W. A. Kline, R. E. DeVor, International Journal of Machine Tool Design and Research 23 (1983) 123
    (model from memory).
    """
    offset = float(not_negative("runout_mm", runout_mm)) / 2.0
    count = int(whole("flutes", flutes))
    angles = 2.0 * np.pi * np.arange(count) / count + float(finite("phase_rad", phase_rad))
    return np.asarray(offset * np.cos(angles), dtype=np.float64)


def runout_chips_mm(feed_per_tooth_mm: Numbers, runout_mm: Numbers, flutes: Numbers) -> tuple[Result, Result]:
    """Give the thinnest and thickest share of the feed that one tooth of a turn takes under run-out.

    Parameters
    ----------
    feed_per_tooth_mm : float or array
        Feed per tooth fz, the mean over the teeth [mm].
    runout_mm : float or array
        Total indicator reading at the cutting edges [mm].
    flutes : int or array
        Number of teeth z [-].

    Returns
    -------
    tuple of float or array
        Least and most feed one tooth takes [mm]; they add up with the others to fz z.

    Raises
    ------
    ValueError
        If an argument is not finite or out of range.

    Notes
    -----
    The worst angle of the offset is taken for each number of teeth. A tooth that reaches no material leaves
    its share to the next ones, so with enough run-out one tooth takes the whole feed per turn. A single
    tooth takes the whole feed whatever the run-out.

    Examples
    --------
    >>> [round(chip, 3) for chip in runout_chips_mm(0.03, 0.02, 2)]
    [0.01, 0.05]
    >>> [round(chip, 3) for chip in runout_chips_mm(0.03, 0.05, 2)]
    [0.0, 0.06]

    References
    ----------
    W. A. Kline, R. E. DeVor, International Journal of Machine Tool Design and Research 23 (1983) 123
    (model from memory).
    """
    tooth = not_negative("feed_per_tooth_mm", feed_per_tooth_mm)
    reading = not_negative("runout_mm", runout_mm)
    teeth = whole("flutes", flutes)
    shape = np.broadcast_shapes(tooth.shape, reading.shape, teeth.shape)
    least = np.empty(shape)
    most = np.empty(shape)
    for place in np.ndindex(shape):
        feed, tir, count = (float(np.broadcast_to(a, shape)[place]) for a in (tooth, reading, teeth))
        least[place], most[place] = _worst_share(feed, tir, int(count))
    return result(least), result(most)


_PHASES = 48  # [-] angles of the offset tried over one tooth pitch; includes the extremes of 1 to 12 teeth


def _worst_share(feed: float, reading: float, count: int) -> tuple[float, float]:
    if count == 1 or reading == 0.0:
        return feed, feed
    phases = np.linspace(0.0, 2.0 * np.pi / count, _PHASES, endpoint=False)
    chips = np.concatenate([tooth_shares_mm(feed, tooth_radii_mm(reading, count, p)) for p in phases])
    return float(chips.min()), float(chips.max())


def tooth_shares_mm(feed_per_tooth_mm: float, radii_mm: FloatArray) -> FloatArray:
    """Give the thickness each tooth takes straight ahead when the teeth stand out by different amounts.

    Parameters
    ----------
    feed_per_tooth_mm : float
        Feed between two teeth [mm].
    radii_mm : array of shape (flutes,)
        How far each tooth stands out, in the order in which they cut [mm].

    Returns
    -------
    array of shape (flutes,)
        Chip of each tooth: the smallest of k fz + r_i - r_(i-k) over the teeth before it, at least 0 [mm].

    Raises
    ------
    ValueError
        If an argument is not finite or out of range.

    Examples
    --------
    >>> tooth_shares_mm(0.03, np.array([0.01, -0.01])).round(3).tolist()
    [0.05, 0.01]

    References
    ----------
    W. A. Kline, R. E. DeVor, International Journal of Machine Tool Design and Research 23 (1983) 123
    (model from memory).
    """
    feed = float(not_negative("feed_per_tooth_mm", feed_per_tooth_mm))
    radii = finite("radii_mm", radii_mm)
    back = range(1, len(radii) + 1)
    chips = np.min([k * feed + radii - np.roll(radii, k) for k in back], axis=0)
    return np.asarray(np.maximum(chips, 0.0), dtype=np.float64)
