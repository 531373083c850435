"""What a finding's code or a word of the trade means, and where the numbers of a table row come from."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from millcalc.page.forms import text
from millcalc.page.show import page


def explained(request: Request) -> Response:
    """One code or word; the list of all when it is left out or not known."""
    from millcalc.check.codes import code_doc, known_codes
    from millcalc.report.words import WORDS, find_word

    wanted = request.path_params.get("what", "") or text(request.query_params, "what")
    word = find_word(wanted) if wanted else None
    doc = code_doc(wanted.strip().upper()) if wanted and word is None else None
    codes = [(code, one["title"]) for code in known_codes() if (one := code_doc(code)) is not None]
    return page(
        request, "explain", wanted=wanted, word=word, doc=doc, words=WORDS, codes=codes,
        parts=("flags", "why", "wrong", "right", "limits", "source"),
    )  # fmt: skip


def table_row(request: Request) -> Response:
    """A row of the tables with the source of each number."""
    from millcalc.errors import TableError
    from millcalc.tables import describe

    kind, name = request.path_params["kind"], request.path_params["name"]
    if kind not in ("machines", "materials", "cutters"):
        raise HTTPException(404)
    try:
        lines = describe(kind, name)
    except TableError as error:
        raise HTTPException(404, str(error)) from None
    return page(request, "table_row", name=name, lines=lines)


ROUTES = [
    Route("/explain", explained),
    Route("/explain/{what}", explained),
    Route("/tables/{kind}/{name}", table_row),
]
