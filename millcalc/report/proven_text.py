"""The settings that follow from a proof strip."""

from __future__ import annotations

from typing import TYPE_CHECKING

from millcalc.advise.proof_result import Proven
from millcalc.check.cautions import FOOTER, caution_keys
from millcalc.report.printer import Printer
from millcalc.tables.models import Material
from millcalc.units_show import (
    System,
    show_angle,
    show_chip_load,
    show_depth,
    show_feed,
    show_length,
    show_speed,
)

if TYPE_CHECKING:
    from rich.console import Console


def print_proven(
    console: Console,
    proven: Proven,
    cautions: dict[str, str],
    material: Material | None = None,
    units: System = "mm",
) -> None:
    """Print the settings that follow from a strip.

    console: Where to print.
    proven: The result.
    cautions: Caution texts by key.
    material: The work material, for its cautions; None when the tables no longer hold it.
    units: ``mm`` or ``in``.
    """
    page = Printer(console, 2)

    record, say = proven.record, page.say
    say(f"{record.cutter_title} in {record.material_title}, on {record.machine_title}", 0, "bold")
    stickout, drop = show_length(record.stickout_mm, units), show_length(record.drop_mm, units)
    say(f"slot · stickout {stickout} · drop {drop}")
    page.head("Set")
    page.grid(_set_rows(proven, units))
    page.head("Why")
    _why(page, proven, units)
    page.head("Know before you trust this")
    for text in (
        f"proven for straight slots of {show_length(proven.step.length_mm, units)} with this cutter as sharp as it "
        "was, this stickout, hold-down and cooling: a blunt cutter, corners, a longer cut that warms up, or a "
        "thinner or looser plate need more reserve",
        "one run is one run: log how the next cuts go, the margins follow from many",
        "every limit with its share: millcalc settings --proven with these numbers",
    ):
        say("· " + text)
    page.head("Care")
    for key in caution_keys(material):
        if key in cautions:
            say("! " + cautions[key])
    say(FOOTER)


def _set_rows(proven: Proven, units: System) -> tuple[tuple[str, str, str], ...]:
    """What to type and turn: name, value, remark."""
    settings = proven.step.settings
    dial = f"dial at {settings.dial_mark}" if settings.dial_mark else ""
    plunge = show_feed(settings.plunge_feed_mm_min, units) if settings.plunge_allowed else "never"
    return (
        ("spindle", show_speed(settings.speed_rpm), dial),
        (
            "feed",
            show_feed(settings.feed_mm_min, units),
            f"chip load {show_chip_load(settings.feed_per_tooth_mm, units)}",
        ),
        ("depth a pass (ap)", show_depth(proven.depth_mm, units), ""),
        ("width (ae)", show_length(settings.radial_width_mm, units), "full width"),
        (
            "ramp in",
            show_angle(settings.ramp_angle_deg),
            f"at {show_feed(settings.ramp_feed_mm_min, units)} along the ramp",
        ),
        ("straight plunge", plunge, ""),
    )


def _why(page: Printer, proven: Proven, units: System) -> None:
    """Which step, how much it gains, and how near the limits it comes."""
    record, say = proven.record, page.say
    say(proven.reason)
    say(
        f"best: step {proven.best.number} ({proven.what_rises(proven.best, units)})"
        + (
            f"; failed: step {proven.failed.number} ({proven.what_rises(proven.failed, units)})"
            if proven.failed is not None
            else ""
        )
    )
    before = record.first_cut
    say(
        f"before the proof: depth {show_depth(before.axial_depth_mm, units)} at "
        f"{show_feed(before.feed_mm_min, units)}, with a reserve for what was not known; now "
        f"{proven.gain:.2g} times its removal"
        + (
            ": this ladder kept the depth low; raise it with --ladder depth --feed and this feed"
            if record.ladder == "chip"
            else ""
        )
    )
    if record.ladder == "depth" and proven.depth_mm < before.axial_depth_mm:
        bad = proven.failed
        if bad is not None and bad.settings.axial_depth_mm <= before.axial_depth_mm * (1 + 1e-9):
            say(
                "! it failed where it was computed to hold: machine, cutter or hold-down are weaker than the "
                "tables say. millcalc adjust helps to find which"
            )
        else:
            say("less deep than the advice before the proof: what is set is what was seen to run")
    say(
        f"computed shares of the limits that grow with depth, at step {proven.step.number}: "
        + ", ".join(f"{limit.title} {100 * limit.share:.0f} %" for limit in proven.depth_limits[:3])
    )
