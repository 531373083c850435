"""The answer of ``millcalc settings`` for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from millcalc.advise.result import Advice, LimitShare, Range
from millcalc.check.cautions import FOOTER, caution_keys
from millcalc.report.console import can_show_unicode
from millcalc.report.printer import Printer
from millcalc.report.settings_rows import settings_rows
from millcalc.tables.values import TRUST_WORDS
from millcalc.units_show import (
    MM_PER_INCH,
    N_PER_LBF,
    System,
    show_chip,
    show_cutting_speed,
    show_depth,
    show_feed,
    show_force,
    show_length,
    show_number,
    show_power,
    show_small,
    show_speed,
    show_stiffness,
)

if TYPE_CHECKING:
    from rich.console import Console

    from millcalc.tables.models import Material

_BAR = 8
_N_M_PER_LBF_IN = N_PER_LBF * MM_PER_INCH / 1000
_MPA_PER_KSI = 1000 * N_PER_LBF / MM_PER_INCH**2
_BARS_FROM_WIDTH = 96
SMALLEST = ("rubbing", "spindle-low-speed")


def print_advice(
    console: Console,
    advice: Advice,
    cautions: dict[str, str],
    units: System = "mm",
    *,
    full: bool = False,
    past: tuple[str, ...] = (),
) -> None:
    """Print an advice.

    console: Where to print.
    advice: What to print.
    cautions: Caution texts by key.
    units: ``mm`` or ``in``.
    full: Also the sources of every number.
    past: Past cuts like this one, one sentence each.
    """
    page = Printer(console, 2)
    say, head = page.say, page.head
    _heading(page, advice, units)
    head("Set")
    print_settings(page, advice, units)
    head("Why")
    for reason in advice.reasons:
        say(reason)
    head("Limits, by how much of what may be used is used")
    _print_limits(page, advice, units)
    head("What to expect (published coefficients differ: a range, not one number)")
    page.grid([(item.title, range_amount(item, units)) for item in advice.ranges])
    if any(advice.compliance_um_n.values()):
        say(_springs_text(advice, units))
    if past:
        head("Similar cuts in your log")
        for line in past:
            say(line)
    if advice.buys:
        head("What would buy more")
        for buy in advice.buys:
            say(
                f"{buy.change}: depth {show_depth(advice.settings.axial_depth_mm, units)} → "
                f"{show_depth(buy.depth_mm, units)}, {buy.gain:.1f}× the removal (then held by {buy.governing})"
            )
    notes = advice.notes if advice.fits else advice.notes[1:]
    if notes:
        head("Know before you trust this")
        for note in notes:
            say("· " + note)
    head("Care")
    print_care(page, advice.tooling.material, cautions)
    if full:
        head("Sources")
        for what, source, confidence in advice.sources:
            say(f"{what}: {source} ({TRUST_WORDS.get(confidence, confidence)})")
    else:
        page.raw("")
        say("sources of every number: add --sources; what a word means: millcalc explain WORD", 0, "dim")


def _heading(page: Printer, advice: Advice, units: System) -> None:
    """What cuts what, how, and whether it holds."""
    tooling, request = advice.tooling, advice.request
    page.say(f"{tooling.cutter.title} in {tooling.material.title}, on {tooling.machine.title}", 0, "bold")
    kept = (
        "all of every limit may be used (proven)"
        if request.proven
        else f"first cut: keeps a reserve for what is not known ({_reserve(advice)})"
    )
    page.say(
        f"{'finishing ' if request.finish else ''}{request.cut} · stickout "
        f"{show_length(tooling.stickout_mm, units)} · drop {show_length(tooling.drop_mm, units)} · {kept}",
        0,
    )
    if not advice.fits:
        page.raw("")
        page.say("NOT WITHIN THE LIMITS: " + (advice.notes[0] if advice.notes else ""), 0, "bold red")


def _springs_text(advice: Advice, units: System) -> str:
    """Which spring bends how much, and how stiff all are together."""
    springs = advice.compliance_um_n
    total = sum(springs.values())
    return (
        "springs in series: "
        + ", ".join(f"{name} {100 * value / total:.0f} %" for name, value in springs.items())
        + f" of the bending; together {show_stiffness(1 / total, units)} at the tip"
    )


def print_care(page: Printer, material: Material, cautions: dict[str, str]) -> None:
    """Print what the material does to cutter, lungs and fingers, and the cautions in full.

    page: Where to print.
    material: What is cut.
    cautions: Caution texts by key.
    """
    say = page.say
    say(f"heat: {material.heat.text}")
    say(f"cooling: {material.lubrication.text}")
    say(f"chips: {material.chip_hazard.text}")
    say(f"dust: {material.dust_hazard.text}")
    for key in caution_keys(material):
        if key in cautions:
            say("! " + cautions[key])
    say(FOOTER)


def print_settings(page: Printer, advice: Advice, units: System) -> None:
    """Print what to type and turn as a small table.

    page: Where to print.
    advice: The answer.
    units: ``mm`` or ``in``.
    """
    page.grid([(row.name, row.value, row.remark) for row in settings_rows(advice, units)], bold=1)


def limit_amount(limit: LimitShare, value: float, units: System) -> str:
    """A demand or limit as shown.

    limit: The limit it belongs to.
    value: In the limit's unit.
    units: ``mm`` or ``in``.
    Returns: Number and unit.
    """
    if limit.key in ("chip-load", "rubbing"):
        return show_chip(value, units)
    if limit.key == "deflection":
        return show_small(value, units)
    if limit.unit == "mm":
        return show_length(value, units)
    if limit.unit == "mm/min":
        return show_feed(value, units)
    if limit.unit == "rev/min":
        return show_speed(value)
    return show_amount(value, limit.unit, units)


def show_amount(value: float, unit: str, units: System) -> str:
    """A quantity that is no length, feed or speed, as shown.

    value: In `unit`.
    unit: ``N``, ``W``, ``m/min``, ``N m``, ``N/mm2`` or another, which is shown as it is.
    units: ``mm`` or ``in``: lbf, hp, sfm, lbf in, ksi.
    Returns: Two digits and the unit.

    >>> show_amount(250.0, "m/min", "in"), show_amount(73.0, "N/mm2", "mm")
    ('820 sfm', '73 N/mm²')
    """
    if unit == "N":
        return show_force(value, units)
    if unit == "W":
        return show_power(value, units)
    if unit == "m/min":
        return show_cutting_speed(value, units)
    if units == "in" and unit == "N m":
        return f"{show_number(value / _N_M_PER_LBF_IN)} lbf in"
    if units == "in" and unit == "N/mm2":
        return f"{show_number(value / _MPA_PER_KSI)} ksi"
    return f"{show_number(value)} {unit.replace('mm2', 'mm²')}"


def range_amount(item: Range, units: System) -> str:
    """A computed quantity with its spread, as shown.

    item: The quantity.
    units: ``mm`` or ``in``.
    Returns: ``17 N to 41 N``, or one number where both ends read the same.
    """
    if item.unit == "mm":
        show = show_chip if "chip" in item.title else show_small
        low, high = (show(value, units) for value in (item.low, item.high))
    else:
        low, high = (show_amount(value, item.unit, units) for value in (item.low, item.high))
    return low if low == high else f"{low} to {high}"


def sure(advice: Advice, key: str) -> str:
    """How sure a limit is to hold, as shown.

    advice: The answer.
    key: Limit.
    Returns: Per cent; empty where no input has a spread.
    """
    chance = None if advice.chances is None else advice.chances.by_key.get(key)
    return "" if chance is None else chance_text(chance)


def chance_text(chance: float) -> str:
    """A probability as shown: never 100 %, since the model does not know everything.

    chance: Probability [-].
    Returns: Per cent.

    >>> chance_text(0.9231), chance_text(1.0), chance_text(0.002)
    ('92 %', '>99 %', '<1 %')
    """
    if chance > 0.99:
        return ">99 %"
    return "<1 %" if chance < 0.01 else f"{100 * chance:.0f} %"


def of_a_hundred(chance: float) -> str:
    """A probability as people count it.

    chance: Probability [-].
    Returns: Never all and never none, since the model does not know everything.

    >>> of_a_hundred(0.754), of_a_hundred(1.0), of_a_hundred(0.0)
    ('75 of 100 such set-ups', 'more than 99 of 100 such set-ups', 'fewer than 1 of 100 such set-ups')
    """
    number = "more than 99" if chance > 0.99 else "fewer than 1" if chance < 0.01 else f"{100 * chance:.0f}"
    return f"{number} of 100 such set-ups"


def _reserve(advice: Advice) -> str:
    """The first-cut reserve in words, by the limit it is largest or matters most for."""
    kept = {limit.key: limit for limit in advice.limits if limit.budget < 1.0 and limit.key != "rubbing"}
    if not kept:
        return "none needed"
    shown = kept.get("deflection") or min(kept.values(), key=lambda limit: limit.budget)
    return f"of {shown.title} at most {100 * shown.budget:.0f} % is used"


def _print_limits(page: Printer, advice: Advice, units: System) -> None:
    """A row a limit, the most used first, and what the columns leave out."""
    fancy, bars = can_show_unicode(page.console.file), page.console.width >= _BARS_FROM_WIDTH
    numbers = [(name, "right") for name in ("this cut", "limit", "used", "may", "sure")]
    table = page.table(
        [("limit", "left"), *numbers, *([("", "left")] if bars else []), ("holds", "left wrap")]
    )
    held: dict[str, str] = {}
    for number, key in advice.holds.items():
        held[key] = f"{held[key]}, {number}" if key in held else number
    for limit in advice.limits:
        over = limit.used > 1.0 + 1e-9
        governs = limit.key == advice.governing.key
        words = [held.get(limit.key, ""), "governs" if governs else ""]
        cells = [
            limit.title,
            limit_amount(limit, limit.demand, units),
            ("≥ " if limit.key in SMALLEST else "") + limit_amount(limit, limit.limit, units),
            f"{100 * limit.share:.0f} %",
            f"{100 * limit.budget:.0f} %",
            sure(advice, limit.key),
            *([_bar(limit.share, fancy)] if bars else []),
            "OVER" if over else ", ".join(word for word in words if word),
        ]
        page.row(table, cells, "bold red" if over else "bold" if governs else "")
    page.show(table)
    for text in _limit_remarks(advice, units):
        page.say(text)


def _bar(share: float, fancy: bool) -> str:
    """A share as a bar of characters."""
    full, empty = ("█", "░") if fancy else ("#", ".")
    filled = min(_BAR, round(_BAR * min(share, 1.0)))
    return full * filled + empty * (_BAR - filled)


def _limit_remarks(advice: Advice, units: System) -> list[str]:
    """What the table of the limits cannot say."""
    found = []
    if not advice.request.proven and advice.request.cut not in ("drill", "plunge"):
        band, chip = advice.tooling.speed_band_m_min, advice.tooling.chip_band_mm(advice.request.cut)
        if band is not None:
            found.append(
                "cutting speed and greatest chip: a first cut keeps to the gentle part of the band; the band itself "
                f"ends at {show_amount(band.high, 'm/min', units)} and {show_chip(chip[2], units)}."
            )
    if advice.chances is not None:
        sampled = advice.chances
        found.append(
            f"sure: in how many of 100 such set-ups the limit holds ({sampled.samples} were drawn, of stiffness, "
            f"force, push, power and damping as far as they are known); all hold in {of_a_hundred(sampled.together)}. "
            "Not in it: a slipping plate, chips that weld, a wrong zero."
        )
    return found
