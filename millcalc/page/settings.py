"""The flow of settings: choose, read the answer, move along the map, print the sheet, go on to the log."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from millcalc.advise.result import Advice
from millcalc.errors import InputError
from millcalc.page.choices import CUTS, choices
from millcalc.page.cut_form import FIELDS, NAMES, asked, fields_of, missing
from millcalc.page.forms import posted, problems
from millcalc.page.plain import unoptioned
from millcalc.page.remembered import remember, remembered
from millcalc.page.show import page, session_of, text_of, units_of
from millcalc.units_show import System


@dataclass(frozen=True)
class Kept:
    """An advice of this sitting: what was asked, the form it was asked by, what was answered."""

    advice: Advice
    fields: dict[str, str]
    thickness_mm: float | None
    units: System


def kept(request: Request, name: str) -> Kept:
    """An advice of this sitting by its name.

    request: Whose.
    name: As an address gave it.
    Returns: The advice.
    """
    found = session_of(request).advices.get(name)
    if found is None:
        raise HTTPException(404, "this advice is not of this sitting any more: ask again")
    return found  # type: ignore[no-any-return]


def start(request: Request) -> Response:
    """The form, with an answer as soon as everything is chosen."""
    from millcalc.page.home import careful

    given = fields_of(dict(request.query_params))
    before = remembered(request.app.state.place.folder)
    shop_machine = next((one.name for one in choices()["machine"] if one.own), "")
    fields = given or {name: before[name] for name in (*NAMES, "cut") if name in before}
    fields.setdefault("machine", before.get("machine", shop_machine))
    fields.setdefault("cut", "slot")
    answer, one = answer_text(request, fields)
    return page(
        request,
        "settings",
        choices=choices(),
        cuts=CUTS,
        fields={name: fields.get(name, "") for name in FIELDS},
        answer=answer,
        lacking=missing(fields),
        care=careful(),
        **(beside(one) if one is not None else {"advice": None}),
    )


def answered(request: Request, form: FormData) -> Response:
    """The answer to a form that changed, as a part of the page."""
    from starlette.responses import HTMLResponse

    return HTMLResponse(answer_text(request, fields_of(form))[0])


def answer_text(request: Request, fields: dict[str, str]) -> tuple[str, Kept | None]:
    """The answer as markup: settings, or what is still to be chosen, or what cannot be.

    request: Whose units and sitting.
    fields: Texts of the form.
    Returns: Markup, and the advice where there is one.
    """
    lacking = missing(fields)
    if lacking:
        return text_of(request, "settings_missing", lacking=lacking), None
    units = units_of(request)
    try:
        cut = asked(fields, units)
        advice = request.app.state.desk.advice(cut.tooling, cut.request, units)
    except InputError as error:
        return text_of(request, "problem_part", lines=problems(error), title=""), None
    session_of(request).last = fields
    one = Kept(advice, fields, cut.thickness_mm, units)
    name = session_of(request).keep(one)
    return text_of(request, "settings_answer", name=name, left_out=cut.left_out, **_shown(one)), one


def _shown(one: Kept) -> dict[str, Any]:
    """What the answer shows, from the same functions as the command line."""
    from millcalc.report.settings_rows import settings_rows
    from millcalc.report.settings_text import expected_text, passes_text, why_lines

    advice, units = one.advice, one.units
    why = why_lines(advice, units)
    first = next((line for line in why if line.startswith(("depth", "OVER"))), why[0])
    thick = one.thickness_mm
    return {
        "advice": advice,
        "rows": settings_rows(advice, units),
        "first_why": first,
        "why": [line for line in why if line != first],
        "expected": expected_text(advice, units),
        "passes": passes_text(advice, thick, units) if thick is not None and advice.fits else "",
        "fields": one.fields,
        "map_follows": advice.request.cut not in ("drill", "plunge"),
    }


def drawn(request: Request) -> Response:
    """What comes right after the answer."""
    return page(request, "settings_map", **beside(kept(request, request.path_params["name"])))


def beside(one: Kept) -> dict[str, Any]:
    """What stands beside an answer: the map of the limits, doubts, and past cuts.

    one: The advice.
    Returns: For the templates.
    """
    from millcalc.cutlog.past import past_cuts
    from millcalc.report.log_text import similar_line

    advice = one.advice
    past = [] if one.fields.get("alone") else past_cuts(advice, Path.cwd())
    return {
        "advice": advice,
        "map": _map(one),
        "past": [similar_line(cut, one.units) for cut in past],
        "notes": [unoptioned(note) for note in (advice.notes if advice.fits else advice.notes[1:])],
    }


def _map(one: Kept) -> dict[str, Any] | None:
    """The map of a cut: over width where that can be chosen, else over speed; and the ends of its sliders."""
    from millcalc.advise.operating_map import advice_map
    from millcalc.advise.width_map import width_map
    from millcalc.limits.request import FULL_WIDTH
    from millcalc.report.map_drawing import MapDrawing, WidthDrawing

    advice, units = one.advice, one.units
    cut, inch = advice.request.cut, units == "in"
    if cut in ("drill", "plunge"):
        return None
    settings = advice.settings
    if cut in FULL_WIDTH:
        drawing: Any = MapDrawing(advice_map(advice, units), inch)
        speeds = drawing.map.speeds_rpm
        ends = (float(speeds[0]), float(speeds[-1]), settings.speed_rpm)
        return {"drawing": drawing, "axis": "rpm", "ends": ends, "ticks": drawing.speed_ticks}
    drawing = WidthDrawing(width_map(advice, units), inch)
    widths = drawing.map.widths_mm
    ends = (float(widths[0]), float(widths[-1]), settings.radial_width_mm)
    return {"drawing": drawing, "axis": "ae", "ends": ends, "ticks": drawing.width_ticks}


def rest(request: Request) -> Response:
    """What takes longer: the best changes, an unknown alloy, every limit and reason."""
    from millcalc.advise.band import band_of
    from millcalc.advise.others import other_cutters
    from millcalc.report.settings_text import band_line
    from millcalc.tables import load_shop

    one = kept(request, request.path_params["name"])
    units = one.units
    others = other_cutters(one.advice.tooling, load_shop())
    advice = request.app.state.desk.full(one.advice, units, others)
    band = band_of(advice, units)
    remember(request.app.state.place.folder, **{k: v for k, v in one.fields.items() if k in (*NAMES, "cut")})
    return page(
        request,
        "settings_rest",
        advice=advice,
        band=band_line(band, advice, units) if band is not None else "",
        limits=limit_rows(advice, units),
        ranges=range_rows(advice, units),
        buys=buy_lines(advice, units),
        reasons=[unoptioned(reason) for reason in advice.reasons],
    )


def limit_rows(advice: Advice, units: System) -> list[dict[str, Any]]:
    """Every limit as it is shown.

    advice: The answer.
    units: ``mm`` or ``in``.
    Returns: Texts by column, the largest use first.
    """
    from millcalc.report.advice_text import SMALLEST, limit_amount, sure

    held = {key: number for number, key in advice.holds.items()}
    return [
        {
            "title": limit.title,
            "demand": limit_amount(limit, limit.demand, units),
            "limit": ("≥ " if limit.key in SMALLEST else "") + limit_amount(limit, limit.limit, units),
            "used": f"{100 * limit.share:.0f} %",
            "may": f"{100 * limit.budget:.0f} %",
            "sure": sure(advice, limit.key),
            "over": limit.used > 1.0 + 1e-9,
            "holds": held.get(limit.key, ""),
        }
        for limit in advice.limits
    ]


def range_rows(advice: Advice, units: System) -> list[tuple[str, str]]:
    """What to expect, as names and ranges."""
    from millcalc.report.advice_text import range_amount

    return [(item.title, range_amount(item, units)) for item in advice.ranges]


def buy_lines(advice: Advice, units: System) -> list[tuple[str, str]]:
    """The changes that buy more: what to change, and what it gives."""
    from millcalc.units_show import show_depth, show_feed_as_is, show_speed

    return [
        (
            unoptioned(buy.change),
            f"{show_depth(buy.depth_mm, units)} deep at {show_feed_as_is(buy.feed_mm_min, units)} and "
            f"{show_speed(buy.speed_rpm)}: {buy.gain:.1f}× the removal",
        )
        for buy in advice.buys
    ]


def sheet(request: Request) -> Response:
    """An advice on one page of paper, with the cautions of its material."""
    from millcalc.check.cautions import FOOTER, caution_keys
    from millcalc.report.sheet import LISTEN
    from millcalc.tables import load_cautions

    one = kept(request, request.path_params["name"])
    known = load_cautions()
    material = one.advice.tooling.material
    cautions = [known[key].text for key in caution_keys(material) if key in known]
    return page(
        request, "settings_sheet", cautions=cautions, footer=FOOTER, listen=LISTEN, material=material,
        name=request.path_params["name"], **_shown(one),
    )  # fmt: skip


ROUTES = [
    Route("/settings", start),
    Route("/settings/answer", posted(answered), methods=["POST"]),
    Route("/settings/map/{name}", drawn),
    Route("/settings/rest/{name}", rest),
    Route("/settings/sheet/{name}", sheet),
]
