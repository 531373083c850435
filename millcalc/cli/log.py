"""``millcalc log``: the cuts that were made, how they went, and what they teach."""

from __future__ import annotations

import sys
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from millcalc.cli.common import Units

if TYPE_CHECKING:
    from millcalc.cutlog.query import Query
    from millcalc.cutlog.store import Log

app = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="The cuts that were made, how they went, what they teach.",
)

LogFile = Annotated[Path | None, typer.Option("--log", help="Log file; left out, the person's own.")]
Machine = Annotated[str | None, typer.Option(help="Machine name; left out, the one in shop.yaml.")]
Material = Annotated[str | None, typer.Option(help="Work material.")]
Cutter = Annotated[str | None, typer.Option(help="Cutter.")]
Number = Annotated[int, typer.Argument(help="Number of the entry, as `millcalc log list` shows it.")]
Fields = Annotated[
    list[str] | None, typer.Option("--set", help='FIELD=VALUE, repeatable, e.g. --set "drop_mm=60 mm".')
]
Json = Annotated[bool, typer.Option("--json", help="As JSON.")]
UnitsOption = Annotated[Units | None, typer.Option(help="Units shown.")]


class Format(StrEnum):
    """Files an export can be."""

    csv = "csv"
    json = "json"
    parquet = "parquet"


@app.callback()
def _root() -> None:
    """The cuts that were made, how they went, what they teach."""


def _open(path: Path | None, *, write: bool = False) -> Log:
    from millcalc.cutlog.store import Log
    from millcalc.cutlog.where import log_path

    return Log(log_path(path, Path.cwd()), create=write, readonly=not write)


def _units(units: Units | None) -> Any:
    from millcalc.tables import load_shop

    if units is not None:
        return units.value
    shop = load_shop()
    return shop.units if shop else "mm"


def _print_json(data: Any) -> None:
    import json

    typer.echo(json.dumps(data, indent=2, ensure_ascii=False))


def _plain(stored: Any) -> dict[str, Any]:
    from millcalc.cutlog.export import plain_entry

    return {"number": stored.number, "removed": stored.removed, **plain_entry(stored.entry)}


@app.command("add")
def add(
    from_settings: Annotated[
        Path | None, typer.Option(help="JSON that `millcalc settings --json` wrote: fills what was advised.")
    ] = None,
    from_check: Annotated[
        Path | None, typer.Option(help="JSON that `millcalc check --json` wrote: fills what was computed.")
    ] = None,
    from_program: Annotated[
        Path | None, typer.Option(help="Program that was run: fills name, fingerprint, speed, feed, time.")
    ] = None,
    tool: Annotated[
        int | None, typer.Option(help="Tool number, where a report or program has several.")
    ] = None,
    machine: Machine = None,
    material: Material = None,
    cutter: Cutter = None,
    rpm: Annotated[str | None, typer.Option(help="Spindle speed.")] = None,
    feed: Annotated[str | None, typer.Option(help="Feed as programmed.")] = None,
    ap: Annotated[str | None, typer.Option(help="Axial depth of cut.")] = None,
    ae: Annotated[str | None, typer.Option(help="Radial width of cut.")] = None,
    stickout: Annotated[str | None, typer.Option(help="From collet face to tip.")] = None,
    outcome: Annotated[str | None, typer.Option(help="good, acceptable or failed.")] = None,
    symptom: Annotated[list[str] | None, typer.Option(help="What was wrong; repeatable.")] = None,
    notes: Annotated[str | None, typer.Option(help="Free text.")] = None,
    fields: Fields = None,
    log: LogFile = None,
) -> None:
    """Log a cut: everything known is filled in, and only how it went is asked."""
    from millcalc.cli.log_fields import collect
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
    with _open(log, write=True) as opened:
        known = collect(opened, typed, fields or [], from_settings, from_check, from_program, tool)
        if known.get("outcome") is None and sys.stdin.isatty():
            known |= ask_outcome(known, _ask, typer.echo)
        if known.get("outcome") is None:
            raise LogError("no outcome", "good, acceptable or failed", "say how it went", field="--outcome")
        known.setdefault("when", datetime.now().astimezone())
        stored = opened.add(entry_from(known))
        typer.echo(f"logged as entry {stored.number} in {opened.path}")
        _warn_of_wear(opened, stored.entry.cutter, stored.entry.bit)


def _ask(text: str) -> str:
    try:
        return input(text)
    except EOFError:
        return ""


def _warn_of_wear(log: Log, cutter: str, bit: str) -> None:
    from millcalc.cutlog.wear import cutter_wear

    for wear in cutter_wear(log, cutter):
        if wear.bit == bit and wear.warning:
            typer.echo(f"{cutter} {bit}".rstrip() + f": {wear.warning}")


@app.command("list")
def list_cuts(
    machine: Machine = None,
    material: Material = None,
    cutter: Cutter = None,
    outcome: Annotated[str | None, typer.Option(help="good, acceptable or failed.")] = None,
    text: Annotated[str | None, typer.Option(help="Part of the notes.")] = None,
    program: Annotated[str | None, typer.Option(help="First digits of a program's fingerprint.")] = None,
    since: Annotated[datetime | None, typer.Option(help="From this day.")] = None,
    until: Annotated[datetime | None, typer.Option(help="Before this day.")] = None,
    removed: Annotated[bool, typer.Option("--removed", help="Those that were taken out.")] = False,
    limit: Annotated[int, typer.Option(min=1, help="Most entries shown.")] = 20,
    units: UnitsOption = None,
    json: Json = False,
    log: LogFile = None,
) -> None:
    """Cuts, the newest first."""
    from millcalc.report.console import make_console
    from millcalc.report.log_text import print_list

    query = _query(machine, material, cutter, outcome, text, since, until, removed, limit, program)
    with _open(log) as opened:
        found = opened.find(query)
        if json:
            _print_json([_plain(stored) for stored in found])
        else:
            total = len(found) if len(found) < limit else opened.count(query)
            print_list(make_console(), found, total, _units(units))


def _query(
    machine: str | None = None,
    material: str | None = None,
    cutter: str | None = None,
    outcome: str | None = None,
    text: str | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
    removed: bool = False,
    limit: int = 20,
    program: str | None = None,
) -> Query:
    from millcalc.cutlog.query import Query

    return Query(
        machine=machine or "",
        material=material or "",
        cutter=cutter or "",
        outcome=outcome or "",
        text=text or "",
        program_sha256=program or "",
        since=since,
        until=until,
        removed=removed,
        limit=limit,
    )


@app.command("show")
def show(number: Number, json: Json = False, log: LogFile = None) -> None:
    """One entry with everything known about it, and who changed what when."""
    from millcalc.report.console import make_console
    from millcalc.report.log_text import print_entry

    with _open(log) as opened:
        stored = opened.get(number)
        if json:
            _print_json(_plain(stored))
        else:
            print_entry(make_console(), stored, opened.history(number))


@app.command("similar")
def similar(
    like: Annotated[int | None, typer.Option(help="Cuts like this entry.")] = None,
    from_settings: Annotated[
        Path | None, typer.Option(help="Cuts like what `millcalc settings --json` advised.")
    ] = None,
    machine: Machine = None,
    material: Material = None,
    cutter: Cutter = None,
    rpm: Annotated[str | None, typer.Option(help="Spindle speed.")] = None,
    feed: Annotated[str | None, typer.Option(help="Feed.")] = None,
    ap: Annotated[str | None, typer.Option(help="Axial depth of cut.")] = None,
    ae: Annotated[str | None, typer.Option(help="Radial width of cut.")] = None,
    stickout: Annotated[str | None, typer.Option(help="From collet face to tip.")] = None,
    fields: Fields = None,
    only_machine: Annotated[bool, typer.Option("--only-machine", help="Leave other machines out.")] = False,
    count: Annotated[int, typer.Option(min=1, max=1000, help="Most cuts shown.")] = 5,
    units: UnitsOption = None,
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
    with _open(log) as opened:
        if like is not None:
            planned = PlannedCut.of(opened.get(like).entry)
        else:
            known = collect(opened, typed, fields or [], from_settings, None, None, None)
            planned = PlannedCut.of(
                entry_from({"when": datetime.now().astimezone(), "outcome": "good", **known})
            )
        found = [
            one
            for one in similar_cuts(opened, planned, count + (like is not None), only_machine=only_machine)
            if one.stored.number != like
        ]
    if json:
        _print_json(
            [
                {
                    **_plain(one.stored),
                    "distance": one.distance,
                    "word": one.word,
                    "differences": one.differences,
                }
                for one in found
            ]
        )
    else:
        print_similar(make_console(), found, support_words(found), _units(units))


@app.command("edit")
def edit(number: Number, fields: Fields = None, log: LogFile = None) -> None:
    """Correct an entry; what stood there before is kept."""
    from millcalc.cli.log_fields import parse_fields
    from millcalc.errors import UsageError

    if not fields:
        raise UsageError("nothing to change: give --set FIELD=VALUE; an empty VALUE makes a field unknown")
    with _open(log, write=True) as opened:
        opened.edit(number, parse_fields(fields, clear=True))
        typer.echo(f"entry {number} changed; `millcalc log undo` takes it back")


@app.command("remove")
def remove(number: Number, log: LogFile = None) -> None:
    """Take an entry out; it stays in the file, and undo brings it back."""
    with _open(log, write=True) as opened:
        opened.remove(number)
        typer.echo(f"entry {number} taken out; `millcalc log undo` brings it back")


@app.command("undo")
def undo(log: LogFile = None) -> None:
    """Take back the latest change: an addition, an import, an edit or a removal."""
    with _open(log, write=True) as opened:
        typer.echo(opened.undo())


@app.command("export")
def export(
    target: Annotated[Path, typer.Argument(help="File to write.")],
    form: Annotated[
        Format | None, typer.Option("--format", help="Left out, by the ending of the name.")
    ] = None,
    machine: Machine = None,
    material: Material = None,
    cutter: Cutter = None,
    force: Annotated[bool, typer.Option("--force", help="Replace a file that is there.")] = False,
    log: LogFile = None,
) -> None:
    """Write entries to CSV, JSON or Parquet."""
    from millcalc.cutlog.export import export_log

    chosen = form.value if form else target.suffix.lower().lstrip(".")
    with _open(log) as opened:
        number = export_log(opened, target, _query(machine, material, cutter), chosen, force=force)
    typer.echo(f"{number} entries written to {target}")


@app.command("import")
def import_file(
    source: Annotated[Path, typer.Argument(help="CSV, or JSON from an export.")],
    columns: Annotated[
        list[str] | None,
        typer.Option(
            "--map", help='COLUMN=FIELD or COLUMN=FIELD:UNIT, e.g. --map "Depth=axial_depth_mm:in".'
        ),
    ] = None,
    fields: Fields = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Only say what would be added.")] = False,
    skip_bad: Annotated[
        bool, typer.Option("--skip-bad", help="Add the good rows even if some are bad.")
    ] = False,
    log: LogFile = None,
) -> None:
    """Add entries from a file; the same file twice adds nothing twice."""
    from millcalc.cli.log_fields import split_fields
    from millcalc.cutlog.importing import import_entries, parse_mapping, read_entries
    from millcalc.errors import ManyErrors

    reading = read_entries(source, parse_mapping(columns or []), split_fields(fields or []))
    for name in reading.ignored:
        typer.echo(f"column {name!r} is not mapped and was left out")
    if reading.errors and not skip_bad and not dry_run:
        raise ManyErrors(reading.errors)
    for error in reading.errors:
        typer.echo(f"left out: {error}", err=True)
    with _open(log, write=not dry_run) if not dry_run or _exists(log) else _nothing() as opened:
        if opened is None:
            typer.echo(f"{len(reading.entries)} entries would be added to a new log")
        else:
            done = import_entries(opened, reading.entries, dry_run=dry_run)
            word = "would be added" if dry_run else "added"
            typer.echo(f"{done.added} entries {word}, {done.known} known already, {len(reading.errors)} bad")
    if reading.errors and dry_run:
        raise typer.Exit(1)


def _exists(path: Path | None) -> bool:
    from millcalc.cutlog.where import log_path

    return log_path(path, Path.cwd()).exists()


def _nothing() -> Any:
    from contextlib import nullcontext

    return nullcontext(None)


@app.command("learn")
def learn(
    machine: Machine = None,
    material: Annotated[str | None, typer.Option(help="Material for the chip limits; left out, all.")] = None,
    json: Json = False,
    log: LogFile = None,
) -> None:
    """What the outcomes say about this machine's limits."""
    from dataclasses import asdict

    from millcalc.cli.log_fields import chosen_machine
    from millcalc.cutlog.margins import learned_margins
    from millcalc.report.console import make_console
    from millcalc.report.log_text import print_margins

    with _open(log) as opened:
        margins = learned_margins(chosen_machine(opened, machine), material=material or "", log=opened)
    if json:
        _print_json(
            {
                "machine": margins.machine,
                "material": margins.material,
                "cuts": margins.cuts,
                "since": None if margins.since is None else margins.since.isoformat(),
                "margins": {kind: asdict(margin) for kind, margin in margins.by_kind.items()},
            }
        )
    else:
        print_margins(make_console(), margins)


@app.command("stats")
def stats(
    machine: Machine = None,
    material: Material = None,
    cutter: Cutter = None,
    plot: Annotated[
        Path | None, typer.Option(help="Also draw depth against chip to this .png, .svg or .pdf.")
    ] = None,
    json: Json = False,
    log: LogFile = None,
) -> None:
    """What worked by material and cutter, and how it drifts."""
    from dataclasses import replace

    from millcalc.cutlog.stats import depth_plot, drift, frame_of, what_worked
    from millcalc.report.console import make_console
    from millcalc.report.log_text import print_stats

    query = replace(_query(machine, material, cutter), limit=-1)
    with _open(log) as opened:
        frame = frame_of(
            stored.entry for stored in opened.iterate(query) if stored.entry.origin != "somebody"
        )
    if json:
        _print_json(
            {
                "worked": _records(what_worked(frame)),
                "drift": _records(drift(frame)),
            }
        )
    else:
        print_stats(make_console(), _records(what_worked(frame)), _records(drift(frame)))
    if plot is not None:
        drawn = depth_plot(frame, plot, " ".join(word for word in (machine, material, cutter) if word))
        typer.echo(f"{drawn} cuts drawn in {plot}", err=json)


def _records(frame: Any) -> list[dict[str, Any]]:
    """Rows of a table with None for what is unknown."""
    rows = frame.to_dict(orient="records")
    return [{key: None if value != value else value for key, value in row.items()} for row in rows]


@app.command("wear")
def wear(cutter: Cutter = None, log: LogFile = None) -> None:
    """Minutes each cutter has cut, against how long its like lasted."""
    from millcalc.cutlog.wear import cutter_wear
    from millcalc.report.console import make_console
    from millcalc.report.log_text import print_wear

    with _open(log) as opened:
        print_wear(make_console(), cutter_wear(opened, cutter or ""))


@app.command("machine-changed")
def machine_changed(
    what: Annotated[str, typer.Argument(help='What was changed, e.g. "stiffer Z plate".')],
    machine: Machine = None,
    since: Annotated[datetime | None, typer.Option(help="Since this day; left out, now.")] = None,
    log: LogFile = None,
) -> None:
    """Note an alteration: earlier cuts stay in the log but no longer teach."""
    from millcalc.cli.log_fields import chosen_machine
    from millcalc.cutlog.alterations import note_alteration

    with _open(log, write=True) as opened:
        noted = note_alteration(opened, chosen_machine(opened, machine), what, since)
        typer.echo(f"{noted.machine}: {noted.what}; only cuts since then are learned from")


@app.command("verify")
def verify(log: LogFile = None) -> None:
    """Check the log's file, its links and every entry."""
    from millcalc.cutlog.verify import verify_log
    from millcalc.report.console import make_console
    from millcalc.report.log_text import print_verdict

    with _open(log) as opened:
        verdict = verify_log(opened)
        print_verdict(make_console(), verdict, str(opened.path))
    if verdict.problems:
        raise typer.Exit(1)


@app.command("where")
def where(log: LogFile = None) -> None:
    """The file the log is kept in."""
    from millcalc.cutlog.where import log_path

    path = log_path(log, Path.cwd())
    typer.echo(f"{path}{'' if path.exists() else '  (not there yet)'}")
