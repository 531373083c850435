"""Proof strips: written for scrap from an advice, cut, and their result turned into settings and entries of the log."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from millcalc import units as units_read
from millcalc.advise.tuning import STRIP_THICKEST_MM
from millcalc.errors import InputError
from millcalc.files import write_text
from millcalc.page.check import bench_of, folder_of
from millcalc.page.forms import posted, read, text
from millcalc.page.place import RESULT, JobFolder
from millcalc.page.settings import kept
from millcalc.page.show import session_of, units_of

LADDERS = ("depth", "chip")


def written(request: Request, form: FormData) -> Response:
    """Write a strip for the cut of an advice, as a job of its own."""
    from millcalc.cutlog.taught import refuse_untrusted

    one, ladder = kept(request, request.path_params["name"]), text(form, "ladder") or "depth"
    if ladder not in LADDERS:
        raise InputError(repr(ladder), " or ".join(LADDERS), field="what rises")
    thick = read(form, "scrap", "thickness of the scrap", units_read.length_mm, one.units)
    if thick is None or not 0 < thick <= STRIP_THICKEST_MM:
        raise InputError(
            "no thickness" if thick is None else f"{thick:g} mm",
            f"more than 0 and at most {STRIP_THICKEST_MM:g} mm",
            field="thickness of the scrap",
        )
    refuse_untrusted(one.advice.tooling)
    folder = request.app.state.place.empty("proof")
    order = {"tooling": one.advice.tooling, "ladder": ladder, "thickness_mm": thick, "units": one.units,
             "out": str(folder.path / RESULT)}  # fmt: skip
    bench_of(request).submit("proof", folder.name, order, session_of(request).name)
    return RedirectResponse(f"/job/{folder.name}", 303)


def strip_of(folder: JobFolder) -> dict[str, Any] | None:
    """The proof strip that a job is; None when it is another program.

    folder: The job.
    Returns: Its steps, what rises, and its card.
    Raises InputError: If its record cannot be used, or the program was changed.
    """
    from millcalc.advise.proof_keep import card_path
    from millcalc.advise.proof_record import read_record, record_path

    program = folder.program
    if program is None or not record_path(program).is_file():
        return None
    record = read_record(program)
    try:
        card = card_path(program).read_text(encoding="utf-8")
    except OSError:
        card = ""
    return {"steps": [step.number for step in record.steps], "ladder": record.ladder, "card": card}


def result(request: Request, form: FormData) -> Response:
    """After the cut: the step that went best, and the first that failed; logged, and told as settings."""
    from millcalc.advise.proof_record import read_record
    from millcalc.advise.proof_result import decide
    from millcalc.cutlog.models import SYMPTOMS
    from millcalc.report.answer_page import answer_page
    from millcalc.report.proven_text import print_proven
    from millcalc.tables import load_cautions, load_material

    folder, units = folder_of(request), units_of(request)
    if strip_of(folder) is None or folder.program is None:
        raise InputError("a job that is no proof strip", "a strip that this page wrote")
    best, failed = _step(form, "best"), _step(form, "failed")
    if best is None:
        raise InputError("no step", "the number of the step that went best", field="best step")
    symptoms = [str(one) for one in form.getlist("symptoms") if one in SYMPTOMS]
    if symptoms and failed is None:
        raise InputError(
            "what went wrong, but no step", "the first step that failed", field="first that failed"
        )
    proven = decide(read_record(folder.program), best, failed, units)
    said = _log(proven, symptoms, text(form, "notes"))
    cautions = {key: item.text for key, item in load_cautions().items()}
    page = answer_page(
        f"Proven: {proven.record.cutter_title} in {proven.record.material_title}", said, "note", (),
        lambda to: print_proven(to, proven, cautions, load_material(proven.record.material), units), units,
    )  # fmt: skip
    (folder.path / RESULT).mkdir(exist_ok=True)
    write_text(folder.path / RESULT / "proven.html", page, replace=True)
    return RedirectResponse(f"/job/{folder.name}/shown/proven", 303)


def _step(form: FormData, name: str) -> int | None:
    given = text(form, name)
    if given and (not given.isdecimal() or len(given) > 4):
        raise InputError(repr(given), "the number of a step", field=name)
    return int(given) if given else None


def _log(proven: Any, symptoms: list[str], notes: str) -> str:
    """Log the steps that are not in the log yet, all or none; what was logged, in words."""
    from millcalc.cutlog.proofs import entries_from, logged_as
    from millcalc.cutlog.store import Log
    from millcalc.cutlog.where import log_path

    entries = entries_from(proven, datetime.now().astimezone(), symptoms, notes)
    with Log(log_path(None, Path.cwd()), create=True, readonly=False) as opened:
        new = [entry for entry in entries if logged_as(opened, entry) is None]
        stored = opened.add_many(new, "add")
    numbers = " and ".join(str(one.number) for one in stored)
    return f"Logged as entry {numbers}" if stored else "These steps are in the log already"


ROUTES = [
    Route("/settings/proof/{name}", posted(written), methods=["POST"]),
    Route("/job/{job}/proof", posted(result), methods=["POST"]),
]
