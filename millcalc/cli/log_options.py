"""What the commands of ``millcalc log`` share: options, opening the log, printing JSON."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from millcalc.cli.say import say
from millcalc.errors import InputError

if TYPE_CHECKING:
    from millcalc.cutlog.query import Query
    from millcalc.cutlog.store import Log

LogFile = Annotated[Path | None, typer.Option("--log", help="Log file; left out, the person's own.")]
Number = Annotated[int, typer.Argument(help="Number of the entry, as `millcalc log list` shows it.")]
Fields = Annotated[
    list[str] | None, typer.Option("--set", help='FIELD=VALUE, repeatable, e.g. --set "drop_mm=60 mm".')
]


_MOST_NAMED = 10


def open_log(path: Path | None, *, write: bool = False) -> Log:
    """Open the log that was asked for.

    path: What ``--log`` said.
    write: Whether it will be changed; it is then made when it is not there.
    Returns: Open log.
    """
    from millcalc.cutlog.store import Log
    from millcalc.cutlog.where import log_path

    return Log(log_path(path, Path.cwd()), create=write, readonly=not write)


@contextmanager
def read_log(path: Path | None) -> Iterator[Log]:
    """Open the log to read from it; at the end name what could not be read, and end with exit code 1 then.

    path: What ``--log`` said.
    Yields: Open log.
    """
    with open_log(path) as opened:
        yield opened
        if name_left_out(opened):
            raise typer.Exit(1)


def name_left_out(log: Log) -> int:
    """Name the entries that could not be read, and what to do about each.

    log: Open log.
    Returns: How many there are [-].
    """
    for error in list(log.left_out.values())[:_MOST_NAMED]:
        say(f"left out: {error}", err=True)
    if len(log.left_out) > _MOST_NAMED:
        say(f"left out: {len(log.left_out) - _MOST_NAMED} more; `millcalc log verify` names them", err=True)
    return len(log.left_out)


def print_json(data: Any) -> None:
    """Print data as JSON.

    data: JSON-ready.
    """
    import json

    say(json.dumps(data, indent=2, ensure_ascii=False))


def plain_stored(stored: Any) -> dict[str, Any]:
    """An entry with its number as JSON-ready data.

    stored: The entry.
    Returns: Its known fields.
    """
    from millcalc.cutlog.export import plain_entry

    return {"number": stored.number, "removed": stored.removed, **plain_entry(stored.entry)}


def plain_raw(raw: Any) -> dict[str, Any]:
    """A row that cannot be read, as JSON-ready data.

    raw: The row.
    Returns: Its values by column; bytes that are no text as Python writes them.
    """
    return {name: repr(value) if isinstance(value, bytes) else value for name, value in raw.values.items()}


def check_day(option: str, day: datetime | None) -> None:
    """Refuse a day that no clock of a log can show.

    option: Its name on the command line.
    day: As given.
    Raises InputError: Before 1970 or after 9000.
    """
    if day is not None and not 1970 <= day.year <= 9000:
        raise InputError(f"{day:%d %b} of the year {day.year}", "a day from 1970 to 9000", field=option)


def query_of(
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
    """Which entries the options ask for.

    machine, material, cutter, outcome, text, program: Option values.
    since, until: From (included) and before (excluded).
    removed: Those that were taken out.
    limit: How many [-].
    Returns: For the log.
    """
    from millcalc.cutlog.query import Query

    check_day("--since", since)
    check_day("--until", until)
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
