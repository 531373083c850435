"""Force coefficients of a material: least, nominal and greatest, published or laid through a Kienzle curve."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np

from millcalc.limits import tuning
from millcalc.mechanics.linear_edge import EdgeCoefficients, edge_from_kienzle
from millcalc.tables.models import Material

EdgeSets: TypeAlias = tuple[EdgeCoefficients, EdgeCoefficients, EdgeCoefficients]


def edge_sets(material: Material, thinnest_mm: float, thickest_mm: float) -> EdgeSets:
    """Linear-edge coefficients: least, nominal and greatest force.

    material: Work material.
    thinnest_mm, thickest_mm: Chips that are cut, for materials without published milling coefficients [mm].
    Returns: Three sets, in order of force.

    Note: Published sets of one alloy differ by a factor of three, and alloys of one family by less than that: so
      all soft metals get at least one common spread about their nominal set, whether one study was published
      or five. Otherwise the alloy that was studied least would be trusted least. Wood is measured along and across
      the grain: sets of which none is marked nominal widen the range about the Kienzle value.
    """
    published = [
        EdgeCoefficients(s.ktc_n_mm2, s.krc_n_mm2, s.kac_n_mm2, s.kte_n_mm, s.kre_n_mm, s.kae_n_mm)
        for s in material.edge_sets
    ]
    marked = [c for c, s in zip(published, material.edge_sets, strict=True) if s.nominal]
    if marked:
        return _spread_about(marked[0], published)
    low, nominal, high = _from_kienzle(material, thinnest_mm, thickest_mm)
    ordered = sorted([low, high, *published], key=_resultant_at_reference)
    return ordered[0], nominal, ordered[-1]


def _spread_about(nominal: EdgeCoefficients, others: Sequence[EdgeCoefficients] = ()) -> EdgeSets:
    """A nominal set between the extremes of the common spread and of what else is known."""
    low, high = (
        nominal.scaled(1 - tuning.SOFT_METAL_SPREAD, 1 - tuning.SOFT_METAL_SPREAD),
        nominal.scaled(1 + tuning.SOFT_METAL_SPREAD, 1 + tuning.SOFT_METAL_SPREAD),
    )
    ordered = sorted([low, high, *others], key=_resultant_at_reference)
    return ordered[0], nominal, ordered[-1]


def _from_kienzle(material: Material, thinnest_mm: float, thickest_mm: float) -> EdgeSets:
    """Coefficients from the Kienzle value where no milling set is published.

    For metals the line is laid through the range the Kienzle fits were made in; in soft metals it is lowered by the
    factor by which such fits exceed milling data. For the rest it is laid through the chips that are cut.
    """
    cap = material.chip_cap_mm.value if material.chip_cap_mm else None
    soft_metal = material.family in ("aluminium", "copper alloy")
    if soft_metal or material.family == "steel":
        thinnest_mm, thickest_mm = tuning.KIENZLE_FIT_MM

    def line(kc11_n_mm2: float) -> EdgeCoefficients:
        return edge_from_kienzle(
            kc11_n_mm2,
            material.mc.value,
            cap_mm=cap,
            radial_ratio=tuning.RADIAL_RATIO,
            axial_ratio=tuning.AXIAL_RATIO,
            chip_low_mm=thinnest_mm,
            chip_high_mm=thickest_mm,
        )

    kc = material.kc11_n_mm2
    if soft_metal:
        nominal = line(kc.value).scaled(1 / tuning.KIENZLE_EXCESS, 1 / tuning.KIENZLE_EXCESS)
        # by how much the fits exceed milling was measured in aluminium; in brass and copper they may be right
        return _spread_about(nominal, () if material.family == "aluminium" else (line(kc.highest),))
    return line(kc.lowest), line(kc.value), line(kc.highest)


def _resultant_at_reference(edge: EdgeCoefficients) -> float:
    """In-plane force per millimetre of depth at a chip of 0.03 mm [N/mm]."""
    chip_mm = 0.03
    tangential = edge.ktc_n_mm2 * chip_mm + edge.kte_n_mm
    radial = edge.krc_n_mm2 * chip_mm + edge.kre_n_mm
    return float(np.hypot(tangential, radial))
