"""Who is answered at all: the right host, the right origin, a known session, and a body of bearable size and time."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Awaitable, Callable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from typing import Any

from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, PlainTextResponse

from millcalc.page import tuning
from millcalc.page.sessions import COOKIE, Sessions

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "manifest-src 'self'; frame-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "microphone=(self), camera=(), geolocation=()",
    "cache-control": "no-store",
}
OPEN = ("/enter/", "/code", "/static/", "/manifest.webmanifest", "/favicon.ico", "/offline")
CLOSED_PAGE = """<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>millcalc: closed</title>
<meta name="viewport" content="width=device-width, initial-scale=1"><link rel="stylesheet" href="/static/page.css">
</head><body><main><h1>This door is closed</h1><p>Open the address that the terminal shows: it begins with http and
carries a long token. Each start of <code>millcalc page</code> makes a new one.</p>%s</main></body></html>"""


class Guard:
    """ASGI middleware around the whole page.

    app: What is guarded.
    sessions: Who is known.
    hosts: Values of the Host header that are answered, with the port.
    """

    def __init__(self, app: Any, sessions: Sessions, hosts: set[str]) -> None:
        self.app, self.sessions, self.hosts = app, sessions, hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or refuse it."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        headers = {key.decode("latin-1"): value.decode("latin-1") for key, value in scope["headers"]}
        refusal = self._refusal(scope, headers)
        if refusal is not None:
            await refusal(scope, receive, _with_headers(send))
            return
        limit = tuning.MOST_UPLOAD_BYTES if _is_upload(headers) else tuning.MOST_FORM_BYTES
        await self.app(scope, _limited(receive, limit), _with_headers(send))

    def _refusal(self, scope: Scope, headers: dict[str, str]) -> Any:
        """Why a request is not answered, as a response; None when it is."""
        host = headers.get("host", "").lower()
        if host not in self.hosts:  # a name that was bent to this machine, or another service's
            return PlainTextResponse("this host is not served here", 421)
        if headers.get("content-encoding", "identity") != "identity":
            return PlainTextResponse("packed bodies are not read: send the file as it is", 415)
        writes = scope["method"] not in ("GET", "HEAD")
        if writes and not _same_origin(headers, host):
            return PlainTextResponse("a request from another page is not answered", 403)
        try:
            length = int(headers.get("content-length", "0"))
        except ValueError:
            return PlainTextResponse("a length that is no number", 400)
        limit = tuning.MOST_UPLOAD_BYTES if _is_upload(headers) else tuning.MOST_FORM_BYTES
        if length > limit:
            return PlainTextResponse(too_large(limit), 413)
        session = self.sessions.find(_cookie(headers.get("cookie", "")))
        scope.setdefault("state", {})["session"] = session
        if session is None and not scope["path"].startswith(OPEN):
            code = '<p><a class="button" href="/code">I have a one-time code</a></p>'
            return HTMLResponse(CLOSED_PAGE % (code if self.sessions.phone else ""), 401)
        return None


def too_large(limit: int) -> str:
    """What a person reads when a body is too large.

    limit: Most of it [byte].
    Returns: The sentence.
    """
    return f"too large: at most {limit / 1e6:g} MB are taken; nothing was stored"


def _is_upload(headers: dict[str, str]) -> bool:
    return headers.get("content-type", "").startswith("multipart/form-data")


def _same_origin(headers: dict[str, str], host: str) -> bool:
    origin = headers.get("origin")
    if origin is None:
        return headers.get("sec-fetch-site") == "same-origin"
    return origin.lower() == f"http://{host}"


def _cookie(text: str) -> str | None:
    try:
        found = SimpleCookie(text).get(COOKIE)
    except CookieError:
        return None
    return found.value if found is not None else None


def _limited(receive: Receive, limit: int) -> Receive:
    """The body with its size counted and its time measured."""
    seen, until = 0, time.monotonic() + tuning.UPLOAD_SECONDS
    over = False

    async def inner() -> MutableMapping[str, Any]:
        nonlocal seen, over
        if over:  # the body is read; what comes now is only the end of the connection
            return await receive()
        try:
            message = await asyncio.wait_for(receive(), max(0.0, until - time.monotonic()))
        except TimeoutError:
            raise HTTPException(408, "the request took too long to arrive; nothing was stored") from None
        seen += len(message.get("body", b""))
        if seen > limit:
            raise HTTPException(413, too_large(limit))
        over = not message.get("more_body", False)
        return message

    return inner


def _with_headers(send: Send) -> Send:
    """Every answer carries the same headers, unless the page set its own."""

    async def inner(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            own = {key.lower() for key, _ in message["headers"]}
            more = [(k.encode(), v.encode()) for k, v in HEADERS.items() if k.encode() not in own]
            message["headers"] = [*message["headers"], *more]
        await send(message)

    return inner
