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


def clamp_force_n(
    lateral_force_n: Numbers,
    lift_force_n: Numbers,
    friction: Numbers,
    safety: Numbers,
    friction_faces: Numbers = 1.0,
) -> Result:
    """Give the clamping force that holds the work by friction: S (F / (m mu)) + S F_up.

    lateral_force_n: Peak force along the table F [N].
    lift_force_n: Peak force that lifts the work F_up; 0 when it is pressed down [N].
    friction: Coefficient of friction mu [-].
    safety: Safety factor S, at least 1 [-].
    friction_faces: Faces m that hold; 2 only when the clamp itself is stiff sideways [-].
    Returns: Sum of the clamping forces [N].
    Raises ValueError: If an argument is not finite or out of range.

    >>> round(clamp_force_n(60.0, 20.0, 0.3, 2.5))
    550

    Source: Coulomb friction; safety factors are common practice, no source.
    """
    margin = between("safety", safety, 1.0, 100.0)
    grip = positive("friction", friction) * between("friction_faces", friction_faces, 1.0, 2.0)
    lift = not_negative("lift_force_n", lift_force_n)
    return result(margin * (not_negative("lateral_force_n", lateral_force_n) / grip + lift))


def screw_withdrawal_n(
    specific_gravity: Numbers, diameter_mm: Numbers, thread_length_mm: Numbers, panel_factor: Numbers = 1.0
) -> Result:
    """Give the force that pulls a wood screw out of side grain: 108.25 G^2 D L.

    specific_gravity: Specific gravity G of the wood, oven-dry weight on volume at 12 % moisture [-].
    diameter_mm, thread_length_mm: Shank diameter D and length L of the thread in the wood [mm].
    panel_factor: Share that remains in a board material or in end grain; about 0.3 in MDF, 0.75 in end
      grain [-].
    Returns: Ultimate withdrawal load; use a fifth of it under vibration [N].
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


def friction_hold_n(clamp_force_n: Numbers, friction: Numbers, safety: Numbers) -> Result:
    """Give the side force that a clamping force holds by friction: mu F / S.

    clamp_force_n: Clamping force F [N].
    friction: Coefficient of friction mu [-].
    safety: Safety factor S, at least 1 [-].
    Returns: Side force held [N].
    Raises ValueError: If an argument is not finite or out of range.

    >>> round(friction_hold_n(1800.0, 0.3, 1.0))
    540

    Source: Coulomb friction.
    """
    grip = positive("friction", friction) * not_negative("clamp_force_n", clamp_force_n)
    return result(grip / between("safety", safety, 1.0, 100.0))


def vacuum_force_n(pressure_difference_kpa: Numbers, area_mm2: Numbers) -> Result:
    """Give the force with which vacuum presses the work down: dp A.

    pressure_difference_kpa: Pressure below the air outside, at most 101.4 [kPa].
    area_mm2: Area under vacuum [mm2].
    Returns: Force [N]; sideways only friction times this holds.
    Raises ValueError: If an argument is not finite or out of range, or the pressure exceeds that of the
      air.

    >>> round(vacuum_force_n(80.0, 150.0 * 150.0))
    1800

    Source: Definition of pressure.
    """
    # 15 psi = 103.42 kPa is the round figure in trade texts, so the limit sits just above it
    pressure = between("pressure_difference_kpa", pressure_difference_kpa, 0.0, 103.5)
    return result(pressure * not_negative("area_mm2", area_mm2) / 1000.0)


def tape_hold_n(shear_strength_n_mm2: Numbers, area_mm2: Numbers, safety: Numbers) -> Result:
    """Give the side force that double-sided tape or glue holds: tau A / S.

    shear_strength_n_mm2: Shear strength tau of the joint; falls with heat [N/mm2].
    area_mm2: Area that sticks [mm2].
    safety: Safety factor S, at least 1 [-].
    Returns: Side force held; lifting peels the joint off at far less [N].
    Raises ValueError: If an argument is not finite or out of range.

    >>> round(tape_hold_n(0.09, 1000.0, 3.0))
    30

    Source: Definition of shear stress.
    """
    strength = not_negative("shear_strength_n_mm2", shear_strength_n_mm2) * not_negative("area_mm2", area_mm2)
    return result(strength / between("safety", safety, 1.0, 100.0))


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


def tab_bending_n_mm2(
    force_per_tab_n: Numbers, gap_mm: Numbers, thickness_mm: Numbers, width_mm: Numbers
) -> Result:
    """Give the bending stress in one tab that is pushed along the outline: 6 F l / (t w^2).

    force_per_tab_n: Load on one tab F [N].
    gap_mm: Length l of the tab, the width of the kerf [mm].
    thickness_mm, width_mm: Thickness t, and width w along the outline [mm].
    Returns: Bending stress [N/mm2].
    Raises ValueError: If an argument is not finite or out of range.

    Note: Bar fixed at one end and free at the other: high by up to a factor of two for a stiff part.

    >>> tab_bending_n_mm2(25.0, 6.0, 2.5, 5.0)
    14.4

    Source: Beam theory.
    """
    moment = not_negative("force_per_tab_n", force_per_tab_n) * not_negative("gap_mm", gap_mm)
    return result(
        6.0 * moment / (positive("thickness_mm", thickness_mm) * positive("width_mm", width_mm) ** 2)
    )


def plate_flexure_mm(
    force_n: Numbers,
    span_mm: Numbers,
    youngs_n_mm2: Numbers,
    width_mm: Numbers,
    thickness_mm: Numbers,
    fixed_ends: bool = False,
) -> Result:
    """Give how far a strip lifts halfway between two hold-downs: F L^3 / (48 E b t^3/12).

    force_n: Force in the middle [N].
    span_mm: Distance L of the hold-downs [mm].
    youngs_n_mm2: Young's modulus [N/mm2].
    width_mm, thickness_mm: Width b of the strip and thickness t of the plate [mm].
    fixed_ends: True when both ends are clamped flat: a quarter of the movement.
    Returns: Movement in the middle [mm].
    Raises ValueError: If an argument is not finite or out of range.

    Note: A strip, not a plate held all round; careful (high) for a plate with neighbours on all sides.

    >>> round(plate_flexure_mm(20.0, 150.0, 70_000.0, 100.0, 3.0), 2)
    0.09

    Source: Beam theory.
    """
    second_moment = positive("width_mm", width_mm) * positive("thickness_mm", thickness_mm) ** 3 / 12.0
    stiffness = (192.0 if fixed_ends else 48.0) * positive("youngs_n_mm2", youngs_n_mm2) * second_moment
    return result(not_negative("force_n", force_n) * not_negative("span_mm", span_mm) ** 3 / stiffness)


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
