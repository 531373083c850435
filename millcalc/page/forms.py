"""Forms: read whole, their secret compared, their quantities read as the command line reads them."""

from __future__ import annotations

import hmac
from collections.abc import Awaitable, Callable
from typing import Any, TypeVar

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from millcalc.errors import InputError
from millcalc.page import tuning
from millcalc.page.plain import unoptioned
from millcalc.page.show import session_of

T = TypeVar("T")
Handler = Callable[[Request, FormData], Response]


def posted(handler: Handler, *, known: bool = True) -> Callable[[Request], Awaitable[Response]]:
    """An endpoint that takes a form.

    handler: Called with the form in a thread of its own.
    known: Whether only a known session's form, with its secret, is taken.
    Returns: The endpoint.
    """

    async def endpoint(request: Request) -> Response:
        form = await request.form(max_files=tuning.MOST_FILES, max_fields=4000)
        if known:
            given = str(form.get("csrf", "")) or request.headers.get("x-csrf", "")
            if not hmac.compare_digest(given.encode(), session_of(request).csrf.encode()):
                raise HTTPException(403, "this form is not of this sitting: open the page again")
        return await run_in_threadpool(handler, request, form)

    return endpoint


def text(form: Any, name: str) -> str:
    """A field of a form without spaces around it; empty when it is missing or a file."""
    value = form.get(name)
    return value.strip() if isinstance(value, str) else ""


def upload(form: FormData, name: str) -> tuple[str, bytes] | None:
    """A file of a form.

    form: The form.
    name: Field name.
    Returns: Its name as the browser gave it, and its bytes; None when none was chosen.
    """
    return next(iter(uploads(form, name)), None)


def uploads(form: FormData, name: str) -> list[tuple[str, bytes]]:
    """All files of a field that takes several.

    form: The form.
    name: Field name.
    Returns: Names as the browser gave them, and bytes.
    """
    chosen = (one for one in form.getlist(name) if isinstance(one, UploadFile) and one.filename)
    return [(one.filename or "", one.file.read()) for one in chosen]


def read(form: Any, name: str, title: str, reader: Callable[..., T], *args: Any) -> T | None:
    """Read a field with a unit.

    form: The form.
    name: Field name.
    title: What the person calls it, for the error.
    reader: Of :mod:`millcalc.units`.
    *args: Further arguments of the reader, such as the default unit.
    Returns: The value; None for an empty field.
    Raises InputError: If it cannot be read.
    """
    given = text(form, name)
    if not given:
        return None
    try:
        return reader(given, *args)
    except ValueError as error:
        raise InputError(str(error), field=title) from None


def problems(error: Exception) -> list[str]:
    """What was wrong, one sentence a problem, without the names of options.

    error: An error that a person may meet.
    Returns: Sentences.
    """
    return [unoptioned(line) for line in str(error).splitlines()]
