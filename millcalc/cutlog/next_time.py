"""What an entry of the log changes: the advice for the same cut before and after it, in one line."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from millcalc.advise.result import Advice
    from millcalc.cutlog.models import Entry
    from millcalc.cutlog.store import Log
    from millcalc.units_show import System


def next_settings(log: Log, known: Mapping[str, Any]) -> Advice | None:
    """The advice for the cut of an entry with what the log teaches now.

    log: Open log.
    known: Fields of the entry.
    Returns: None where machine, material or cutter are in no table, or the cut is not one that is advised.
    """
    from millcalc.advise.advice import advise
    from millcalc.cutlog.predict import operation_of, tooling_of
    from millcalc.cutlog.taught import taught_by
    from millcalc.errors import InputError, TableError
    from millcalc.limits.request import CutRequest
    from millcalc.tables import load_cutter

    try:
        cutter = load_cutter(str(known["cutter"]))
        kind = operation_of(known, cutter.diameter_mm)
        if kind not in ("slot", "side", "face"):
            return None
        tooling = tooling_of(known, cutter)
        width = None if kind == "slot" else known.get("radial_width_mm")
        request = CutRequest(kind, radial_width_mm=width)  # type: ignore[arg-type]
        return advise(taught_by(log, tooling, cut=kind)[0], request, buys=False)
    except (KeyError, InputError, TableError):
        return None


def next_time(entry: Entry, before: Advice | None, after: Advice | None, units: System) -> str:
    """One line: what the next advice for this cut says, and what it said before.

    entry: What was logged.
    before, after: Advice before and after the entry.
    units: ``mm`` or ``in``.
    """
    from millcalc.units_show import show_depth, show_feed

    if before is None or after is None:
        return "counted; this kind of cut has no advice of its own"
    if after.tooling.margins.measure:
        return f"next time: no advice before the machine was measured ({after.tooling.margins.measure})"
    old, new = before.settings, after.settings
    deep, fed = (
        (show_depth(s.axial_depth_mm, units) for s in (new, old)),
        (show_feed(s.feed_mm_min, units) for s in (new, old)),
    )
    (depth, was_depth), (feed, was_feed) = deep, fed
    if depth != was_depth:
        at = f" at {feed}" + (f" instead of {was_feed}" if feed != was_feed else "")
        return f"next time: {depth} instead of {was_depth}{at} ({after.governing.title} holds it)"
    if feed != was_feed:
        return f"next time: {feed} instead of {was_feed}, {depth} deep as before"
    stays = f"the advice stays at {depth} and {feed}"
    if entry.outcome == "failed":
        return f"next time: {stays}, " + (
            "less than what failed"
            if (entry.axial_depth_mm or 0.0) > new.axial_depth_mm
            else "see `millcalc adjust`"
        )
    return f"counted; {stays}"
