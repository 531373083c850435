"""Which cautions to show where: few, picked for this job."""

from __future__ import annotations

from millcalc.tables.models import Material

ALWAYS = ("eyes", "ears", "hands-off", "held-work", "unattended")
FOOTER = (
    "A computed aid, not a guarantee: local codes and the limits of the makers of machine, spindle, cutter and "
    "material go first. You decide, with a hand on the stop."
)

ALWAYS_SHORT = "glasses, ears, hands off; dust, fumes, fire, hot chips; never unattended"
FOOTER_SHORT = "an aid, no guarantee: local codes and the makers' limits go first; you decide"


def caution_keys(material: Material | None) -> tuple[str, ...]:
    """Keys of the cautions for a material, the usual ones first.

    material: The work material, None when unknown.
    Returns: Keys of ``cautions.yaml`` without repeats.
    """
    special = material.cautions if material is not None else ("dust-wood", "fire-wood", "chips-sharp")
    return tuple(dict.fromkeys((*ALWAYS, *special)))
