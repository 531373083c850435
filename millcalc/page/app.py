"""The page as an ASGI application: its addresses, and what a person reads when something goes wrong."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, Response
from starlette.routing import Route

from millcalc.errors import MillcalcError
from millcalc.page import (
    check,
    explain,
    home,
    job_form,
    log,
    log_files,
    log_new,
    machine,
    outcome,
    proof,
    settings,
    ways,
    wrong,
)
from millcalc.page.bench import Bench
from millcalc.page.desk import Desk
from millcalc.page.forms import problems
from millcalc.page.guard import Guard
from millcalc.page.place import Place
from millcalc.page.sessions import Sessions
from millcalc.page.show import page

WORDS = {404: "there is no such page", 405: "this page takes no such request"}


@dataclass(frozen=True)
class Door:
    """What a server opens.

    hosts: Values of the Host header that are answered, with the port.
    folder: Where jobs are kept.
    sessions: Who is known.
    bench: Where programs are looked over.
    desk: Where settings are computed.
    """

    hosts: set[str]
    folder: Path
    sessions: Sessions
    bench: Bench = field(default_factory=Bench)
    desk: Desk = field(default_factory=Desk)


def make_app(door: Door) -> Guard:
    """The whole page behind its guard.

    door: What is opened.
    Returns: The application.
    """
    app = Starlette(
        routes=routes(),
        exception_handlers={
            HTTPException: _refused,
            MillcalcError: _unusable,
            OSError: _unusable,
            Exception: _broken,
        },
    )
    app.state.place = Place(door.folder)
    app.state.sessions = door.sessions
    app.state.bench = door.bench
    app.state.desk = door.desk
    return Guard(app, door.sessions, {host.lower() for host in door.hosts})


def routes() -> list[Route]:
    """Every address of the page."""
    rooms = (
        home,
        settings,
        ways,
        proof,
        check,
        job_form,
        outcome,
        log_new,
        log,
        log_files,
        wrong,
        machine,
        explain,
    )
    return [route for room in rooms for route in room.ROUTES]


def _wants_part(request: Request) -> bool:
    return request.headers.get("x-part") == "1"


def _told(request: Request, status: int, title: str, lines: list[str]) -> Response:
    """A problem as a page, or as a line for a script."""
    if request.scope.get("state", {}).get("session") is None:
        return PlainTextResponse("\n".join(lines), status)
    template = "problem_part" if _wants_part(request) else "problem"
    return page(request, template, status=status, title=title, lines=lines)


async def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    text = WORDS.get(error.status_code, error.detail)
    return _told(request, error.status_code, "Not done", [text])


async def _unusable(request: Request, error: Exception) -> Response:
    lines = (
        problems(error) if isinstance(error, MillcalcError) else [f"{_os_text(error)}; nothing was changed"]
    )
    return _told(request, 422, "This cannot be used", lines)


def _os_text(error: Any) -> str:
    return str(getattr(error, "strerror", None) or error)


async def _broken(request: Request, error: Exception) -> Response:
    text = f"an error of millcalc itself, please report it: {type(error).__name__}: {error}"
    try:
        return _told(request, 500, "millcalc failed", [text])
    except Exception:
        return HTMLResponse("an error of millcalc itself", 500)
