"""Ways in, the first page, cautions, units, and the files that come with the page."""

from __future__ import annotations

import hashlib
import json

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route

from millcalc.page.forms import posted, text
from millcalc.page.remembered import remember
from millcalc.page.sessions import COOKIE, Session
from millcalc.page.show import environment, fingerprint, package_text, page, session_of

SCRIPTS = ("page", "chooser", "settings", "check", "job", "outcome", "record", "record-worklet")
STATIC = {
    "page.css": "text/css",
    "icon.svg": "image/svg+xml",
    **{f"{name}.js": "text/javascript" for name in SCRIPTS},
}
MANIFEST = {
    "name": "millcalc",
    "short_name": "millcalc",
    "id": "/",
    "start_url": "/",
    "scope": "/",
    "display": "standalone",
    "background_color": "#f6f4ee",
    "theme_color": "#1b1f27",
    "icons": [{"src": "/static/icon.svg", "sizes": "any", "type": "image/svg+xml"}],
}


def static(request: Request) -> Response:
    """A file that comes with the page; only the known ones."""
    name = request.path_params["name"]
    if name not in STATIC:
        raise HTTPException(404)
    headers = {"cache-control": "public, max-age=86400, immutable"}
    return Response(package_text("static", name), media_type=STATIC[name], headers=headers)


def favicon(_request: Request) -> Response:
    """The icon, for browsers that ask for it by its old name."""
    return Response(package_text("static", "icon.svg"), media_type="image/svg+xml")


def manifest(_request: Request) -> Response:
    """What a browser needs to install the page."""
    return Response(json.dumps(MANIFEST), media_type="application/manifest+json")


def offline(_request: Request) -> Response:
    """What an installed page shows when its server is not running; it is kept by the browser."""
    return HTMLResponse(environment().get_template("offline.html.j2").render())


def offline_worker(_request: Request) -> Response:
    """The script by which an installed page says that its server is not running; a new one with each change."""
    body = package_text("static", "offline.js").replace("__STYLE__", fingerprint("page.css"))
    version = hashlib.sha256((body + package_text("templates", "offline.html.j2")).encode()).hexdigest()[:10]
    return Response(body.replace("__VERSION__", version), media_type="text/javascript")


def _let_in(session: Session) -> Response:
    """The cookie is set by an answer of our own page, so that a strict one is sent with the next request."""
    answer = HTMLResponse(
        '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>millcalc</title>'
        '<meta http-equiv="refresh" content="0;url=/"></head><body><a href="/">Go on</a></body></html>'
    )
    answer.set_cookie(COOKIE, session.name, httponly=True, samesite="strict", path="/")
    return answer


def enter(request: Request) -> Response:
    """The address that opens."""
    sessions = request.app.state.sessions
    if not sessions.is_token(request.path_params["token"]):
        return PlainTextResponse("this token is not the one that the terminal shows", 401)
    return _let_in(sessions.begin())


def code_page(request: Request, problem: str = "", status: int = 200) -> Response:
    """Where a phone types its code."""
    if not request.app.state.sessions.phone:
        raise HTTPException(404)
    body = environment().get_template("code.html.j2").render(problem=problem)
    return HTMLResponse(body, status)


def code_typed(request: Request, form: FormData) -> Response:
    """Let a phone in."""
    sessions = request.app.state.sessions
    session = sessions.enter(text(form, "code"))
    if session is not None:
        return _let_in(session)
    if sessions.closed:
        problem = "Too many wrong codes. Start millcalc page anew at the computer."
    else:
        problem = (
            "That is not the code which the computer shows now. After five wrong tries it shows a new one."
        )
    return code_page(request, problem, 401)


def first(request: Request) -> Response:
    """The first page: what can be done."""
    place = request.app.state.place
    return page(request, "home", jobs=place.all()[:5], folder=str(place.folder), care=careful())


def careful() -> list[str]:
    """Every caution that always holds, as texts, and who goes first."""
    from millcalc.check.cautions import ALWAYS, FOOTER
    from millcalc.tables import load_cautions

    known = load_cautions()
    return [*(known[key].text for key in ALWAYS if key in known), FOOTER]


def care(request: Request) -> Response:
    """All cautions on one page."""
    from millcalc.tables import load_cautions

    return page(request, "care", items=list(load_cautions().values()), always=careful())


def care_seen(request: Request, _form: FormData) -> Response:
    """The cautions were read in this sitting."""
    session_of(request).seen_care = True
    return _back(request)


def units_switched(request: Request, form: FormData) -> Response:
    """Show the other units from now on."""
    session_of(request).units = "in" if text(form, "units") == "in" else "mm"
    remember(request.app.state.place.folder, units=session_of(request).units or "mm")
    return _back(request)


def _back(request: Request) -> Response:
    """To the page that was looked at, if it is one of ours."""
    from urllib.parse import urlsplit

    came = urlsplit(request.headers.get("referer", ""))
    path = came.path if came.netloc == request.headers["host"] and came.path.startswith("/") else "/"
    query = f"?{came.query}" if came.query else ""
    return RedirectResponse((path + query) if not path.startswith("//") else "/", 303)


ROUTES = [
    Route("/", first),
    Route("/enter/{token}", enter),
    Route("/code", code_page),
    Route("/code", posted(code_typed, known=False), methods=["POST"]),
    Route("/care", care),
    Route("/care/seen", posted(care_seen), methods=["POST"]),
    Route("/units", posted(units_switched), methods=["POST"]),
    Route("/static/{name}", static),
    Route("/favicon.ico", favicon),
    Route("/offline", offline),
    Route("/offline.js", offline_worker),
    Route("/manifest.webmanifest", manifest),
]
