"""Cutters to compare with: those in the drawer, or the like of the one in hand."""

from __future__ import annotations

from millcalc.limits.tooling import Tooling
from millcalc.tables import list_names, load_cutter
from millcalc.tables.models import Cutter, Shop


def owned_names(shop: Shop | None) -> list[str]:
    """Names of the cutters in the drawer.

    shop: The user's shop.
    Returns: Cutter names; empty without a shop.
    """
    if shop is None:
        return []
    return [entry if isinstance(entry, str) else entry.cutter for entry in shop.cutters]


def other_cutters(tooling: Tooling, shop: Shop | None) -> tuple[Cutter, ...]:
    """Cutters to compare with: only owned ones with a shop, else the same form a size up or down.

    tooling: What cuts what now.
    shop: The user's shop.
    Returns: Cutters.
    """
    owned = owned_names(shop)
    if owned:
        return tuple(load_cutter(name) for name in owned)
    kind, flutes = tooling.cutter.kind, tooling.cutter.flutes
    alike = (
        [f"flat-{d}-{z}f" for d in ("3mm", "4mm", "6mm", "8mm") for z in {1, 2, flutes}]
        if kind == "flat"
        else []
    )
    known = set(list_names("cutters"))
    return tuple(load_cutter(name) for name in alike if name in known)
