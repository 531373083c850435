"""Pages from templates: everything escaped, missing names are errors, the session's units and secrets at hand."""

from __future__ import annotations

import hashlib
import re
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse

from millcalc.page.sessions import Session
from millcalc.shown import shown

if TYPE_CHECKING:
    from jinja2 import Environment

    from millcalc.units_show import System

_POLICY = re.compile(r'http-equiv="Content-Security-Policy" content="([^"]+)"')
ROOMS = (
    ("/settings", "Settings"),
    ("/check", "Check"),
    ("/log", "Log"),
    ("/wrong", "Trouble"),
    ("/machine", "Machine"),
)


@cache
def package_text(folder: str, name: str) -> str:
    """A file that comes with the page.

    folder: ``templates`` or ``static``.
    name: File name.
    Returns: Its text with plain line ends.
    """
    text = resources.files("millcalc.page").joinpath(folder, name).read_text(encoding="utf-8")
    return text.replace("\r\n", "\n")


@cache
def fingerprint(name: str) -> str:
    """A few digits that change with a static file, so that a browser never keeps an old one."""
    return hashlib.sha256(package_text("static", name).encode()).hexdigest()[:10]


def _plain(value: object) -> object:
    """What a template prints: control characters of a text as codes, markup still markup."""
    return type(value)(shown(value)) if isinstance(value, str) else value


@cache
def environment() -> Environment:
    """The templates' environment."""
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    from millcalc.page.plain import unoptioned
    from millcalc.report.page_drawings import clock
    from millcalc.report.page_frame import capital
    from millcalc.units_show import show_length

    made = Environment(
        loader=FunctionLoader(lambda name: package_text("templates", name)),
        autoescape=True,
        finalize=_plain,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters.update({"capital": capital, "clock": clock, "plainly": unoptioned})
    made.filters["prose"] = lambda text: unoptioned(text.replace("``", ""))
    made.filters["length_in"] = show_length
    made.filters["code_of"] = lambda place, report: report.findings[place].code
    made.globals.update(rooms=ROOMS, fingerprint=fingerprint)
    return made


def session_of(request: Request) -> Session:
    """The session of a request that was let in."""
    found: Session = request.scope["state"]["session"]
    return found


def units_of(request: Request) -> System:
    """Units shown to a session: as switched, as remembered, as in the shop, else millimetres."""
    from millcalc.page.remembered import remembered
    from millcalc.tables import load_shop

    session = session_of(request)
    if session.units is None:
        kept = remembered(request.app.state.place.folder).get("units")
        shop = None if kept else load_shop()
        session.units = kept or (shop.units if shop else "mm")
    return "in" if session.units == "in" else "mm"


def text_of(request: Request, template: str, **values: Any) -> str:
    """A template filled in.

    request: Whose session it is for.
    template: Its name without ``.html.j2``.
    **values: For the template.
    Returns: Markup.
    """
    session = session_of(request)
    return (
        environment()
        .get_template(template + ".html.j2")
        .render(csrf=session.csrf, session=session, units=units_of(request), path=request.url.path, **values)
    )


def page(
    request: Request,
    template: str,
    *,
    status: int = 200,
    headers: dict[str, str] | None = None,
    **values: Any,
) -> HTMLResponse:
    """A whole page, or a part of one that a script puts in.

    request: Whose session it is for.
    template: Its name without ``.html.j2``.
    status: Status code [-].
    headers: Own headers.
    **values: For the template.
    """
    return HTMLResponse(text_of(request, template, **values), status, headers)


def own_document(body: str) -> HTMLResponse:
    """A document that carries its own policy, which forbids every request; as a header it also says who may frame it.

    body: Markup with the policy in its head.
    Returns: The answer.
    Raises HTTPException: If it carries none, as an empty one.
    """
    found = _POLICY.search(body)
    if found is None:
        raise HTTPException(404, "there is no check of this job yet")
    policy = found[1].replace("&#39;", "'").replace("&amp;", "&") + "; frame-ancestors 'self'"
    return HTMLResponse(body, headers={"content-security-policy": policy, "x-frame-options": "SAMEORIGIN"})
