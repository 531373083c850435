"""Further answers about a cut: other ways to make it, other bed heights, quiet speeds; as documents in a page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from millcalc.limits.request import CutRequest
from millcalc.page.plain import document
from millcalc.page.settings import Kept, kept
from millcalc.page.show import own_document, page
from millcalc.report.answer_page import answer_page

if TYPE_CHECKING:
    from rich.console import Console

KINDS = {"ways": "Other ways to cut", "bed": "Other bed heights", "speeds": "Quiet speeds"}


def asked(request: Request) -> tuple[Kept, str]:
    """The advice and the kind of answer that an address names."""
    kind = request.path_params["kind"]
    if kind not in KINDS:
        raise HTTPException(404)
    return kept(request, request.path_params["name"]), kind


def more(request: Request) -> Response:
    """The page around a further answer."""
    one, kind = asked(request)
    return page(
        request, "settings_more", name=request.path_params["name"], kind=kind, kinds=KINDS, advice=one.advice
    )


def drawn(request: Request) -> Response:
    """A further answer: its picture, and the words of the command line."""
    one, kind = asked(request)
    return own_document(document({"ways": _ways, "bed": _bed, "speeds": _speeds}[kind](one)))


def _ways(one: Kept) -> str:
    from millcalc.advise.alternatives import alternatives
    from millcalc.advise.others import other_cutters
    from millcalc.report.alternatives_text import count_words, print_alternatives
    from millcalc.report.figures import alternatives_figure
    from millcalc.tables import load_shop

    tooling, units = one.advice.tooling, one.units
    found, left_out = alternatives(
        tooling, CutRequest(proven=one.advice.request.proven), total_depth_mm=one.thickness_mm,
        others=other_cutters(tooling, load_shop()), units=units,
    )  # fmt: skip
    return answer_page(
        _title(one), count_words(found), "note", (alternatives_figure(found, units),),
        lambda to: print_alternatives(to, found, left_out, units), units,
    )  # fmt: skip


def _bed(one: Kept) -> str:
    from millcalc.advise.alternatives import bed_rows
    from millcalc.report.alternatives_text import print_bed

    asked_for = one.advice.request
    request = CutRequest(asked_for.cut, radial_width_mm=asked_for.radial_width_mm, proven=asked_for.proven)
    rows = bed_rows(one.advice.tooling, request, units=one.units)
    said = f"{len(rows)} bed heights side by side"
    return answer_page(_title(one), said, "note", (), lambda to: print_bed(to, rows, one.units), one.units)


def _speeds(one: Kept) -> str:
    from millcalc.advise.lobes import stability
    from millcalc.report.lobes_characters import stability_lines

    advice, settings = one.advice, one.advice.settings
    found = stability(
        advice.tooling, CutRequest(advice.request.cut, radial_width_mm=settings.radial_width_mm),
        depth_mm=settings.axial_depth_mm, speed_rpm=settings.speed_rpm,
    )  # fmt: skip

    def tell(to: Console) -> None:
        for line in stability_lines(found, one.units):
            to.print(line, highlight=False, markup=False)

    count = len(found.pockets)
    said = f"{count} range{'s' * (count != 1)} of speed worth using for quiet"
    return answer_page(_title(one), said if count else "No speed is worth more", "note", (), tell, one.units)


def _title(one: Kept) -> str:
    return f"{one.advice.tooling.cutter.title} in {one.advice.tooling.material.title}"


ROUTES = [
    Route("/settings/more/{name}/{kind}", more),
    Route("/settings/drawn/{name}/{kind}", drawn),
]
