"""How a cut went, by thumb: everything known is filled in, and only what the person saw is asked."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from millcalc import units as units_read
from millcalc.cutlog.models import SYMPTOMS
from millcalc.cutlog.questions import QUESTIONS
from millcalc.cutlog.store import Log
from millcalc.errors import InputError, LogError
from millcalc.page.choices import CUTS, choices
from millcalc.page.cut_form import NAMES
from millcalc.page.forms import posted, read, text
from millcalc.page.log import log_file, row
from millcalc.page.place import RESULT
from millcalc.page.plain import unoptioned
from millcalc.page.show import page, units_of
from millcalc.units_show import System

SOURCE = ("from", "job", "tool")
NUMBERS = (
    ("speed_rpm", "rpm", "Speed, rev/min"),
    ("feed_mm_min", "feed", "Feed"),
    ("axial_depth_mm", "ap", "Depth a pass"),
    ("radial_width_mm", "ae", "Width"),
    ("stickout_mm", "stickout", "Stickout"),
    ("cut_minutes", "minutes", "Minutes in the cut"),
)


def asked(request: Request) -> Response:
    """How did it go: the five answers, with everything known filled in."""
    source = {name: text(request.query_params, name) for name in SOURCE}
    units = units_of(request)
    known, title = known_of(request, source)
    filled = {name: str(known[name]) for name in (*NAMES, "operation") if known.get(name)}
    for field, key, _ in NUMBERS:
        value = known.get(field)
        if value is not None:
            lengthy = field in ("feed_mm_min", "axial_depth_mm", "radial_width_mm", "stickout_mm")
            filled[key] = bare(value, units) if lengthy else f"{value:.5g}"
    return _ask(request, {**source, **filled, "title": title})


def known_of(request: Request, source: Mapping[str, str]) -> tuple[dict[str, Any], str]:
    """Fields of an entry from an advice of this sitting, or from the check of a job.

    request: Whose sitting.
    source: ``from`` names an advice; ``job`` and ``tool`` a job and one of its tools.
    Returns: Fields, empty for a cut told by hand; and what it was.
    """
    from millcalc.cutlog import fill

    if source["from"]:
        from millcalc.advise.bare_shares import bare_shares
        from millcalc.page.settings import kept
        from millcalc.report.advice_json import advice_data

        advice = kept(request, source["from"]).advice
        title = f"{advice.tooling.cutter.title} in {advice.tooling.material.title}"
        return fill.from_settings(advice_data(advice, bare_shares(advice))), title
    if source["job"]:
        folder = request.app.state.place.get(source["job"])
        data = fill.load_report(folder.path / RESULT / "check.json", fill.CHECK_SCHEMA)
        tool = source["tool"]
        known = fill.from_check(data, int(tool) if tool.isdecimal() and len(tool) < 7 else None)
        program = folder.program
        return known, f"{program.name if program else folder.name}{f', T{tool}' if tool else ''}"
    return {}, ""


def bare(value_mm: float, units: System) -> str:
    """A length or feed as a form shows it: a bare number in the units shown.

    value_mm: In mm or mm/min.
    units: ``mm`` or ``in``.
    """
    value = value_mm / 25.4 if units == "in" else value_mm
    return f"{round(value, 4 if units == 'in' else 3):g}"


def _ask(request: Request, filled: Mapping[str, str], lines: list[str] | None = None) -> Response:
    by_hand = not filled.get("from") and not filled.get("job")
    return page(
        request, "log_new", status=422 if lines else 200, filled={"operation": "slot", **filled}, lines=lines or [],
        questions=QUESTIONS, symptoms=SYMPTOMS, numbers=NUMBERS, uid=filled.get("uid") or secrets.token_hex(16),
        by_hand=by_hand, choices=choices() if by_hand else {}, cuts=CUTS, source=SOURCE,
    )  # fmt: skip


def added(request: Request, form: FormData) -> Response:
    """Log the cut, once however often the button is pressed, and say what it changes."""
    from millcalc.cutlog.next_time import next_settings, next_time
    from millcalc.cutlog.predict import predicted
    from millcalc.cutlog.rows import entry_from
    from millcalc.page.forms import problems

    units = units_of(request)
    try:
        known = fields_of(request, form, units)
        with Log(log_file()) as log:
            again = _already(log, known["uid"])
            if again is not None:
                return RedirectResponse(f"/log/{again}", 303)
            known |= _from_tables(log, known)
            why_not = ""
            if not known.get("shares"):
                computed, why_not = predicted(known)
                known = {**computed, **known, "shares": computed.get("shares", {})}
            entry = entry_from(known)
            before = next_settings(log, known)
            stored = log.add(entry)
            said = next_time(entry, before, next_settings(log, known), units) if entry.shares else ""
    except InputError as error:
        filled = {key: value for key, value in form.items() if isinstance(value, str)}
        return _ask(request, filled, problems(error))
    told = said or f"this entry changes no advice: {unoptioned(why_not)}"
    return page(
        request, "log_added", number=stored.number, told=told, row=row(stored.number, stored.entry, units)
    )


def _already(log: Log, uid: str) -> int | None:
    """The number of the entry that this very form made before."""
    from millcalc.cutlog.guard import guarded

    with guarded(log.path):
        found = log.connection.execute("SELECT number FROM cuts WHERE uid = ?", (uid,)).fetchone()
    return int(found[0]) if found else None


def _from_tables(log: Log, known: dict[str, Any]) -> dict[str, Any]:
    from millcalc.cutlog import fill
    from millcalc.cutlog.wear import age_min

    found = fill.from_tables(known)
    age = age_min(log, str(known.get("cutter", "")), str(known.get("bit", "")))
    return found if age is None else {**found, "bit_age_min": age}


def fields_of(request: Request, form: FormData, units: System) -> dict[str, Any]:
    """Fields of an entry from an advice of this sitting, and what was answered and changed.

    request: Whose sitting.
    form: As sent.
    units: Unit of bare numbers.
    Returns: Values by field.
    Raises InputError: If something cannot be read, or nothing says how it went.
    """
    from millcalc.cutlog import fill

    known, _ = known_of(request, {name: text(form, name) for name in SOURCE})
    typed: dict[str, Any] = {field: text(form, field) for field in NAMES if text(form, field)}
    if text(form, "operation"):
        typed["operation"] = text(form, "operation")
    for field, key, title in NUMBERS:
        value = _number(form, field, key, title, units)
        if value is not None and not _same(known.get(field), value):
            typed[field] = value
    known, _ = fill.put_over(known, typed)
    for field, _, options in QUESTIONS:
        answer = text(form, field)
        if answer in options:
            known[field] = answer
    if "outcome" not in known:
        raise LogError("no answer", "good, acceptable or failed", "say how it went", field="how it went")
    symptoms = [one for one in form.getlist("symptoms") if one in SYMPTOMS]
    known |= {"symptoms": symptoms, "notes": text(form, "notes"), "bit": text(form, "bit")}
    override = read(form, "override", "knob", _percent)
    uid = text(form, "uid")
    known |= {"override_percent": override} if override is not None else {}
    known["uid"] = uid if len(uid) == 32 else secrets.token_hex(16)
    known["when"] = datetime.now().astimezone()
    return known


def _number(form: FormData, field: str, key: str, title: str, units: System) -> float | None:
    if field == "speed_rpm":
        return read(form, key, title, units_read.speed_rpm)
    if field == "feed_mm_min":
        return read(form, key, title, units_read.feed_mm_min, f"{units}/min")
    if field == "cut_minutes":
        return read(form, key, title, _minutes)
    return read(form, key, title, units_read.length_mm, units)


def _same(known: Any, typed: float) -> bool:
    """Whether a number is the filled-in one as the form showed it."""
    return isinstance(known, (int, float)) and abs(known - typed) <= 2e-3 * max(abs(known), abs(typed))


def _minutes(value: str) -> float:
    return units_read.time_s(value, "min") / 60.0


def _percent(value: str) -> float:
    try:
        found = float(value.replace("%", "").replace(",", "."))
    except ValueError:
        raise ValueError(f"found {value!r}; write a number such as 100") from None
    if not 0 < found <= 1000:
        raise ValueError(f"found {value!r}; write 1 to 1000")
    return found


ROUTES = [
    Route("/log/new", asked),
    Route("/log/new", posted(added), methods=["POST"]),
]
