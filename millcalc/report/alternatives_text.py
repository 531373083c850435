"""Alternatives and bed heights side by side for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from millcalc.advise.alternatives import Alternative, BedRow
from millcalc.check.cautions import FOOTER
from millcalc.report.advice_text import chance_text
from millcalc.report.console import can_show_unicode, plain
from millcalc.report.lobes_characters import character_plot
from millcalc.report.printer import Printer
from millcalc.report.volumes import VOLUME, volume_time_s
from millcalc.report.wrapping import wrap
from millcalc.units_show import (
    MM_PER_INCH,
    N_PER_LBF,
    System,
    show_depth,
    show_feed_as_is,
    show_force,
    show_length,
    show_number,
    show_removal,
    show_speed,
    show_stiffness,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

_BEFORE_A_WAY = 6  # the table's indent, and the number of a way with its gap [-]
_LEAST_ROOM = 24  # columns that a way needs to be read [-]


def print_alternatives(
    console: Console, found: tuple[Alternative, ...], left_out: tuple[str, ...] = (), units: System = "mm"
) -> None:
    """Print alternatives, quickest first, with what each needs.

    console: Where to print.
    found: The ways.
    left_out: Ways that do not hold, with the limit in the way.
    units: ``mm`` or ``in``.
    """
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    page = Printer(console, 2)
    say = page.say

    first = found[0].advice.tooling
    console.print(Text(plain(f"{first.material.title} on {first.machine.title}", console.file), style="bold"))
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("", no_wrap=True)
    table.add_column("way")
    names = (f"s/{VOLUME[units]}", "force up to", "held by", "sure")
    numbers = [
        (
            show_number(volume_time_s(one.time_s_cm3, units)),
            show_force(one.force_n, units),
            one.advice.governing.title,
            chance_text(one.chance),
        )
        for one in found
    ]
    for name in names:
        table.add_column(plain(name, console.file), justify="right", no_wrap=True)
    taken = sum(2 + max(map(len, column)) for column in zip(names, *numbers, strict=True))
    room = max(_LEAST_ROOM, console.width - _BEFORE_A_WAY - taken)
    for number, (one, cells) in enumerate(zip(found, numbers, strict=True), start=1):
        row = (f"{number}{'*' if one.best else ''}", "\n".join(_way_lines(one, units, room)), *cells)
        table.add_row(*(plain(cell, console.file) for cell in row), style="" if one.best else "dim")
    console.print(Padding(table, (0, 0, 0, 2)))
    say("* no other way here is at once quicker, gentler and surer. Time in the cut only, without travel.")
    say(
        "sure: in how many of 100 such set-ups the limits of stiffness, force, push, power, chatter and chip all hold."
    )
    for text in left_out:
        say("left out: " + text)
    quickest, gentlest = found[0], min(found, key=lambda one: one.force_n)
    say(f"quickest: {quickest.title}; gentlest: {gentlest.title}")
    say(FOOTER)


def _way_lines(one: Alternative, units: System, room: int) -> list[str]:
    """A way, its settings and what it needs, in lines of so many columns."""
    settings = one.advice.settings
    numbers = (
        f"{show_speed(settings.speed_rpm)}, {show_feed_as_is(settings.feed_mm_min, units)}, "
        f"ap {show_depth(one.pass_depth_mm, units)}"
        + (f" in {one.passes} passes" if one.passes > 1 else "")
        + f", ae {show_length(settings.radial_width_mm, units)}"
    )
    lines = wrap(one.title, room)
    for text in (numbers, f"needs {one.needs}"):
        lines += ["  " + line for line in wrap(text, room - 2)]
    return lines


def count_words(found: Sequence[Alternative]) -> str:
    """How many ways there are, for the top of a page.

    found: The ways.
    Returns: ``8 ways to make this cut``.
    """
    return f"{len(found)} way{'s' * (len(found) != 1)} to make this cut"


def print_bed(console: Console, rows: tuple[BedRow, ...], units: System = "mm") -> None:
    """Print settings over bed height with a small picture.

    console: Where to print.
    rows: Smallest drop first.
    units: ``mm`` or ``in``.
    """
    from rich.text import Text

    page = Printer(console, 2)
    tooling = rows[0].advice.tooling
    page.say(f"{tooling.cutter.title} in {tooling.material.title} on {tooling.machine.title}", 0, "bold")
    _bed_rows(page, rows, units)
    if len(rows) > 2:
        console.print()
        picture = character_plot(
            np.array([row.drop_mm for row in rows]) / (1.0 if units == "mm" else MM_PER_INCH),
            np.array([row.tip_n_um for row in rows]) * (1.0 if units == "mm" else MM_PER_INCH / N_PER_LBF),
            width=50,
            fancy=can_show_unicode(console.file),
            x_label=f"drop [{units}]",
            y_label=plain(f"stiffness at the tip [{'N/µm' if units == 'mm' else 'lbf/thou'}]", console.file),
        )
        for line in picture:
            console.print(Text(line))
    _bed_words(page, rows, units)


def _bed_rows(page: Printer, rows: tuple[BedRow, ...], units: System) -> None:
    """The table: one bed height a row."""
    names = ("drop", "work raised", "at the tip", "depth", "removes", "gain")
    table = page.table([*((name, "right") for name in names), ("held by", "left")])
    for row in rows:
        answer = row.advice
        raised = show_length(abs(row.raised_mm), units)
        cells = (
            show_length(row.drop_mm, units),
            raised if row.raised_mm >= 0 else "-" + raised,
            show_stiffness(row.tip_n_um, units),
            show_depth(answer.settings.axial_depth_mm, units) if answer.fits else "-",
            show_removal(answer.removal_cm3_min, units) if answer.fits else "-",
            f"{row.gain:.2f}",
            answer.governing.title if answer.fits else "no cut holds",
        )
        page.row(table, cells, "bold" if row.raised_mm == 0 else "")
    page.show(table)


def _bed_words(page: Printer, rows: tuple[BedRow, ...], units: System) -> None:
    """What a spacer under the work buys, and what to mind."""
    say, tooling = page.say, rows[0].advice.tooling
    best = max(rows, key=lambda row: row.gain)
    if best.raised_mm > 0 and best.gain > 1.08:
        first = next(row for row in rows[::-1] if row.gain >= 0.98 * best.gain)
        more = "; more buys nothing, then something else holds" if first.drop_mm > rows[0].drop_mm else ""
        say(
            f"a spacer of {show_length(first.raised_mm, units)} under the work removes {first.gain:.1f} times as "
            f"much{more}"
        )
    else:
        say("raising the work buys nothing here: " + best.advice.governing.title + " holds, not the frame")
    if tooling.machine.drop_law.confidence != "measured":
        say("the law over drop is typical, not measured on this machine: millcalc measure stiffness --how")
    say("check that Z still clears the work, the clamps and the longest cutter before a spacer goes in")
