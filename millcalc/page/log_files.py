"""The log as files: take it along, and bring entries in."""

from __future__ import annotations

import tempfile
from datetime import datetime
from pathlib import Path

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from millcalc.cutlog.query import Query
from millcalc.cutlog.store import Log
from millcalc.errors import InputError, LogError
from millcalc.page.forms import posted, text, upload
from millcalc.page.log import log_file, reading
from millcalc.page.plain import unoptioned
from millcalc.page.show import page

KINDS = {"csv": "text/csv", "json": "application/json"}


def exported(request: Request) -> Response:
    """Every entry as a file."""
    from millcalc.cutlog.export import export_log

    form = request.path_params["form"]
    log = reading()
    if form not in KINDS or log is None:
        raise LogError("nothing to take along", "a log with entries, as csv or json")
    with tempfile.TemporaryDirectory(prefix="millcalc-") as folder, log:
        target = Path(folder) / f"cuts.{form}"
        export_log(log, target, Query(), form)
        body = target.read_bytes()
    name = f"cuts-{datetime.now():%Y-%m-%d}.{form}"
    return Response(
        body, media_type=KINDS[form], headers={"content-disposition": f'attachment; filename="{name}"'}
    )


def imported(request: Request, form: FormData) -> Response:
    """Add the entries of a file: all of them, or none where a row is bad, unless bad rows may be left out."""
    from millcalc.cutlog.importing import import_entries, read_entries

    given = upload(form, "file")
    if given is None:
        raise InputError("no file", "a CSV or JSON file of cuts", "choose one")
    name, data = given
    ending = ".json" if name.lower().endswith(".json") else ".csv"
    with tempfile.TemporaryDirectory(prefix="millcalc-") as folder:
        path = Path(folder) / f"cuts{ending}"
        path.write_bytes(data)
        try:
            found = read_entries(path)
        except LogError as error:
            raise _without(error, folder) from None
    bad = [unoptioned(str(error).replace(str(path), "the file")) for error in found.errors]
    done = None
    if not bad or text(form, "skip_bad"):
        with Log(log_file()) as log:
            done = import_entries(log, found.entries)
    return page(
        request, "log_imported", status=200 if done else 422, done=done, bad=bad[:20], many=len(bad),
        ignored=found.ignored, good=len(found.entries),
    )  # fmt: skip


def _without(error: LogError, folder: str) -> LogError:
    """The same error without the name of a folder that is gone."""
    return LogError(
        error.found.replace(folder, ""), error.accepted, error.action, line=error.line, field=error.field
    )


ROUTES = [
    Route("/log/export/{form}", exported),
    Route("/log/import", posted(imported), methods=["POST"]),
]
