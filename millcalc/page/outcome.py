"""What came of a check: verdict, findings to quiet with a reason, copies to take, the report and the sheet."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from millcalc.errors import InputError
from millcalc.page.check import bench_of, folder_of, said, stamp_of, submit
from millcalc.page.forms import posted, text
from millcalc.page.place import JOB, RESULT, JobFolder, save_job
from millcalc.page.plain import document
from millcalc.page.show import own_document, page

FORMS = {
    "findings": "check.json",
    "sarif": "findings.sarif",
    "motions": "motions.csv",
}  # a check, for other programs
COPIES = ("corrected", "lifted", "restart")
FINDINGS_FIRST, FINDINGS_SHOWN = 6, 60  # told at once, and behind a button


def outcome(request: Request) -> Response:
    """The page of a job: what runs, and what was found last."""
    folder = folder_of(request)
    bench = bench_of(request)
    task = bench.of(folder.name)
    report = report_of(folder)
    from millcalc.cutlog.models import SYMPTOMS
    from millcalc.page.proof import strip_of
    from millcalc.report.headline import banner

    return page(
        request,
        "outcome",
        folder=folder,
        program=folder.program,
        task=task if task is not None and (task.live or task.state != "done") else None,
        said=said(task, bench.before(task)) if task is not None else "",
        report=report,
        headline=banner(report) if report is not None else "",
        blocks=report.told() if report is not None else (),
        stale=report is not None and _read(folder, "stamp") != stamp_of(folder),
        first=FINDINGS_FIRST,
        shown=FINDINGS_SHOWN,
        copies=[made for name in COPIES if (made := copy_of(folder, name)) is not None],
        has_job=folder.job.is_file(),
        screws=screws_of(folder),
        forms=forms_of(folder),
        documents={key: title for key, title in DOCUMENTS.items() if _read(folder, f"{key}.html")},
        strip=strip_of(folder),
        symptoms=SYMPTOMS,
    )


def report_of(folder: JobFolder) -> Any:
    """The result of the last check; None when there is none."""
    from millcalc.check.model import CheckReport

    try:
        return CheckReport.model_validate_json(_read(folder, "check.json"))
    except ValueError:
        return None


def _read(folder: JobFolder, name: str) -> str:
    try:
        return (folder.path / RESULT / name).read_text(encoding="utf-8")
    except (OSError, ValueError):
        return ""


def copy_of(folder: JobFolder, name: str) -> dict[str, Any] | None:
    """What is said about a copy; None when there is none.

    folder: The job.
    name: One of :data:`COPIES`.
    Returns: Title, sentences, changes, what is left, and the name of its file.
    """
    try:
        data = json.loads(_read(folder, f"{name}.json"))
    except ValueError:
        return None
    return {**data, "name": name} if isinstance(data, dict) else None


def forms_of(folder: JobFolder) -> list[str]:
    """Forms in which the last check can be taken, as far as they are of the program and job as they are now."""
    try:
        of = json.loads(_read(folder, "motions.json"))["stamp"]
    except (ValueError, TypeError, KeyError):
        of = ""
    found = {"findings": _read(folder, "stamp"), "sarif": _read(folder, "stamp"), "motions": of}
    now = stamp_of(folder)
    return [
        key for key, stamp in found.items() if stamp == now and (folder.path / RESULT / FORMS[key]).is_file()
    ]


def quiet(request: Request, form: FormData) -> Response:
    """Accept a finding's code in the job, with the reason, or take that back; then check again."""
    from millcalc.check.codes import known_codes
    from millcalc.job import job_text, load_job
    from millcalc.job.models import Quieted

    folder = folder_of(request)
    code, reason = text(form, "code").upper(), text(form, "reason")
    if not folder.job.is_file():
        raise InputError("no job", "a job that can keep the reason", "fill in the job first")
    stamp = folder.stamp()
    job = load_job(folder.job)
    kept = tuple(one for one in job.quiet if one.code != code)
    if not text(form, "take_back"):
        if code not in known_codes():
            raise InputError(repr(code), "the code of a finding", field="code")
        if len(reason) < 3:
            raise InputError(repr(reason), "why it is accepted; it is printed on the sheet", field="reason")
        kept = (*kept, Quieted(code=code, reason=reason))
    save_job(folder, job_text(job.model_copy(update={"quiet": kept})), stamp)
    submit(request, "check", folder)
    return RedirectResponse(f"/job/{folder.name}", 303)


def screws_of(folder: JobFolder) -> dict[str, Any] | None:
    """Proposed screws of a job; None when there are none, or they are in the job already."""
    try:
        data = json.loads(_read(folder, "screws.json"))
    except ValueError:
        return None
    return data if isinstance(data, dict) and data.get("stamp") == folder.stamp() else None


def take_screws(request: Request, _form: FormData) -> Response:
    """Put the proposed screws into the job, unless it was changed since; then check again."""
    folder = folder_of(request)
    found, text_of_job = screws_of(folder), _read(folder, "screws.job.yaml")
    if found is None or not found["places"] or not text_of_job:
        raise InputError(
            "no proposal for the job as it is now", "screws that were looked for", "look for them again"
        )
    save_job(folder, text_of_job, found["stamp"])
    submit(request, "check", folder)
    return RedirectResponse(f"/job/{folder.name}", 303)


def report(request: Request) -> Response:
    """The report page of a check, under the policy that it carries itself."""
    return _document(folder_of(request), "report.html")


DOCUMENTS = {"compared": "Compared with another version", "proven": "What the strip proved"}


def document_drawn(request: Request) -> Response:
    """A comparison with another version, or what a strip proved."""
    return _document(folder_of(request), request.url.path.rsplit("/", 1)[1] + ".html")


def document_shown(request: Request) -> Response:
    """The page around such a document."""
    what = request.path_params["what"]
    if what not in DOCUMENTS:
        raise HTTPException(404)
    return page(request, "job_document", folder=folder_of(request), what=what, title=DOCUMENTS[what])


def sheet(request: Request) -> Response:
    """The sheet for the machine."""
    return _document(folder_of(request), "sheet.html")


def _document(folder: JobFolder, name: str) -> Response:
    return own_document(document(_read(folder, name)))


def file(request: Request) -> Response:
    """Take a file home: the program, its job, a copy."""
    folder, key = folder_of(request), request.path_params["key"]
    path: Path | None = None
    if key == "program":
        path = folder.program
    elif key == "job":
        path = folder.path / JOB
    elif key in FORMS and key in forms_of(folder):
        path = folder.path / RESULT / FORMS[key]
    elif key in COPIES:
        made = copy_of(folder, key)
        path = folder.path / RESULT / made["file"] if made and made.get("file") else None
    if path is None or not path.is_file() or folder.path.resolve() not in path.resolve().parents:
        raise HTTPException(404, "there is no such file")
    name = path.name if key in ("program", "job") else f"{(folder.program or path).stem}-{path.name}"
    return Response(
        path.read_bytes(),
        media_type="application/octet-stream",
        headers={"content-disposition": f'attachment; filename="{name}"'},
    )


ROUTES = [
    Route("/job/{job}", outcome),
    Route("/job/{job}/quiet", posted(quiet), methods=["POST"]),
    Route("/job/{job}/screws", posted(take_screws), methods=["POST"]),
    Route("/job/{job}/report", report),
    Route("/job/{job}/sheet", sheet),
    Route("/job/{job}/compared", document_drawn),
    Route("/job/{job}/proven", document_drawn),
    Route("/job/{job}/shown/{what}", document_shown),
    Route("/job/{job}/file/{key}", file),
]
