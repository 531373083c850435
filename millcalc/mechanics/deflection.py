"""Bending of the cutter as a stepped cantilever, the machine's give, and the stress at the weak sections.

The fluted length counts as a round bar of 0.8 times the cutting diameter, the shank as a full round bar; the
bar is held rigidly at the collet face. Compliances of cutter, collet and machine add up like springs in series.
"""

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
)

FLUTE_DIAMETER_RATIO = 0.8
"""Diameter of the bar that bends like the fluted length, over the cutting diameter [-]; Kops and Vo 1990."""


def second_moment_mm4(diameter_mm: Numbers) -> Result:
    """Give the second moment of area of a round bar: pi d^4 / 64.

    diameter_mm: Diameter of the bar [mm].
    Returns: Second moment of area [mm4].
    Raises ValueError: If the diameter is not finite or not positive.

    >>> round(second_moment_mm4(4.8), 2)
    26.06

    Source: Beam theory.
    """
    return result(np.pi * positive("diameter_mm", diameter_mm) ** 4 / 64.0)


def _segments(
    diameter_mm: Numbers,
    flute_length_mm: Numbers,
    shank_mm: Numbers,
    stickout_mm: Numbers,
    flute_diameter_ratio: Numbers,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Equivalent flute diameter, shank diameter, flute length outside the collet, and stickout."""
    ratio = between("flute_diameter_ratio", flute_diameter_ratio, 0.0, 1.0, open_low=True)
    flute = positive("diameter_mm", diameter_mm) * ratio
    stickout = positive("stickout_mm", stickout_mm)
    length = np.minimum(positive("flute_length_mm", flute_length_mm), stickout)
    return flute, positive("shank_mm", shank_mm), length, stickout


def cutter_influence_um_n(
    diameter_mm: Numbers,
    flute_length_mm: Numbers,
    shank_mm: Numbers,
    stickout_mm: Numbers,
    youngs_n_mm2: Numbers,
    flute_diameter_ratio: Numbers = FLUTE_DIAMETER_RATIO,
    load_height_mm: Numbers = 0.0,
    at_height_mm: Numbers = 0.0,
) -> Result:
    """Give how far one height of a cutter moves for a side load of 1 N at another height.

    diameter_mm, flute_length_mm, shank_mm: Cutting diameter, length of the flutes, and shank diameter [mm].
    stickout_mm: From the collet face to the tip [mm].
    youngs_n_mm2: Young's modulus [N/mm2].
    flute_diameter_ratio: Bending diameter of the flutes over the cutting diameter [-].
    load_height_mm, at_height_mm: Heights above the tip of the load and of the place that is watched [mm].
    Returns: Sideways movement for each newton [um/N].
    Raises ValueError: If an argument is not finite or out of range, or a height lies above the collet face.

    Note: Integral of (s - a)(s - b) / (E I) from the higher of the two heights to the collet, s measured
      from the tip. The run-out cone between flutes and shank counts as shank (slightly stiff); flutes that
      reach into the collet count as held at its face. Long slender bars: shear is left out (below 5 % for
      stickout above 3 D).

    >>> round(cutter_influence_um_n(6.0, 25.0, 6.0, 25.0, 600_000.0), 4)
    0.3331

    Source: Unit-load theorem of beam theory; L. Kops, D. T. Vo, CIRP Annals 39/1 (1990) for the ratio 0.8
      (doi 10.1016/S0007-8506(07)61010-5).
    """
    flute, shank, length, stickout = _segments(
        diameter_mm, flute_length_mm, shank_mm, stickout_mm, flute_diameter_ratio
    )
    load = at_most("load_height_mm", not_negative("load_height_mm", load_height_mm), "stickout_mm", stickout)
    watched = at_most("at_height_mm", not_negative("at_height_mm", at_height_mm), "stickout_mm", stickout)
    start = np.maximum(load, watched)

    def integral(s: FloatArray) -> FloatArray:
        return np.asarray(s**3 / 3.0 - (load + watched) * s**2 / 2.0 + load * watched * s)

    middle = np.maximum(start, length)
    flutes = (integral(middle) - integral(start)) / np.asarray(second_moment_mm4(flute))
    flutes = np.where(start < length, flutes, 0.0)
    shank_part = (integral(stickout) - integral(middle)) / np.asarray(second_moment_mm4(shank))
    return result(1000.0 * (flutes + shank_part) / positive("youngs_n_mm2", youngs_n_mm2))


def cutter_compliance_um_n(
    diameter_mm: Numbers,
    flute_length_mm: Numbers,
    shank_mm: Numbers,
    stickout_mm: Numbers,
    youngs_n_mm2: Numbers,
    flute_diameter_ratio: Numbers = FLUTE_DIAMETER_RATIO,
    load_height_mm: Numbers = 0.0,
) -> Result:
    """Give how far the tip of a cutter bends for a side load of 1 N.

    diameter_mm, flute_length_mm, shank_mm: Cutting diameter, length of the flutes, and shank diameter [mm].
    stickout_mm: From the collet face to the tip [mm].
    youngs_n_mm2: Young's modulus [N/mm2].
    flute_diameter_ratio: Bending diameter of the flutes over the cutting diameter [-].
    load_height_mm: Height of the load above the tip; half the axial depth for an even cut, 0 to be careful
      [mm].
    Returns: Movement of the tip for each newton [um/N].
    Raises ValueError: If an argument is not finite or out of range, or the load lies above the collet face.

    Note: See :func:`cutter_influence_um_n` for the assumptions.

    >>> round(50.0 * cutter_compliance_um_n(6.0, 25.0, 6.0, 25.0, 600_000.0), 2)
    16.66

    Source: Beam theory; L. Kops, D. T. Vo, CIRP Annals 39/1 (1990) for the ratio 0.8 (doi
      10.1016/S0007-8506(07)61010-5).
    """
    return cutter_influence_um_n(
        diameter_mm,
        flute_length_mm,
        shank_mm,
        stickout_mm,
        youngs_n_mm2,
        flute_diameter_ratio,
        load_height_mm,
    )


def root_stress_n_mm2(
    force_n: Numbers,
    diameter_mm: Numbers,
    flute_length_mm: Numbers,
    shank_mm: Numbers,
    stickout_mm: Numbers,
    flute_diameter_ratio: Numbers = FLUTE_DIAMETER_RATIO,
    load_height_mm: Numbers = 0.0,
) -> Result:
    """Give the larger bending stress of the two weak sections: collet face, and step from flutes to shank.

    force_n: Side force [N].
    diameter_mm, flute_length_mm, shank_mm: Cutting diameter, length of the flutes, and shank diameter [mm].
    stickout_mm: From the collet face to the tip [mm].
    flute_diameter_ratio: Bending diameter of the flutes over the cutting diameter [-].
    load_height_mm: Height of the load above the tip [mm].
    Returns: Nominal bending stress 32 M / (pi d^3); no notch factor [N/mm2].
    Raises ValueError: If an argument is not finite or out of range, or the load lies above the collet face.

    Note: The flute root raises the true stress 1.5 to 2 times (estimate); shock and packed chips break most
      small cutters, not this steady bending.

    >>> round(root_stress_n_mm2(50.0, 6.0, 25.0, 6.0, 25.0))
    115

    Source: Beam theory; L. Kops, D. T. Vo, CIRP Annals 39/1 (1990) for the ratio 0.8 (doi
      10.1016/S0007-8506(07)61010-5).
    """
    flute, shank, length, stickout = _segments(
        diameter_mm, flute_length_mm, shank_mm, stickout_mm, flute_diameter_ratio
    )
    force = not_negative("force_n", force_n)
    load = at_most("load_height_mm", not_negative("load_height_mm", load_height_mm), "stickout_mm", stickout)
    at_step = _bar_stress(force * np.maximum(length - load, 0.0), flute)
    has_shank = stickout > length * (1.0 + 1e-12)
    at_collet = _bar_stress(force * (stickout - load), np.where(has_shank, shank, flute))
    return result(np.maximum(at_step, at_collet))


def _bar_stress(moment_n_mm: FloatArray, diameter: FloatArray) -> FloatArray:
    return np.asarray(32.0 * moment_n_mm / (np.pi * diameter**3))


def machine_compliance_um_n(
    stiffness_n_um: Numbers,
    stated_drop_mm: Numbers,
    drop_mm: Numbers,
    base: Numbers,
    rotary: Numbers,
    bending: Numbers,
) -> Result:
    """Give how far the machine gives for 1 N at a drop other than the one its stiffness was stated for.

    stiffness_n_um: Static stiffness at the stated drop [N/um].
    stated_drop_mm, drop_mm: Drop at which the stiffness holds, and drop of this job [mm].
    base, rotary, bending: Shares of the compliance that stay, grow with the square, and with the cube of
      the drop [-].
    Returns: Compliance (base + rotary r^2 + bending r^3) / k with r = drop / stated drop [um/N].
    Raises ValueError: If an argument is not finite or out of range, or the shares do not add up to 1.

    Note: Stiffness also varies over the table; a gantry is softest in the middle of its beam.

    >>> round(machine_compliance_um_n(1.0, 120.0, 60.0, 0.25, 0.75, 0.0), 2)
    0.44

    Source: Springs of a carriage: shift, rotation (square of the arm), bending plate (cube of the arm).
    """
    shares = [between(n, v, 0.0, 1.0) for n, v in (("base", base), ("rotary", rotary), ("bending", bending))]
    if np.any(np.abs(shares[0] + shares[1] + shares[2] - 1.0) > 1e-6):
        raise ValueError("base, rotary and bending must add up to 1")
    ratio = positive("drop_mm", drop_mm) / positive("stated_drop_mm", stated_drop_mm)
    growth = shares[0] + shares[1] * ratio**2 + shares[2] * ratio**3
    return result(growth / positive("stiffness_n_um", stiffness_n_um))


def deflection_mm(force_n: Numbers, compliance_um_n: Numbers) -> Result:
    """Give the movement of a compliance under a force, with the sign of the force.

    force_n: Force [N].
    compliance_um_n: Compliance [um/N].
    Returns: Movement [mm].
    Raises ValueError: If an argument is not finite, or the compliance is negative.

    >>> deflection_mm(50.0, 0.4)
    0.02

    Source: Hooke's law.
    """
    return result(finite("force_n", force_n) * not_negative("compliance_um_n", compliance_um_n) / 1000.0)
