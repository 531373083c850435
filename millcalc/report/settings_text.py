"""The first screen of ``millcalc settings``: what to type and turn, why, and what to mind, in 40 lines."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from millcalc.advise.result import Advice, LimitShare
from millcalc.check.cautions import ALWAYS, ALWAYS_SHORT, FOOTER_SHORT, caution_keys
from millcalc.report.advice_text import SMALLEST, limit_amount, of_a_hundred, print_settings, range_amount
from millcalc.report.printer import Printer
from millcalc.units_show import System, show_depth, show_feed_as_is, show_length, show_number, show_speed

if TYPE_CHECKING:
    from rich.console import Console

    from millcalc.advise.band import SettingsBand

_WHY_MOST = 4
_CHANGES = 2
_NOTES = 2
_CARE_WIDTH = 74
_EXPECTED = {
    "peak force sideways": "sideways",
    "cutting power": "power",
    "deflection at the tip": "bending",
    "torque": "torque",
    "force along the spindle": "push",
}


def print_first_screen(
    console: Console,
    advice: Advice,
    titles: dict[str, str],
    units: System = "mm",
    *,
    thickness_mm: float | None = None,
    past: tuple[str, ...] = (),
    proven_here: tuple[str, ...] = (),
    band: SettingsBand | None = None,
) -> None:
    """Print an advice in one screen.

    console: Where to print.
    advice: What to print.
    titles: Caution titles by key.
    units: ``mm`` or ``in``.
    thickness_mm: Thickness to cut through [mm]; None leaves passes out.
    past: Past cuts like this one, one sentence each.
    proven_here: What is proven on this machine, beside the advice.
    band: For an unknown alloy, the settings over all it may be.
    """
    page = Printer(console, hang=2)
    say = page.say
    tooling, request = advice.tooling, advice.request
    say(f"{tooling.cutter.title} in {tooling.material.title}, on {tooling.machine.title}", style="bold")
    say(
        f"{'finishing ' if request.finish else ''}{request.cut}, "
        f"{'proven: every limit in full' if request.proven else 'first cut, with a reserve'}; stickout "
        f"{show_length(tooling.stickout_mm, units)}, drop {show_length(tooling.drop_mm, units)}"
    )
    if not advice.fits:
        say("NOT WITHIN THE LIMITS: " + (advice.notes[0] if advice.notes else ""), style="bold red")
    print_settings(page, advice, units)
    if thickness_mm is not None and advice.fits:
        say(passes_text(advice, thickness_mm, units), 2, "bold")
    for line in proven_here:
        say(line, 2, "bold" if line == proven_here[0] else "")
    if band is not None:
        say(band_line(band, advice, units), 2, "bold")
    say("Why", style="bold")
    for line in why_lines(advice, units):
        say(line, 2)
    expected = expected_text(advice, units)
    if expected:
        say("expect " + expected, 2)
    for line in past[:1]:
        say(f"log: {line}" + (f" (and {len(past) - 1} more)" if len(past) > 1 else ""), 2)
    _print_what_next(page, advice, titles, units)


def _print_what_next(page: Printer, advice: Advice, titles: dict[str, str], units: System) -> None:
    say, learned = page.say, advice.tooling.margins
    if advice.buys:
        say("Best changes", style="bold")
        for buy in advice.buys[:_CHANGES]:
            say(
                f"{buy.change} → {show_depth(buy.depth_mm, units)} deep at {show_feed_as_is(buy.feed_mm_min, units)} "
                f"and {show_speed(buy.speed_rpm)}: {buy.gain:.1f}× the removal",
                2,
            )
    notes = advice.notes if advice.fits else advice.notes[1:]
    if notes:
        say("Know", style="bold")
        for note in notes[:_NOTES]:
            say(learned.in_short if note == learned.text else note, 2)
    say("Care", style="bold")
    for line in care_lines(advice, titles):
        say(line, 2)
    hidden = f" ({len(notes) - _NOTES} more to know)" if len(notes) > _NOTES else ""
    say(f"--more: every limit, reason and caution{hidden}; --sources: where from")


def passes_text(advice: Advice, thickness_mm: float, units: System = "mm") -> str:
    """Passes and minutes for a thickness.

    advice: The answer.
    thickness_mm: Thickness to cut through [mm].
    units: ``mm`` or ``in``.
    Returns: Equal passes, none deeper than advised, and the cutting time of a path of 100 mm or 4 in, or of a hole.
    """
    settings = advice.settings
    count = max(1, math.ceil(thickness_mm / settings.axial_depth_mm - 1e-9))
    each = thickness_mm / count
    through = show_length(thickness_mm, units, 0.01 if units == "mm" else 0.001)
    depth = show_length(each, units, 0.01 if units == "mm" else 0.0005)
    if advice.request.cut in ("drill", "plunge"):
        minutes = thickness_mm / settings.feed_mm_min
        return (
            f"{through}: {count} stroke{'s' * (count > 1)} of {depth}, {_time(minutes)} a hole, cutting alone"
        )
    path_mm, path = (100.0, "100 mm") if units == "mm" else (101.6, "4 in")
    minutes = count * path_mm / settings.feed_mm_min
    return f"{through}: {count} pass{'es' * (count > 1)} of {depth}, {_time(minutes)} for {path} of path"


def _time(minutes: float) -> str:
    return f"{max(1, round(60 * minutes))} s" if minutes < 1.5 else f"{show_number(minutes)} min"


def why_lines(advice: Advice, units: System = "mm") -> list[str]:
    """What holds each number, and how sure it is.

    advice: The answer.
    units: ``mm`` or ``in``.
    Returns: At most four sentences; the limits that are overrun instead, where some are.
    """
    over = [limit for limit in advice.limits if limit.binds and limit.used > 1.0 + 1e-9]
    rows = [("", limit) for limit in over]
    if not over:
        rows = _held(advice) or [("most used", advice.limits[0])]
    lines = []
    for what, limit in rows[: _WHY_MOST - (advice.chances is not None)]:
        demand, most = (limit_amount(limit, value, units) for value in (limit.demand, limit.limit))
        least = "at least " if limit.key in SMALLEST else ""
        head = f"OVER {limit.title}" if not what else f"{what}: {limit.title}"
        governs = " governs" if what.startswith("depth") and "ap" not in advice.given else ""
        may = "" if limit.budget > 0.995 else f", of which {100 * limit.budget:.0f} % may be used"
        lines.append(f"{head}{governs}, {demand} of {least}{most}{may}")
    if advice.chances is not None:
        lines.append(f"as far as is known, all limits hold in {of_a_hundred(advice.chances.together)}")
    return lines


def _held(advice: Advice) -> list[tuple[str, LimitShare]]:
    """What was not given, together where one limit holds it; a depth that was given beside its nearest limit."""
    by_key = {limit.key: limit for limit in advice.limits}
    held: dict[str, list[str]] = {}
    for what, key in advice.holds.items():
        if key in by_key and not (what == "depth" and "ap" in advice.given):
            held.setdefault(key, []).append(what)
    nearest = advice.holds.get("depth")
    if "ap" in advice.given and nearest in by_key:
        held.setdefault(nearest, []).append("nearest to the depth given")
    return [(" and ".join(names), by_key[key]) for key, names in held.items()]


def expected_text(advice: Advice, units: System = "mm") -> str:
    """Force, power and bending in one line.

    advice: The answer.
    units: ``mm`` or ``in``.
    Returns: The ranges; empty when none was computed.
    """
    named = {item.title: item for item in advice.ranges}
    parts = [f"{word} {range_amount(named[key], units)}" for key, word in _EXPECTED.items() if key in named]
    return ", ".join(parts[:3])


def care_lines(advice: Advice, titles: dict[str, str]) -> list[str]:
    """The cautions for this material and cut, in three lines.

    advice: The answer.
    titles: Caution titles by key.
    Returns: What always holds, what this material adds, and who goes first.
    """
    special = [titles[k] for k in caution_keys(advice.tooling.material) if k not in ALWAYS and k in titles]
    special.sort(key=lambda title: title == titles.get("gloves"))  # said of every cut: last
    here = "here: "
    for title in special:
        said = title[:1].lower() + title[1:]
        if len(here) + len(said) > _CARE_WIDTH:
            break
        here += said + "; "
    return [ALWAYS_SHORT, *([here.rstrip("; ")] if special else []), FOOTER_SHORT]


def band_line(band: SettingsBand, advice: Advice, units: System = "mm") -> str:
    """For an unknown alloy, what holds in all it may be.

    band: The band.
    advice: What was advised for the unknown alloy itself.
    units: ``mm`` or ``in``.
    Returns: One sentence.
    """
    if band.common is None:
        return (
            "the alloy is unknown and no one setting holds in all it may be: find out first (millcalc alloy)"
        )
    settings = band.common.settings
    deeper = settings.axial_depth_mm < advice.settings.axial_depth_mm * (1 - 1e-9)
    return (
        f"alloy unknown: {'take the lower, ' if deeper else ''}{show_depth(settings.axial_depth_mm, units)} at "
        f"{show_feed_as_is(settings.feed_mm_min, units)}, {show_speed(settings.speed_rpm)}, which holds in all "
        f"{len(band.rows)} it may be ({band.governing} holds it back)"
    )
