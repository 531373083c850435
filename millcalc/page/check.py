"""The flow of a check, up to its start: take a program, make its job by a form, put it on the bench."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any, get_args

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from millcalc.errors import InputError
from millcalc.files import new_file
from millcalc.job import Job, job_text
from millcalc.page.bench import Bench, Task
from millcalc.page.forms import posted, text, upload, uploads
from millcalc.page.place import RESULT, JobFolder, plain_name, save_job
from millcalc.page.plain import unoptioned
from millcalc.page.show import page, session_of, units_of
from millcalc.shown import shown

RUN_KINDS = ("check", "correct", "lift", "restart", "screws", "compare", "table")
JOB_ENDINGS = (".yaml", ".yml")
FACTS_SECONDS = 20.0  # the form of a job waits as long for what its program needs, then comes without


def bench_of(request: Request) -> Bench:
    """The bench of this server."""
    found: Bench = request.app.state.bench
    return found


def folder_of(request: Request) -> JobFolder:
    """The job that an address names."""
    found: JobFolder = request.app.state.place.get(request.path_params["job"])
    return found


def start(request: Request) -> Response:
    """Choose programs, or go on with a job; of each what came of its check."""
    jobs = request.app.state.place.all()
    live = any((task := bench_of(request).of(one.name)) is not None and task.live for one in jobs)
    return page(request, "check", jobs=[(one, told_of(request, one)) for one in jobs], live=live)


def told_of(request: Request, folder: JobFolder) -> str:
    """What is known of a job in a few words: what runs, or what its check said; empty while there is none."""
    bench = bench_of(request)
    task = bench.of(folder.name)
    if task is not None and task.live:
        return said(task, bench.before(task))
    try:
        return (folder.path / RESULT / "verdict").read_text(encoding="utf-8")
    except (OSError, ValueError):
        return ""


def taken(request: Request, form: FormData) -> Response:
    """Programs were sent: each gets a job of its own. Of one the form of its job opens; several are checked at once."""
    given = uploads(form, "program")
    programs = [one for one in given if not one[0].lower().endswith(JOB_ENDINGS)]
    jobs = [one for one in given if one[0].lower().endswith(JOB_ENDINGS)]
    if not programs:
        raise InputError("no file", "a G-code program", "choose one, or drop it on the field")
    if len(jobs) > 1:
        raise InputError(
            f"{len(jobs)} job files", "one job file for these programs", "send the others by themselves"
        )
    for name, data in programs:
        if not data:
            raise InputError(
                "an empty file",
                "a G-code program",
                "look whether it was stored to its end",
                file=shown(name[:80]),
            )
    job = _job_sent(*jobs[0]) if jobs else None
    folders = [_new(request, name, data, job) for name, data in programs]
    if len(folders) == 1:
        return _opened(request, folders[0])
    for folder in folders:
        submit(request, "check", folder)
    return RedirectResponse("/check", 303)


def _job_sent(name: str, data: bytes) -> Job:
    """A job file that came with programs; refused whole before any of them is stored."""
    from millcalc.job.read import parse_job

    try:
        return parse_job(data.decode("utf-8-sig"), shown(name[:80]))
    except UnicodeDecodeError:
        raise InputError("bytes that are no text", "a job file in UTF-8", file=shown(name[:80])) from None


def _new(request: Request, name: str, data: bytes, job: Job | None) -> JobFolder:
    folder: JobFolder = request.app.state.place.new(name, data)
    if job is not None and folder.program is not None:
        save_job(folder, job_text(job.model_copy(update={"program": folder.program.name})), "")
    return folder


def demo(request: Request, form: FormData) -> Response:
    """The weather station's plate, as a job of one's own."""
    from millcalc.tables import demo_root

    source = demo_root() / "sensor_plate"
    name = "bad.nc" if text(form, "program") == "bad" else "good.nc"
    folder = request.app.state.place.new("sensor-plate.nc", (source / name).read_bytes())
    job = (
        (source / "job.yaml")
        .read_text(encoding="utf-8")
        .replace("program: good.nc", "program: sensor-plate.nc")
    )
    save_job(folder, job, "")
    return _opened(request, folder)


def _opened(request: Request, folder: JobFolder) -> Response:
    task = submit(request, "facts", folder)
    task.over.wait(FACTS_SECONDS)
    return RedirectResponse(f"/job/{folder.name}/edit", 303)


def facts_of(folder: JobFolder) -> dict[str, Any]:
    """What was read of a program for its form; empty while it was not."""
    try:
        data = json.loads((folder.path / RESULT / "facts.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return data if isinstance(data, dict) else {}


def submit(request: Request, kind: str, folder: JobFolder, **more: Any) -> Task:
    """Put a task of a job on the bench.

    request: Who asks.
    kind: See :mod:`millcalc.page.worker`.
    folder: The job.
    **more: What the kind needs besides.
    Returns: The task.
    Raises InputError: If the folder holds no program, or several and no job that names one.
    """
    program = folder.program
    if program is None:
        raise InputError("no program in this job", "one program file", "send it again as a new job")
    order = {
        "program": str(program),
        "job": str(folder.job) if folder.job.is_file() else None,
        "out": str(folder.path / RESULT),
        "units": units_of(request),
        "stamp": stamp_of(folder),
        **more,
    }
    return bench_of(request).submit(kind, folder.name, order, session_of(request).name)


def stamp_of(folder: JobFolder) -> str:
    """Fingerprint of what a check looks at: program and job as they are now."""
    program = folder.program
    data = program.read_bytes() if program is not None else b""
    return hashlib.sha256(data).hexdigest()[:16] + folder.stamp()[:16]


def run(request: Request, form: FormData) -> Response:
    """Start a check or a copy, and go to the job's page."""
    from millcalc import units as units_read
    from millcalc.page.forms import read

    folder, kind = folder_of(request), request.path_params["kind"]
    more: dict[str, Any] = {}
    if kind not in RUN_KINDS:
        raise InputError(repr(kind), ", ".join(RUN_KINDS))
    if kind == "lift":
        more["by_mm"] = read(form, "by", "how much higher", units_read.length_mm, units_of(request))
    if kind == "restart":
        line = text(form, "line")
        if not line.isdecimal() or not 0 < len(line) < 10 or int(line) < 1:
            raise InputError(repr(line), "the number of a line, from 1", field="line")
        more["line"] = int(line)
    if kind == "correct":
        more["by_engagement"] = bool(text(form, "by_engagement"))
    if kind == "compare":
        more["other"] = str(_other(folder, form))
    if kind == "screws":
        more["job_stamp"] = folder.stamp()
    if kind in ("correct", "screws") and not folder.job.is_file():
        raise InputError("no job", "a job with machine, material, stock and cutters", "fill in the job first")
    submit(request, kind, folder, **more)
    return RedirectResponse(f"/job/{folder.name}", 303)


def _other(folder: JobFolder, form: FormData) -> Path:
    """The program to compare with, stored beside the job under a harmless name."""
    given = upload(form, "other")
    if given is None or not given[1]:
        raise InputError("no file, or an empty one", "the other version of the program", "choose it first")
    stem, ending = plain_name(given[0])
    path = folder.path / "other" / f"{stem}{ending}"
    path.parent.mkdir(exist_ok=True)
    with new_file(path, replace=True) as part:
        part.write_bytes(given[1])
    return path


def _task(request: Request) -> Task:
    task = bench_of(request).find(request.path_params["task"])
    if task is None or task.job != folder_of(request).name:
        raise InputError("a task that is not here any more", "one of this sitting", "start it again")
    return task


def state(request: Request) -> Response:
    """How far a task is."""
    task = _task(request)
    before = bench_of(request).before(task)
    return JSONResponse(
        {"state": task.state, "said": said(task, before), "share": round(task.share, 3), "live": task.live}
    )


def said(task: Task, before: int) -> str:
    """How far a task is, in words.

    task: The task.
    before: How many are done before it [-].
    Returns: A sentence.
    """
    if task.state == "waiting":
        return "waiting: one check runs at a time" + (f", {before} before yours" if before else "")
    if task.state == "running":
        stage, _, more = task.stage.partition(": ")
        if stage == "rule":
            return f"judging: {more}"
        return f"{stage} ({100 * task.share:.0f} %)" if task.share else stage or "starting"
    return {
        "done": "done",
        "failed": "; ".join(map(unoptioned, task.lines)),
        "cancelled": "stopped by you; nothing was written",
    }[task.state]


def cancel(request: Request, _form: FormData) -> Response:
    """Stop a task."""
    bench_of(request).cancel(_task(request))
    return RedirectResponse(f"/job/{request.path_params['job']}", 303)


def hold_kinds() -> tuple[str, ...]:
    """Kinds of hold that a form offers."""
    from millcalc.job.models import HoldKind

    return get_args(HoldKind)


ROUTES = [
    Route("/check", start),
    Route("/check/new", posted(taken), methods=["POST"]),
    Route("/check/demo", posted(demo), methods=["POST"]),
    Route("/job/{job}/run/{kind}", posted(run), methods=["POST"]),
    Route("/job/{job}/state/{task}", state),
    Route("/job/{job}/cancel/{task}", posted(cancel), methods=["POST"]),
]
