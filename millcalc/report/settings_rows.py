"""What to type and turn, row by row, as every face of an advice shows it."""

from __future__ import annotations

from dataclasses import dataclass

from millcalc.advise.result import THINNED, Advice
from millcalc.report.volumes import VOLUME, volume_time_s
from millcalc.units_show import (
    System,
    show_angle,
    show_chip,
    show_chip_load,
    show_depth,
    show_feed,
    show_feed_as_is,
    show_length,
    show_number,
    show_removal,
    show_speed,
)


@dataclass(frozen=True, slots=True)
class SettingsRow:
    """One row: its name, what to set, and a remark."""

    name: str
    value: str
    remark: str = ""


def settings_rows(advice: Advice, units: System) -> tuple[SettingsRow, ...]:
    """What to type and turn.

    advice: The answer.
    units: ``mm`` or ``in``.
    Returns: Speed, feed and depth first.
    """
    settings, cut = advice.settings, advice.request.cut
    rows: list[SettingsRow] = []

    def row(name: str, value: str, remark: str = "") -> None:
        rows.append(SettingsRow(name, value, remark))

    dial = f"dial at {settings.dial_mark}" if settings.dial_mark else ""
    row("spindle", show_speed(settings.speed_rpm), dial)
    chip = _chip_words(advice, units)
    feed = show_feed_as_is(settings.feed_mm_min, units)  # as it is set, or given
    given = show_length if "ap" in advice.given else show_depth
    if cut in ("drill", "plunge"):
        row("feed straight down", feed, chip)
        row("stroke", given(settings.axial_depth_mm, units), "then retract fully")
    else:
        names = {"ramp": "feed along the ramp", "helix": "feed of the centre"}
        row(names.get(cut, "feed"), feed, chip)
        depths = {"ramp": "depth of the ramp (ap)", "helix": "depth a turn"}
        row(depths.get(cut, "depth a pass (ap)"), given(settings.axial_depth_mm, units))
        full = cut in ("slot", "ramp", "helix", "plunge")
        row(
            "width (ae)",
            show_length(settings.radial_width_mm, units),
            "full width"
            if full
            else f"{100 * settings.radial_width_mm / advice.tooling.cutter.diameter_mm:.0f} % of D",
        )
        remark = "" if cut == "ramp" else f"at {show_feed(settings.ramp_feed_mm_min, units)} along the ramp"
        row("ramp angle" if cut == "ramp" else "ramp in", show_angle(settings.ramp_angle_deg), remark)
        plunge = show_feed(settings.plunge_feed_mm_min, units) if settings.plunge_allowed else "never"
        row(
            "straight plunge", plunge, "" if settings.plunge_allowed else "the end does not cut to its centre"
        )
        if cut == "helix":
            row(
                "bore",
                show_length(settings.helix_bore_mm, units),
                "the centre runs on a circle of bore less cutter",
            )
        elif settings.helix_bore_mm is not None:
            row(
                "helix",
                f"{show_depth(settings.helix_pitch_mm, units)} a turn",
                f"bore {show_length(settings.helix_bore_mm, units)}, tool centre at "
                f"{show_feed(settings.helix_feed_mm_min, units)}",
            )
    per_cm3_s = 60.0 / advice.removal_cm3_min if advice.removal_cm3_min > 0 else float("inf")
    each = f"{show_number(volume_time_s(per_cm3_s, units))} s for each {VOLUME[units]}"
    row("removes", show_removal(advice.removal_cm3_min, units), each)
    return tuple(rows)


def _chip_words(advice: Advice, units: System) -> str:
    """The chip load, and the thickest chip where a narrow cut thins it."""
    load = advice.settings.feed_per_tooth_mm
    text = f"chip load {show_chip_load(load, units)}"
    thickest = next((limit.demand for limit in advice.limits if limit.key == "chip-load"), None)
    if thickest is not None and thickest < THINNED * load:
        text += f", thinned to {show_chip(thickest, units).split()[0]}"
    return text
