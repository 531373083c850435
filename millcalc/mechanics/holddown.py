"""What holds the work: clamps, screws in wood, vacuum, tape, tabs, and how a thin plate bends between them."""

from __future__ import annotations

import numpy as np

from millcalc.mechanics._arrays import (
    FloatArray,
    Numbers,
    Result,
    between,
    finite,
    not_negative,
    positive,
    result,
)


def screw_withdrawal_n(
    specific_gravity: Numbers, diameter_mm: Numbers, thread_length_mm: Numbers, panel_factor: Numbers = 1.0
) -> Result:
    """Give the force that pulls a wood screw out of side grain: 108.25 G^2 D L.

    specific_gravity: Specific gravity G of the wood, oven-dry weight on volume at 12 % moisture [-].
    diameter_mm, thread_length_mm: Shank diameter D and length L of the thread in the wood [mm].
    panel_factor: Share that remains in a board material or in end grain; about 0.3 in MDF, 0.75 in end
      grain [-].
    Returns: Ultimate withdrawal load; use 2850 / 15 700 of it [N].
    Raises ValueError: If an argument is not finite or out of range, or G is above 1.3.

    Note: Solid wood, pre-bored to 70 % (soft) or 90 % (hard) of the root diameter, not over-tightened. The
      factors for boards are estimates.

    >>> round(screw_withdrawal_n(0.50, 4.0, 20.0))
    2165

    Source: Wood Handbook, USDA Forest Products Laboratory, FPL-GTR-282, chapter 8 (from memory).
    """
    gravity = between("specific_gravity", specific_gravity, 0.0, 1.3, open_low=True)
    size = positive("diameter_mm", diameter_mm) * not_negative("thread_length_mm", thread_length_mm)
    share = between("panel_factor", panel_factor, 0.0, 1.0, open_low=True)
    return result(108.25 * gravity**2 * size * share)


def tab_section_mm2(lateral_force_n: Numbers, shear_strength_n_mm2: Numbers, safety: Numbers) -> Result:
    """Give the total cross-section of the tabs that holds a nearly free part: S F / tau.

    lateral_force_n: Peak force along the table [N].
    shear_strength_n_mm2: Shear strength tau of the material [N/mm2].
    safety: Safety factor S, at least 1 [-].
    Returns: Width times thickness, all tabs together [mm2].
    Raises ValueError: If an argument is not finite or out of range.

    Note: A tab across short grain is far weaker than this.

    >>> tab_section_mm2(100.0, 8.0, 4.0)
    50.0

    Source: Definition of shear stress; the safety factor is common practice, no source.
    """
    load = not_negative("lateral_force_n", lateral_force_n) * between("safety", safety, 1.0, 100.0)
    return result(load / positive("shear_strength_n_mm2", shear_strength_n_mm2))


def fastener_loads_n(
    x_mm: FloatArray, y_mm: FloatArray, force_x_n: float, force_y_n: float, at_x_mm: float, at_y_mm: float
) -> FloatArray:
    """Give how a side force shares itself among equal fasteners, its turning moment included.

    x_mm, y_mm: Positions of the fasteners [mm]. (shape (n,))
    force_x_n, force_y_n: Force along the table [N].
    at_x_mm, at_y_mm: Where the force acts [mm].
    Returns: Load on each fastener along x and y [N]. (shape (n, 2))
    Raises ValueError: If an argument is not finite, the lists differ in length or are empty, or the force
      has a moment and all fasteners stand on one spot.

    Note: Rigid work, equal fasteners: even share plus a part that grows with the distance from their
      middle.

    >>> loads = fastener_loads_n(np.array([0.0, 100.0]), np.array([0.0, 0.0]), 0.0, 60.0, 100.0, 0.0)
    >>> loads[:, 1].tolist()
    [0.0, 60.0]

    Source: Elastic method for eccentrically loaded bolt groups, as in machine-design textbooks (from
      memory).
    """
    x, y = np.atleast_1d(finite("x_mm", x_mm)), np.atleast_1d(finite("y_mm", y_mm))
    if x.ndim != 1 or x.shape != y.shape or x.size == 0:
        raise ValueError("x_mm and y_mm must be lists of the same length, at least 1")
    force = np.array([float(finite("force_x_n", force_x_n)), float(finite("force_y_n", force_y_n))])
    arms = np.stack([x - x.mean(), y - y.mean()], axis=1)
    at = np.array(
        [float(finite("at_x_mm", at_x_mm)) - x.mean(), float(finite("at_y_mm", at_y_mm)) - y.mean()]
    )
    moment = at[0] * force[1] - at[1] * force[0]
    polar = float((arms**2).sum())
    share = np.broadcast_to(force / x.size, arms.shape)
    if polar == 0.0:
        if abs(moment) > 1e-9 * (1.0 + float(np.abs(force).max())):
            raise ValueError("x_mm and y_mm hold one spot only, which cannot resist the turning moment")
        return np.array(share)
    return np.asarray(share + moment / polar * np.stack([-arms[:, 1], arms[:, 0]], axis=1))
