"""The form of a job: plate, zero, screws and clamps drawn in real millimetres; saved as the same job.yaml."""

from __future__ import annotations

from typing import Any

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from millcalc.errors import InputError, JobError
from millcalc.job import Job, job_text, load_job, parse_job
from millcalc.job.build import stock_plan_mm
from millcalc.job.fields import written_name
from millcalc.job.hold_fields import FIELDS
from millcalc.job.models import CORNERS
from millcalc.job.screws import load_screws
from millcalc.page.check import facts_of, folder_of, hold_kinds, submit
from millcalc.page.choices import choices
from millcalc.page.forms import posted, problems, text
from millcalc.page.job_fields import CLAMP, SCREW, JobFields, fields_of_form, fields_of_job, job_of_fields
from millcalc.page.place import JOB, JobFolder, save_job
from millcalc.page.show import page, units_of

HOLD_WORDS = {"area_mm2": "Area, such as 60 cm2", "shear_n_mm2": "Shear strength, such as 100 kPa",
              "pressure_n_mm2": "Vacuum at the gauge, such as 70 kPa", "force_n": "Force, such as 1500 N",
              "friction": "Friction, left out: 0.2", "count": "How many", "shank_diameter_mm": "Thread diameter",
              "depth_in_bed_mm": "Thread in the board", "length_mm": "Length", "thickness_mm": "Thickness"}  # fmt: skip


def base_job(folder: JobFolder) -> Job:
    """The job of a folder as it stands; an empty one while there is none."""
    return load_job(folder.job) if folder.job.is_file() else Job()


def edit(request: Request) -> Response:
    """The form as the job stands."""
    folder = folder_of(request)
    job = base_job(folder)
    from millcalc.page.remembered import remembered

    fields = fields_of_job(job, facts_of(folder).get("tools", []), units_of(request))
    if not folder.job.is_file():
        before = remembered(request.app.state.place.folder)
        own = next((one.name for one in choices()["machine"] if one.own), "")
        fields.plain["machine"] = before.get("machine", own)
        fields.plain["material"] = before.get("material", "")
    return _form(request, folder, fields, folder.stamp(), job)


def _form(
    request: Request,
    folder: JobFolder,
    fields: JobFields,
    stamp: str,
    job: Job,
    lines: list[str] | None = None,
    conflict: bool = False,
) -> Response:
    """The form with texts in it, and what was wrong with them."""
    return page(
        request,
        "job",
        status=409 if conflict else 422 if lines else 200,
        folder=folder,
        program=folder.program,
        fields=fields,
        stamp=stamp,
        now=folder.stamp(),
        lines=lines or [],
        conflict=conflict,
        choices=choices(),
        corners=CORNERS,
        screw_sizes=[one.name for one in load_screws().screws],
        screw_names=SCREW,
        clamp_names=CLAMP,
        holds=[kind for kind in hold_kinds() if kind != "unknown"],
        hold_fields={k: [(n, HOLD_WORDS.get(n, written_name(n))) for n in v] for k, v in FIELDS.items()},
        reach=_reach(folder, job),
        facts=facts_of(folder),
    )


def _reach(folder: JobFolder, job: Job) -> dict[str, float] | None:
    """Where the program goes at feed, on the plate from its front left corner [mm]; None where that is unknown."""
    facts, plan = facts_of(folder), stock_plan_mm(job)
    if plan is None or not facts.get("low") or not facts.get("high"):
        return None
    low, high = facts["low"], facts["high"]
    return {"x": low[0] - plan[0], "y": low[1] - plan[2], "w": high[0] - low[0], "h": high[1] - low[1]}


def saved(request: Request, form: FormData) -> Response:
    """Save the job, whole or not at all; then check it when that was asked for."""
    folder = folder_of(request)
    fields, units = fields_of_form(form), units_of(request)
    program = folder.program
    base = base_job(folder)
    stamp = text(form, "stamp")
    if text(form, "after") == "more":
        return _form(request, folder, with_row(fields, text(form, "row")), stamp, base)
    try:
        job = job_of_fields(fields, base, units, program.name if program is not None else "")
        written = job_text(job)
        parse_job(written, JOB)
        _known_names(job)
    except InputError as error:
        return _form(request, folder, fields, stamp, base, problems(error))
    try:
        save_job(folder, written, stamp)
    except JobError as error:
        return _form(request, folder, fields, stamp, base, problems(error), conflict=True)
    if text(form, "after") == "check":
        submit(request, "check", folder)
        return RedirectResponse(f"/job/{folder.name}", 303)
    return RedirectResponse(f"/job/{folder.name}/edit?saved=1", 303)


def _known_names(job: Job) -> None:
    from millcalc.job import build_setup
    from millcalc.tables import load_shop

    build_setup(job, None, load_shop())


def with_row(fields: JobFields, kind: str) -> JobFields:
    """The fields with an empty row more, for a browser without scripts.

    fields: As they are.
    kind: ``screw``, ``clamp`` or ``tool``.
    Returns: The same fields.
    """
    empty: dict[str, Any] = {"screw": (fields.screws, SCREW), "clamp": (fields.clamps, CLAMP)}
    if kind in empty:
        rows, names = empty[kind]
        rows.append(dict.fromkeys(names, ""))
    elif kind == "tool":
        numbers = [int(row["number"]) for row in fields.tools if row["number"].isdecimal()]
        fields.tools.append({"number": str(max(numbers, default=0) + 1), "cutter": "", "stickout": ""})
    return fields


ROUTES = [
    Route("/job/{job}/edit", edit),
    Route("/job/{job}/edit", posted(saved), methods=["POST"]),
]
