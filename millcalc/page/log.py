"""The log: the list, one entry with its like, what it has all taught."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from millcalc.cutlog.models import Entry
from millcalc.cutlog.query import Query
from millcalc.cutlog.questions import QUESTIONS
from millcalc.cutlog.store import Log
from millcalc.errors import LogError
from millcalc.page.cut_form import NAMES
from millcalc.page.forms import posted, text
from millcalc.page.plain import unoptioned
from millcalc.page.show import page, units_of
from millcalc.units_show import System

A_PAGE = 25
FILTERS = ("machine", "material", "cutter", "outcome", "text")


def log_file() -> Path:
    """The log that counts in the working folder."""
    from millcalc.cutlog.where import log_path

    return log_path(None, Path.cwd())


def reading() -> Log | None:
    """The log, to read from; None while there is none."""
    path = log_file()
    return Log(path, create=False, readonly=True) if path.is_file() and path.stat().st_size else None


def listed(request: Request) -> Response:
    """The cuts, the newest first, filtered."""
    given = {name: text(request.query_params, name) for name in FILTERS}
    skip = text(request.query_params, "from")
    offset = int(skip) if skip.isdecimal() and len(skip) < 7 else 0
    query = replace(Query(limit=A_PAGE, offset=offset), **given)  # type: ignore[arg-type]
    log = reading()
    found: list[Any] = []
    total = 0
    left_out: list[str] = []
    names: dict[str, list[str]] = {name: [] for name in NAMES}
    if log is not None:
        with log:
            found, total = log.find(query), log.count(query)
            left_out = [unoptioned(str(error)) for error in list(log.left_out.values())[:5]]
            names = {name: _names(log, name) for name in NAMES}
    units = units_of(request)
    rows = [row(stored.number, stored.entry, units) for stored in found]
    return page(
        request, "log", rows=rows, total=total, query=query, given=given, names=names, left_out=left_out,
        more=query.offset + A_PAGE if query.offset + A_PAGE < total else 0, path_of_log=str(log_file()),
    )  # fmt: skip


def _names(log: Log, field: str) -> list[str]:
    """Different names of a field in the log, to filter by."""
    from millcalc.cutlog.guard import guarded

    with guarded(log.path):
        rows = log.connection.execute(
            f"SELECT DISTINCT {field} FROM cuts WHERE removed = 0 LIMIT 200"
        ).fetchall()
    return sorted(str(name) for (name,) in rows if isinstance(name, str))


def row(number: int, entry: Entry, units: System) -> dict[str, str]:
    """An entry as a row of the list.

    number: Its number [-].
    entry: The cut.
    units: ``mm`` or ``in``.
    Returns: Texts.
    """
    from millcalc.units_show import show_feed_as_is, show_length, show_speed

    depth, width = entry.axial_depth_mm, entry.radial_width_mm
    feed, speed = entry.real_feed_mm_min, entry.speed_rpm
    numbers = [
        "" if speed is None else show_speed(speed),
        "" if feed is None else show_feed_as_is(feed, units),
        "" if depth is None else f"{show_length(depth, units)} deep",
        "" if width is None else f"{show_length(width, units)} wide",
    ]
    return {
        "number": str(number),
        "day": f"{entry.when.astimezone():%Y-%m-%d %H:%M}",
        "outcome": entry.outcome,
        "symptoms": ", ".join(entry.symptoms),
        "what": f"{entry.cutter} in {entry.material}",
        "machine": entry.machine,
        "numbers": ", ".join(one for one in numbers if one),
        "origin": "" if entry.origin == "own" else entry.origin,
    }


def shown(request: Request) -> Response:
    """One entry with everything known about it, who changed what when, and the cuts most like it."""
    from millcalc.cutlog.similar import PlannedCut, similar_cuts, support_words
    from millcalc.report.log_text import similar_line

    number, units = int(request.path_params["number"]), units_of(request)
    log = reading()
    if log is None:
        raise LogError(f"no entry {number}", "a number of the list", "the log is empty")
    with log:
        stored = log.get(number)
        history = log.history(number)
        like = [
            one for one in similar_cuts(log, PlannedCut.of(stored.entry), 6) if one.stored.number != number
        ]
    return page(
        request, "log_entry", stored=stored, row=row(number, stored.entry, units), fields=_known(stored.entry),
        history=history, like=[similar_line(one, units) for one in like], support=support_words(like),
        questions=QUESTIONS,
    )  # fmt: skip


def _known(entry: Entry) -> list[tuple[str, str]]:
    """Known fields and their values, as texts."""
    from millcalc.cutlog.export import plain_entry

    def words(value: Any) -> str:
        if isinstance(value, dict):
            return ", ".join(f"{name} {share:.2f}" for name, share in value.items())
        if isinstance(value, list):
            return ", ".join(map(str, value))
        return f"{value:.5g}" if isinstance(value, float) else str(value)

    return [(name, words(value)) for name, value in plain_entry(entry).items() if name != "uid"]


def changed(request: Request, form: FormData) -> Response:
    """Correct an entry, take it out, or take back the latest change; what stood there before is kept."""
    number, what = int(request.path_params["number"]), text(form, "what")
    with Log(log_file(), create=False) as log:
        if what == "remove":
            log.remove(number)
        elif what == "undo":
            log.undo()
        else:
            values: dict[str, Any] = {"notes": text(form, "notes")}
            for field, _, options in QUESTIONS:
                if text(form, field) in options:
                    values[field] = text(form, field)
            log.edit(number, values)
    return RedirectResponse(f"/log/{number}", 303)


def learnt(request: Request) -> Response:
    """What the outcomes say about each machine's limits, and about cutters and materials."""
    from millcalc.cutlog.alterations import alterations
    from millcalc.cutlog.margins import learned_margins
    from millcalc.cutlog.stats import frame_of, what_worked
    from millcalc.cutlog.wear import cutter_wear

    log = reading()
    machines: list[Any] = []
    worked: list[Any] = []
    wear: list[Any] = []
    if log is not None:
        with log:
            for name in _names(log, "machine"):
                machines.append((learned_margins(name, log=log), alterations(log, name)))
            entries = (
                one.entry for one in log.iterate(replace(Query(), limit=-1)) if one.entry.origin != "somebody"
            )
            worked = what_worked(frame_of(entries)).to_dict(orient="records")
            wear = cutter_wear(log)
    return page(request, "log_learnt", machines=machines, worked=worked, wear=wear)


def altered(request: Request, form: FormData) -> Response:
    """Note that a machine was altered: earlier cuts stay but no longer teach."""
    from millcalc.cutlog.alterations import note_alteration

    with Log(log_file()) as log:
        note_alteration(log, text(form, "machine"), text(form, "what"))
    return RedirectResponse("/log/learnt", 303)


ROUTES = [
    Route("/log", listed),
    Route("/log/learnt", learnt),
    Route("/log/altered", posted(altered), methods=["POST"]),
    Route("/log/{number:int}", shown),
    Route("/log/{number:int}", posted(changed), methods=["POST"]),
]
