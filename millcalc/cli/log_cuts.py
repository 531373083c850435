"""The commands about single cuts: add, list, show, similar, edit, remove, undo."""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from millcalc.cli.common import shown_units
from millcalc.cli.log_options import (
    Fields,
    LogFile,
    Number,
    name_left_out,
    open_log,
    plain_raw,
    plain_stored,
    print_json,
    query_of,
    read_log,
)
from millcalc.cli.options import (
    AnswerUnits,
    CutterName,
    Json,
    MachineName,
    MaterialName,
    ShownUnits,
    Stickout,
)
from millcalc.cli.say import answer_to, say, tell

if TYPE_CHECKING:
    from millcalc.cutlog.models import Stored
    from millcalc.cutlog.similar import Neighbour
    from millcalc.cutlog.store import Log
    from millcalc.units_show import System


FromSettings = Annotated[
    Path | None, typer.Option(help="JSON that `millcalc settings --json` wrote: fills what was advised.")
]
FromCheck = Annotated[
    Path | None, typer.Option(help="JSON that `millcalc check --json` wrote: fills what was computed.")
]
FromProgram = Annotated[
    Path | None, typer.Option(help="Program that was run: fills name, fingerprint, speed, feed, time.")
]
WhichTool = Annotated[int | None, typer.Option(help="Tool number, where a report or program has several.")]


def add(
    from_settings: FromSettings = None,
    from_check: FromCheck = None,
    from_program: FromProgram = None,
    tool: WhichTool = None,
    machine: MachineName = None,
    material: MaterialName = None,
    cutter: CutterName = None,
    rpm: Annotated[str | None, typer.Option(help="Spindle speed.")] = None,
    feed: Annotated[str | None, typer.Option(help="Feed as programmed.")] = None,
    ap: Annotated[str | None, typer.Option(help="Axial depth of cut.")] = None,
    ae: Annotated[str | None, typer.Option(help="Radial width of cut.")] = None,
    stickout: Stickout = None,
    outcome: Annotated[str | None, typer.Option(help="good, acceptable or failed.")] = None,
    symptom: Annotated[list[str] | None, typer.Option(help="What was wrong; repeatable.")] = None,
    notes: Annotated[str | None, typer.Option(help="Free text.")] = None,
    fields: Fields = None,
    units: AnswerUnits = None,
    log: LogFile = None,
) -> None:
    """Log a cut: everything known is filled in, and only how it went is asked."""
    from millcalc.cli.log_fields import collect
    from millcalc.cutlog.next_time import next_settings
    from millcalc.cutlog.predict import predicted
    from millcalc.cutlog.questions import ask_outcome
    from millcalc.cutlog.rows import entry_from
    from millcalc.errors import LogError

    typed = {
        "machine": machine,
        "material": material,
        "cutter": cutter,
        "speed_rpm": rpm,
        "feed_mm_min": feed,
        "axial_depth_mm": ap,
        "radial_width_mm": ae,
        "stickout_mm": stickout,
        "outcome": outcome,
        "symptoms": "; ".join(symptom) if symptom else None,
        "notes": notes,
    }
    with open_log(log, write=True) as opened:
        shown = shown_units(units)
        known = collect(opened, typed, fields or [], from_settings, from_check, from_program, tool, shown)
        if known.get("outcome") is None and sys.stdin.isatty():
            known |= ask_outcome(known, _ask, say)
        if known.get("outcome") is None:
            raise LogError("no outcome", "good, acceptable or failed", "say how it went", field="--outcome")
        known.setdefault("when", datetime.now().astimezone())
        why_not = ""
        if not known.get("shares"):
            computed, why_not = predicted(known)
            known = {**computed, **known, "shares": computed.get("shares", {})}
        before = next_settings(opened, known)
        stored = opened.add(entry_from(known))
        tell(f"logged as entry {stored.number} in {opened.path}", [str(opened.path)])
        tell(_taught(opened, stored, known, before, why_not, shown))
        _warn_of_wear(opened, stored.entry.cutter, stored.entry.bit)
        name_left_out(opened)


def _taught(
    opened: Log, stored: Stored, known: dict[str, Any], before: Any, why_not: str, units: System
) -> str:
    """What the entry changes in the next advice, or why it changes nothing."""
    from millcalc.cutlog.next_time import next_settings, next_time

    if stored.entry.shares:
        return next_time(stored.entry, before, next_settings(opened, known), units)
    way = f"`millcalc log edit {stored.number} --set ...` adds it"
    return f"this entry changes no advice: {why_not}; {way}"


def _ask(text: str) -> str:
    try:
        return answer_to(text)
    except EOFError:
        return ""


def _warn_of_wear(log: Log, cutter: str, bit: str) -> None:
    from millcalc.cutlog.wear import cutter_wear

    for wear in cutter_wear(log, cutter):
        if wear.bit == bit and wear.warning:
            tell(f"{cutter} {bit}".rstrip() + f": {wear.warning}")


def list_cuts(
    machine: MachineName = None,
    material: MaterialName = None,
    cutter: CutterName = None,
    outcome: Annotated[str | None, typer.Option(help="good, acceptable or failed.")] = None,
    text: Annotated[str | None, typer.Option(help="Part of the notes.")] = None,
    program: Annotated[str | None, typer.Option(help="First digits of a program's fingerprint.")] = None,
    since: Annotated[datetime | None, typer.Option(help="From this day.")] = None,
    until: Annotated[datetime | None, typer.Option(help="Before this day.")] = None,
    removed: Annotated[bool, typer.Option("--removed", help="Those that were taken out.")] = False,
    limit: Annotated[int, typer.Option(min=1, max=1_000_000, help="Most entries shown.")] = 20,
    units: ShownUnits = None,
    json: Json = False,
    log: LogFile = None,
) -> None:
    """Cuts, the newest first."""
    from millcalc.report.console import make_console
    from millcalc.report.log_text import print_list

    query = query_of(machine, material, cutter, outcome, text, since, until, removed, limit, program)
    with read_log(log) as opened:
        found = opened.find(query)
        if json:
            print_json([plain_stored(stored) for stored in found])
        else:
            total = len(found) if len(found) < limit else opened.count(query)
            print_list(make_console(), found, total, shown_units(units))


def show(number: Number, units: ShownUnits = None, json: Json = False, log: LogFile = None) -> None:
    """One entry with everything known about it, and who changed what when."""
    from millcalc.cutlog.rows import stored_of
    from millcalc.errors import LogError
    from millcalc.report.console import make_console
    from millcalc.report.log_text import print_entry, print_raw

    with read_log(log) as opened:
        raw = opened.raw(number)
        try:
            stored = stored_of(raw, opened.path)
        except LogError as error:
            opened.left_out[number] = error
        if number in opened.left_out:
            if json:
                print_json({"number": number, "removed": raw.removed, "as_it_stands": plain_raw(raw)})
            else:
                print_raw(make_console(), raw, opened.history(number))
        elif json:
            print_json(plain_stored(stored))
        else:
            print_entry(make_console(), stored, opened.history(number), shown_units(units))


LikeSettings = Annotated[Path | None, typer.Option(help="Cuts like what `millcalc settings --json` advised.")]


def similar(
    like: Annotated[int | None, typer.Option(help="Cuts like this entry.")] = None,
    from_settings: LikeSettings = None,
    machine: MachineName = None,
    material: MaterialName = None,
    cutter: CutterName = None,
    rpm: Annotated[str | None, typer.Option(help="Spindle speed.")] = None,
    feed: Annotated[str | None, typer.Option(help="Feed.")] = None,
    ap: Annotated[str | None, typer.Option(help="Axial depth of cut.")] = None,
    ae: Annotated[str | None, typer.Option(help="Radial width of cut.")] = None,
    stickout: Stickout = None,
    fields: Fields = None,
    only_machine: Annotated[bool, typer.Option("--only-machine", help="Leave other machines out.")] = False,
    count: Annotated[int, typer.Option(min=1, max=1000, help="Most cuts shown.")] = 5,
    units: AnswerUnits = None,
    json: Json = False,
    log: LogFile = None,
) -> None:
    """Past cuts that load cutter and machine as the planned one would."""
    from millcalc.cli.log_fields import collect
    from millcalc.cutlog.rows import entry_from
    from millcalc.cutlog.similar import PlannedCut, similar_cuts, support_words
    from millcalc.report.console import make_console
    from millcalc.report.log_text import print_similar

    typed = {
        "machine": machine,
        "material": material,
        "cutter": cutter,
        "speed_rpm": rpm,
        "feed_mm_min": feed,
        "axial_depth_mm": ap,
        "radial_width_mm": ae,
        "stickout_mm": stickout,
    }
    with read_log(log) as opened:
        if like is not None:
            planned = PlannedCut.of(opened.get(like).entry)
        else:
            shown = shown_units(units)
            known = collect(opened, typed, fields or [], from_settings, None, None, None, shown)
            planned = PlannedCut.of(
                entry_from({"when": datetime.now().astimezone(), "outcome": "good", **known})
            )
        found = [
            one
            for one in similar_cuts(opened, planned, count + (like is not None), only_machine=only_machine)
            if one.stored.number != like
        ]
        if json:
            print_json([_near(one) for one in found])
        else:
            print_similar(make_console(), found, support_words(found), shown_units(units))


def _near(one: Neighbour) -> dict[str, Any]:
    """A past cut and how near it is, as JSON-ready data."""
    nearness = {"distance": one.distance, "word": one.word, "differences": one.differences()}
    return {**plain_stored(one.stored), **nearness}


def edit(number: Number, fields: Fields = None, log: LogFile = None) -> None:
    """Correct an entry; what stood there before is kept."""
    from millcalc.cli.log_fields import parse_fields
    from millcalc.errors import UsageError

    if not fields:
        raise UsageError("nothing to change: give --set FIELD=VALUE; an empty VALUE makes a field unknown")
    with open_log(log, write=True) as opened:
        problem = opened.edit(number, parse_fields(fields, clear=True))
        say(f"entry {number} changed; `millcalc log undo` takes it back")
        if problem is not None:
            say(f"it still cannot be read: {problem}", err=True)
            raise typer.Exit(1)


def remove(number: Number, log: LogFile = None) -> None:
    """Take an entry out; it stays in the file, and undo brings it back."""
    with open_log(log, write=True) as opened:
        opened.remove(number)
        say(f"entry {number} taken out; `millcalc log undo` brings it back")


def undo(log: LogFile = None) -> None:
    """Take back the latest change: an addition, an import, an edit or a removal."""
    with open_log(log, write=True) as opened:
        say(opened.undo())
