"""The flow of measuring: which machine, which procedure, step by step, and the result into the own machine file."""

from __future__ import annotations

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from millcalc.errors import InputError
from millcalc.page.choices import choices
from millcalc.page.forms import posted, problems, text
from millcalc.page.measuring import MARKS, PROCEDURES, PULLS, SERIES, Procedure, steps_of
from millcalc.page.remembered import remember, remembered
from millcalc.page.show import page
from millcalc.tables import load_machine


def _machine(request: Request) -> str:
    before = remembered(request.app.state.place.folder).get("machine", "")
    own = next((one.name for one in choices()["machine"] if one.own), "")
    return text(request.query_params, "machine") or before or own


def start(request: Request) -> Response:
    """Choose a machine and what to measure."""
    name = _machine(request)
    facts = []
    if name:
        row = load_machine(name)
        facts = [
            (field, field in row.measured or any(m.startswith(field) for m in row.measured))
            for field in MEASURED
        ]
    return page(
        request,
        "machine",
        machine=name,
        all_=choices()["machine"],
        procedures=PROCEDURES.values(),
        facts=facts,
    )


MEASURED = ("stiffness_n_um", "spindle.runout_mm", "spindle.dial", "modes", "thrust_n", "acceleration_mm_s2",
            "max_feed_mm_min")  # fmt: skip


def _procedure(request: Request) -> Procedure:
    found = PROCEDURES.get(request.path_params["key"])
    if found is None:
        raise HTTPException(404)
    return found


def steps(request: Request) -> Response:
    """One procedure: what to do, and the values."""
    return _form(request, _procedure(request), {}, _machine(request))


def _form(
    request: Request,
    procedure: Procedure,
    filled: dict[str, str],
    machine: str,
    lines: list[str] | None = None,
) -> Response:
    from millcalc.measure.how import BEFORE

    return page(
        request, "measure", status=422 if lines else 200, procedure=procedure, steps=steps_of(procedure.key),
        before=BEFORE, filled=filled, machine=machine, lines=lines or [], choices=choices(), series=range(SERIES),
        pulls=PULLS, marks=range(MARKS),
    )  # fmt: skip


def measured(request: Request, form: FormData) -> Response:
    """What the values say; written into the person's machine file when that was asked for."""
    from millcalc.measure.machine_file import target_file, write_change
    from millcalc.report.measure_text import change_lines

    procedure = _procedure(request)
    name = text(form, "machine")
    filled = {key: value for key, value in form.items() if isinstance(value, str)}
    try:
        if not name:
            raise InputError("no machine", "the machine that was measured", "choose it", field="machine")
        machine = load_machine(name)
        found = procedure.find(form, machine)
        target, based_on = target_file(machine, text(form, "into") or None)
        written = None
        if text(form, "write") and found.change is not None:
            written = write_change(target, based_on, machine, found.change)
            remember(request.app.state.place.folder, machine=written.path.stem)
    except InputError as error:
        return _form(request, procedure, filled, name, problems(error))
    change = change_lines(found.change) if found.change is not None else []
    return page(
        request, "measured", procedure=procedure, found=found, change=change, target=target, written=written,
        machine=machine, filled={k: v for k, v in filled.items() if k not in ("csrf", "write")},
    )  # fmt: skip


ROUTES = [
    Route("/machine", start),
    Route("/machine/{key}", steps),
    Route("/machine/{key}", posted(measured), methods=["POST"]),
]
