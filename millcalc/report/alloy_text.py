"""What an unknown metal may be, and the band of settings over what it may be, for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from millcalc.check.cautions import FOOTER
from millcalc.report.printer import Printer
from millcalc.units_show import System, show_depth, show_feed, show_length, show_speed

if TYPE_CHECKING:
    from rich.console import Console

    from millcalc.advise.band import SettingsBand
    from millcalc.advise.identify import Identified
    from millcalc.advise.result import Advice, Settings

_VERDICTS = {
    "refuse": "DO NOT CUT IT: by these tests it may be {}",
    "weigh": "magnesium is not excluded yet: do not cut it before it is weighed",
    "nothing": "no metal of the table fits: measured wrong, hollow, painted, or not a metal; do not cut it yet",
    "unclear": "it may be {}: test on before it is cut",
    "known": "by these tests it can only be {}",
}


def print_identified(console: Console, found: Identified, cautions: dict[str, str]) -> None:
    """Print what a piece may be, why, and what to test next.

    console: Where to print.
    found: What is left.
    cautions: Caution texts by key.
    """
    say = Printer(console, 2).say
    density = found.answers.density_kg_m3
    if density is not None:
        low, read, high = (value / 1000 for value in density)
        say(f"density {read:.2f} g/cm³; the readings allow {low:.2f} to {high:.2f}", 0)
    families = list(found.families.values())
    if found.verdict == "refuse":
        refused = [metal for metal in families if metal.verdict == "refuse"]
        families = refused + [metal for metal in families if metal.verdict != "refuse"]
        names = " or ".join(metal.title for metal in refused)
    else:
        names = " or ".join(metal.title for metal in families)
    style = "bold red" if found.verdict in ("refuse", "weigh", "nothing") else "bold"
    say(_VERDICTS[found.verdict].format(names), 0, style)
    shown = families if density is not None else [one for one in families if one.verdict == "refuse"]
    for metal in shown:
        band = metal.density_kg_m3
        say(f"{metal.title}, {band.low / 1000:.2f} to {band.high / 1000:.2f} g/cm³: {metal.text}")
    for reason in found.reasons:
        say("· " + reason)
    if found.materials:
        say("rows of the tables left: " + ", ".join(found.materials))
        if found.verdict == "unclear":
            cut = " or ".join(metal.title for metal in families if metal.verdict == "cut")
            say(f"these hold only if it is {cut}; for the rest the tables have no numbers", style="bold")
    if found.next_tests:
        say("")
        say("What would tell more", 0, "bold")
        for test in found.next_tests:
            say("· " + test)
    say("")
    say("Care", 0, "bold")
    for key in ("eyes", "unknown-metal", "metal-fire"):
        if key in cautions:
            say("! " + cautions[key])
    say(
        "densities from memory: handbook values, not looked up again; answers of the other tests: common practice, "
        "no source"
    )
    if not found.materials:
        say(FOOTER)


def band_data(band: SettingsBand) -> dict[str, Any]:
    """A band as JSON-ready data; lengths in mm, feeds in mm/min, speeds in rev/min.

    band: The band.
    Returns: ``rows``, shallowest first, and ``common`` settings with the material that holds them back, or
      None.
    """
    rows = [
        {
            "material": row.material,
            "fits": row.fits,
            "governing": row.governing,
            "speed_rpm": row.point.speed_rpm if row.point is not None else None,
            "feed_mm_min": row.feed_mm_min if row.point is not None else None,
            "axial_depth_mm": row.point.depth_mm if row.point is not None else None,
            "radial_width_mm": row.point.width_mm if row.point is not None else None,
        }
        for row in band.rows
    ]
    if band.common is None:
        return {"rows": rows, "common": None}
    settings = band.common.settings
    common = {
        "speed_rpm": settings.speed_rpm,
        "dial_mark": settings.dial_mark,
        "feed_mm_min": settings.feed_mm_min,
        "axial_depth_mm": settings.axial_depth_mm,
        "radial_width_mm": settings.radial_width_mm,
        "governing_material": band.governing,
    }
    return {"rows": rows, "common": common}


def print_band(
    console: Console, band: SettingsBand, cut: str, units: System = "mm", advised: Advice | None = None
) -> None:
    """Print the settings over several materials, and those that hold in all.

    console: Where to print.
    band: The band.
    cut: Kind of cut.
    units: ``mm`` or ``in``.
    advised: What was advised for the unknown alloy itself, to be compared.
    """
    page = Printer(console, 2)
    page.head(f"The band over what it may be ({cut}, each row computed)")
    _rows(page, band, units)
    if band.common is None:
        over = [row.material for row in band.rows if not row.fits]
        what = f"no cut holds in {', '.join(over)}" if over else "no one setting holds in all of them"
        page.say(f"{what}: find out which alloy it is before you cut (millcalc alloy)", 2, "bold")
        return
    settings = band.common.settings
    _common(page, band, cut, settings, units)
    if advised is not None and settings.axial_depth_mm < advised.settings.axial_depth_mm * (1 - 1e-9):
        page.say(
            f"! less deep than the advice above ({show_depth(advised.settings.axial_depth_mm, units)}), which the "
            f"cautious row for an unknown alloy gives: {band.governing} asks for more reserve. Take the lower"
        )
    if advised is not None:
        page.say("to tell them apart: millcalc alloy; to find out by cutting scrap: millcalc proof")


def _rows(page: Printer, band: SettingsBand, units: System) -> None:
    """The table: one material a row."""
    numbers = [(name, "right wrap") for name in ("depth", "feed", "spindle")]
    table = page.table([("alloy", "left wrap"), *numbers, ("held by", "left wrap")])
    for row in band.rows:
        if row.point is None or not row.fits:
            held = row.governing if row.point is None else f"over: {row.governing}"
            page.row(table, (row.material, "-", "-", "-", held))
            continue
        depth, speed = show_depth(row.point.depth_mm, units), show_speed(row.point.speed_rpm)
        page.row(table, (row.material, depth, show_feed(row.feed_mm_min, units), speed, row.governing))
    page.show(table)


def _common(page: Printer, band: SettingsBand, cut: str, settings: Settings, units: System) -> None:
    """How far the rows lie apart, and what holds in all of them."""
    say = page.say
    low, high = band.depths_mm or (settings.axial_depth_mm, settings.axial_depth_mm)
    if high > low * (1 + 1e-9):
        say(f"depth from {show_depth(low, units)} to {show_depth(high, units)}: a factor of {high / low:.1f}")
    else:
        say(f"the same depth in all of them: {show_depth(low, units)}")
    width = (
        "" if cut in ("slot", "ramp", "helix") else f", width {show_length(settings.radial_width_mm, units)}"
    )
    say(
        f"Set, while the alloy is unknown: {show_speed(settings.speed_rpm)}"
        + (f" (dial at {settings.dial_mark})" if settings.dial_mark else "")
        + f", {show_feed(settings.feed_mm_min, units)}, depth {show_depth(settings.axial_depth_mm, units)}{width}",
        2,
        "bold",
    )
    say(f"judged in every row: each limit holds with its first-cut reserve; {band.governing} holds it back")
