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


def friction_hold_n(normal_n: Numbers, friction: Numbers, faces: Numbers = 1.0) -> Result:
    """Give the side force that friction holds: faces mu N.

    normal_n: Force N that presses each face [N].
    friction: Coefficient of friction mu [-].
    faces: Number of faces that rub; 2 between vice jaws or between a side clamp and its stop [-].
    Returns: Side force at which it slips [N].
    Raises ValueError: If an argument is not finite or out of range.

    Note: Dry, clean faces; oil and chips take much of it.

    >>> friction_hold_n(1000.0, 0.2, 2.0)
    400.0

    Source: Law of Coulomb friction, as in mechanics textbooks.
    """
    mu = between("friction", friction, 0.0, 2.0, open_low=True)
    return result(not_negative("normal_n", normal_n) * mu * positive("faces", faces))


def vacuum_pull_n(area_mm2: Numbers, pressure_n_mm2: Numbers) -> Result:
    """Give the force with which the air presses the work down: p A.

    area_mm2: Area A under vacuum [mm2].
    pressure_n_mm2: Pressure p below that of the air [N/mm2].
    Returns: Force [N].
    Raises ValueError: If an argument is not finite or out of range; no vacuum goes beyond 0.101325 N/mm2.

    >>> vacuum_pull_n(10_000.0, 0.08)
    800.0

    Source: Definition of pressure; standard atmosphere 101.325 kPa, ISO 2533:1975.
    """
    pressure = between("pressure_n_mm2", pressure_n_mm2, 0.0, 0.101325, open_low=True)
    return result(positive("area_mm2", area_mm2) * pressure)


def shear_hold_n(area_mm2: Numbers, shear_strength_n_mm2: Numbers) -> Result:
    """Give the force along a layer, tab or skin at which it shears: tau A.

    area_mm2: Area A in shear [mm2].
    shear_strength_n_mm2: Its shear strength tau [N/mm2].
    Returns: Force [N].
    Raises ValueError: If an argument is not finite or out of range.

    >>> shear_hold_n(6000.0, 0.05)
    300.0

    Source: Definition of shear stress.
    """
    return result(positive("area_mm2", area_mm2) * positive("shear_strength_n_mm2", shear_strength_n_mm2))


def turning_hold_n_mm(side_hold_n: Numbers, area_mm2: Numbers) -> Result:
    """Give the turning moment that a square patch holds: F a (sqrt 2 + ln(1 + sqrt 2)) / 6.

    side_hold_n: Side force F that the patch holds, spread evenly [N].
    area_mm2: Area a^2 of the patch [mm2].
    Returns: Moment about its middle [N mm].
    Raises ValueError: If an argument is not finite or out of range.

    Note: The factor is the mean distance of a square's points from its middle, 0.3826 of the side; a longer
      patch of the same area holds more.

    >>> round(turning_hold_n_mm(100.0, 10_000.0))
    3826

    Source: Mean distance from the centre of a square, closed form (integral of sqrt(x^2 + y^2)).
    """
    side = np.sqrt(positive("area_mm2", area_mm2))
    mean = (np.sqrt(2.0) + np.log(1.0 + np.sqrt(2.0))) / 6.0
    return result(not_negative("side_hold_n", side_hold_n) * side * mean)


def hold_use(
    lateral_force_n: Numbers,
    lift_force_n: Numbers,
    moment_n_mm: Numbers,
    side_hold_n: Numbers,
    lift_hold_n: Numbers,
    turning_hold_n_mm: Numbers,
) -> Result:
    """Give the share of a hold that a cut uses: F / F0 + P / P0 + M / M0.

    lateral_force_n, lift_force_n: Force along the table F and lift P [N].
    moment_n_mm: Turning moment M about the hold's middle [N mm].
    side_hold_n, lift_hold_n: What it holds of each alone, F0 and P0 [N].
    turning_hold_n_mm: The moment M0 it holds alone [N mm].
    Returns: Share; above 1 it may slip [-].
    Raises ValueError: If an argument is out of range.

    Note: Exact for friction under a pull (side force within mu (N - P)). For several holds together it errs
      to the safe side, as long as one does not let go before the next one bears.

    >>> hold_use(60.0, 20.0, 0.0, 200.0, 200.0, 1.0)
    0.4

    Source: Static theorem of limit analysis: a straight line between what is held alone is always held
      (from memory).
    """
    side = not_negative("lateral_force_n", lateral_force_n) / positive("side_hold_n", side_hold_n)
    lift = not_negative("lift_force_n", lift_force_n) / positive("lift_hold_n", lift_hold_n)
    turned = not_negative("moment_n_mm", moment_n_mm) / positive("turning_hold_n_mm", turning_hold_n_mm)
    return result(side + lift + turned)


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
