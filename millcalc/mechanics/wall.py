"""Where a wall ends up when cutter and machine give way under the force across the feed."""

from __future__ import annotations

import numpy as np

from millcalc.mechanics._arrays import Numbers, Result, finite, not_negative, positive
from millcalc.mechanics.deflection import (
    CARBIDE_YOUNGS_N_MM2,
    FLUTE_DIAMETER_RATIO,
    cutter_influence_um_n,
    deflection_mm,
)


def wall_error_mm(
    across_force_n: Numbers,
    axial_depth_mm: Numbers,
    diameter_mm: Numbers,
    flute_length_mm: Numbers,
    shank_mm: Numbers,
    stickout_mm: Numbers,
    rest_compliance_um_n: Numbers,
    youngs_n_mm2: Numbers = CARBIDE_YOUNGS_N_MM2,
    flute_diameter_ratio: Numbers = FLUTE_DIAMETER_RATIO,
) -> tuple[Result, Result]:
    """Give how far a wall stands from its place at the bottom and at the top of a pass.

    across_force_n: Force across the feed while the wall is generated [N].
    axial_depth_mm: Axial depth ap; the force acts at half of it [mm].
    diameter_mm, flute_length_mm, shank_mm: Cutting diameter, length of the flutes, and shank diameter [mm].
    stickout_mm: From the collet face to the tip [mm].
    rest_compliance_um_n: Compliance of everything but the cutter, taken as a shift without tilt [um/N].
    youngs_n_mm2: Young's modulus [N/mm2].
    flute_diameter_ratio: Bending diameter of the flutes over the cutting diameter [-].
    Returns: Error at the tip (bottom of the wall) and at the top of the pass, with the sign of the force
      [mm].
    Raises ValueError: If an argument is not finite or out of range, or the depth exceeds the stickout.

    Note: Static. The difference of the two is how much the wall leans.

    >>> [round(1000 * e, 1) for e in wall_error_mm(50.0, 6.0, 6.0, 25.0, 6.0, 25.0, 1.0, 600_000.0)]
    [63.7, 59.0]

    Source: Unit-load theorem of beam theory, see :func:`cutter_influence_um_n`.
    """
    force = finite("across_force_n", across_force_n)
    depth = positive("axial_depth_mm", axial_depth_mm)
    cutter = (diameter_mm, flute_length_mm, shank_mm, stickout_mm, youngs_n_mm2, flute_diameter_ratio)
    rest = not_negative("rest_compliance_um_n", rest_compliance_um_n)
    bottom = np.asarray(cutter_influence_um_n(*cutter, depth / 2.0, 0.0)) + rest
    top = np.asarray(cutter_influence_um_n(*cutter, depth / 2.0, depth)) + rest
    return deflection_mm(force, bottom), deflection_mm(force, top)
