"""The log of cuts on the terminal: lists, one entry, like cuts, what was learned."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

from millcalc.report.log_words import field_value, field_word
from millcalc.units_show import MM_PER_INCH, System, show_number

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from millcalc.cutlog.margins import Margins
    from millcalc.cutlog.models import Change, Entry, Stored
    from millcalc.cutlog.rows import Raw
    from millcalc.cutlog.similar import Neighbour
    from millcalc.cutlog.verify import Verdict
    from millcalc.cutlog.wear import BitWear

_HIDDEN = ("uid",)


def _length(value_mm: float | None, units: System, digits: int = 3) -> str:
    """A length without its unit, for a column whose head states it."""
    if value_mm is None:
        return ""
    return show_number(value_mm if units == "mm" else value_mm / MM_PER_INCH, digits)


def _day(when: datetime) -> str:
    return when.astimezone().strftime("%Y-%m-%d")


def _table(*columns: str, right: Sequence[str] = ()) -> Table:
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, padding=0)
    for column in columns:
        table.add_column(column, justify="right" if column in right else "left", overflow="fold")
    return table


def _keep_words(table: Table, width: int) -> None:
    """Wrap columns between words, not within them, where all of them fit the width so."""
    widest = []
    for column in table.columns:
        words = [word for cell in (column.header, *column.cells) for word in str(cell).split()]
        widest.append(max((len(word) for word in words), default=1))
    if sum(widest) + len(widest) <= width:
        for column, least in zip(table.columns[:-1], widest, strict=False):
            column.width = least


def _outcome(entry: Entry) -> str:
    return entry.outcome if not entry.symptoms else f"{entry.outcome}: {', '.join(entry.symptoms)}"


def print_list(console: Console, found: Sequence[Stored], total: int, units: System) -> None:
    """Entries as a table, newest first.

    console: Where to.
    found: The entries.
    total: How many there are in all [-].
    units: ``mm`` or ``in``.
    """
    if not found:
        console.print("no such cut in the log")
        return
    lengths = (f"ap {units}", f"ae {units}", f"chip {units}")
    feed = f"feed {units}/min"
    table = _table(
        "no",
        "cut on",
        "material",
        "cutter",
        "rpm",
        feed,
        *lengths,
        "outcome",
        right=("no", "rpm", feed, *lengths),
    )
    for stored in found:
        entry = stored.entry
        table.add_row(
            str(stored.number),
            _day(entry.when),
            entry.material,
            entry.cutter,
            "" if entry.speed_rpm is None else f"{entry.speed_rpm:.0f}",
            _length(entry.real_feed_mm_min, units, 4),
            _length(entry.axial_depth_mm, units),
            _length(entry.radial_width_mm, units),
            _length(entry.largest_chip_mm, units, 2),
            _outcome(entry) + ("" if entry.origin == "own" else f" ({entry.origin})"),
        )
    _keep_words(table, console.width)
    console.print(table)
    if total > len(found):
        console.print(f"{len(found)} of {total}; --limit shows more")


def print_entry(console: Console, stored: Stored, changes: Sequence[Change], units: System = "mm") -> None:
    """One entry with everything known about it, and its history.

    console: Where to.
    stored: The entry.
    changes: Its history.
    units: ``mm`` or ``in``.
    """
    entry = stored.entry
    console.print(f"entry {stored.number}{' (taken out)' if stored.removed else ''}")
    table = _table("what", "value", "name for --set")
    for name in type(entry).model_fields:
        value = getattr(entry, name)
        if name in _HIDDEN or value in (None, "", (), {}):
            continue
        table.add_row(field_word(name), field_value(name, value, units), name)
    if entry.feed_per_tooth_mm is not None:
        load = field_value("feed_per_tooth_mm", entry.feed_per_tooth_mm, units)
        table.add_row("chip load", f"{load}, computed")
    console.print(table)
    _print_history(console, changes)


def print_raw(console: Console, raw: Raw, changes: Sequence[Change]) -> None:
    """A row that cannot be read as an entry, as it stands, and its history.

    console: Where to.
    raw: The row.
    changes: Its history.
    """
    console.print(f"entry {raw.number}{' (taken out)' if raw.removed else ''}, as it stands in the file")
    table = _table("field", "value")
    for name, value in raw.values.items():
        if name not in _HIDDEN and value not in (None, "", "{}", "[]"):
            table.add_row("when" if name == "cut_at" else name, str(value))
    console.print(table)
    _print_history(console, changes)


def _print_history(console: Console, changes: Sequence[Change]) -> None:
    for change in changes:
        when = "time unknown" if change.when is None else f"{change.when.astimezone():%Y-%m-%d %H:%M}"
        who = f" by {change.who}" if change.who else ""
        what = (
            change.action
            if not change.field
            else f"{change.action} {change.field}: {change.before} -> {change.after}"
        )
        console.print(f"  {when}{who}: {what}")


def similar_line(neighbour: Neighbour, units: System) -> str:
    """A past cut in one sentence, for beside an advice.

    neighbour: The past cut.
    units: ``mm`` or ``in``.
    Returns: For example ``2025-10-12, entry 7: ap 0.6 mm, good; close: stickout 24, not 18 mm``.
    """
    entry = neighbour.stored.entry
    parts = [
        f"{name} {_length(value, units, digits)} {unit}"
        for name, value, digits, unit in (
            ("ap", entry.axial_depth_mm, 3, units),
            ("ae", entry.radial_width_mm, 3, units),
            ("feed", entry.real_feed_mm_min, 4, f"{units}/min"),
        )
        if value is not None
    ]
    then = "; ".join(neighbour.differences(units)[:4])
    return (
        f"{_day(entry.when)}, entry {neighbour.stored.number}: {', '.join(parts)}: {_outcome(entry)} "
        f"[{neighbour.word}{': ' + then if then else ''}]"
    )


def print_similar(console: Console, neighbours: Sequence[Neighbour], support: str, units: System) -> None:
    """Past cuts like a planned one.

    console: Where to.
    neighbours: Nearest first.
    support: What the log says for it, in a few words.
    units: ``mm`` or ``in``.
    """
    from rich.padding import Padding

    console.print(f"from the log: {support}")
    for neighbour in neighbours:
        console.print(Padding(similar_line(neighbour, units), (0, 0, 0, 2)))


def print_margins(console: Console, margins: Margins) -> None:
    """What outcomes have taught about a machine.

    console: Where to.
    margins: From the log.
    """
    console.print(f"{margins.machine}: {margins.cuts} cuts looked at")
    if margins.since is not None:
        console.print(f"cuts before {_day(margins.since)}, when the machine was altered, are left out")
    table = _table(
        "limit", "telling", "failed", "real / computed", "taken", right=("telling", "failed", "taken")
    )
    for margin in margins.by_kind.values():
        interval = f"{margin.median:.2f}  ({margin.low:.2f} to {margin.high:.2f})"
        table.add_row(
            margin.text.split(":")[0],
            str(margin.cuts),
            str(margin.failures),
            interval if margin.cuts else "nothing known",
            f"x {margin.advised:.2f}",
        )
    console.print(table)
    for margin in margins.changed:
        console.print(f"  {margin.text}")
    console.print(
        "Never changed by the log: cutter strength, speed range, travel, flute length, chip room. A margin is "
        "what past cuts make likely, not a promise for the next one."
    )


def print_wear(console: Console, wear: Sequence[BitWear]) -> None:
    """Time in the cut of each cutter.

    console: Where to.
    wear: One a cutter.
    """
    if not wear:
        console.print("no such cutter in the log")
        return
    table = _table("cutter", "bit", "minutes", "cuts", "others ended at", "note", right=("minutes", "cuts"))
    for one in wear:
        missing = f"; {one.cuts_without_time} cuts without a time" if one.cuts_without_time else ""
        record = "no record" if one.record_minutes is None else f"{one.record_minutes:.0f} min"
        table.add_row(
            one.cutter,
            one.bit,
            f"{one.minutes:.1f}",
            str(one.cuts),
            record,
            (one.warning + missing).lstrip("; "),
        )
    console.print(table)


def print_stats(
    console: Console,
    worked: Sequence[dict[str, Any]],
    drift: Sequence[dict[str, Any]],
    units: System = "mm",
) -> None:
    """What worked by material and cutter, and how it drifts.

    console: Where to.
    worked, drift: Rows of the two tables of :mod:`millcalc.cutlog.stats`.
    units: ``mm`` or ``in``.
    """
    if not worked:
        console.print("no such cut in the log")
        return
    table = _table("material, cutter", "cuts", "good", "failed", "good share", f"ap {units}", f"chip {units}")
    for row in worked:
        good, low, high = (100 * row[f"good_share{end}"] for end in ("", "_low", "_high"))
        share = f"{good:.0f} %\n({low:.0f} % to {high:.0f} %)"
        depths = [
            f"{word} {_length(row[key], units)}"
            for word, key in (("good to", "deepest_good_mm"), ("failed at", "shallowest_failed_mm"))
            if row[key] is not None
        ]
        chips = [row["smallest_good_chip_mm"], row["largest_good_chip_mm"]]
        shown = "" if None in chips else " to ".join(_length(chip, units, 2) for chip in chips)
        counts = (str(row[name]) for name in ("cuts", "good", "failed"))
        cooled = f", {row['cooling']}" if row["cooling"] else ""
        table.add_row(f"{row['material']}\n{row['cutter']}{cooled}", *counts, share, "\n".join(depths), shown)
    console.print(table)
    console.print("the share in brackets is the 95 % interval; few cuts say little")
    if len(drift) > 1:
        later = _table("quarter", "cuts", "good share", "wall error / computed", right=("cuts",))
        for row in drift:
            share = f"{100 * row['good_share']:.0f} % ({100 * row['low']:.0f} % to {100 * row['high']:.0f} %)"
            ratio = "" if row["error_ratio"] is None else show_number(row["error_ratio"], 2)
            later.add_row(row["quarter"], str(row["cuts"]), share, ratio)
        console.print(later)


def print_verdict(console: Console, verdict: Verdict, path: str) -> None:
    """What the check of the log's file found.

    console: Where to.
    verdict: From the check.
    path: The log file.
    """
    console.print(
        f"{path}: {verdict.entries} entries, {verdict.removed} taken out, {verdict.changes} changes noted"
    )
    if verdict.out:
        console.print(f"{verdict.out} of those taken out cannot be read; they count for nothing")
    for problem in verdict.problems:
        console.print(f"  {problem}")
    if not verdict.problems:
        console.print(
            "structure, links, entries, checksums and search grid were checked, nothing found; what was noted was not"
        )
