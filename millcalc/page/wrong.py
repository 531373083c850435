"""Help when it sounds wrong: one question a screen, thumb-sized, ending in the next settings.

The whole state is in the address, so that going back one screen is the browser's own button.
"""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from millcalc import units as units_read
from millcalc.errors import UsageError
from millcalc.page.choices import CUTS, choices
from millcalc.page.cut_form import FIELDS, NAMES, asked, missing
from millcalc.page.forms import read, text
from millcalc.page.remembered import remembered
from millcalc.page.show import page, session_of, units_of
from millcalc.units_show import System

OWN = ("symptom", "answer", "plunge", "tone", "sure")
USED = (
    ("rpm", "Speed, rev/min"),
    ("feed", "Feed"),
    ("ap", "Depth a pass"),
    ("ae", "Width"),
    ("stickout", "Stickout"),
    ("plunge", "Feed straight down, if you know it"),
    ("tone", "Pitch of the squeal in Hz, if heard"),
)
NO_DRILL = "this help knows milling cuts; for a drill: slower speed, sharper drill, shorter pecks"


def step(request: Request) -> Response:
    """The next screen: what is seen, which cut, what tells the causes apart, the numbers in use, what to change."""
    from millcalc.advise.adjust_data import find_symptom, symptoms

    given = {name: value for name in (*FIELDS, *OWN) if (value := text(request.query_params, name))}
    advice = text(request.query_params, "from")
    if advice:
        return RedirectResponse("/wrong?" + urlencode({**_of_advice(request, advice), **given}), 303)
    if "symptom" not in given:
        rows = [(_to(given, symptom=key), row.title) for key, row in symptoms().items()]
        return page(request, "wrong_what", rows=rows, cut=_named(given))
    key, row = find_symptom(given["symptom"])
    if missing(given):
        last = {**remembered(request.app.state.place.folder), **session_of(request).last}
        filled = {**{name: last[name] for name in (*NAMES, "cut") if last.get(name)}, **given}
        return page(request, "wrong_cut", given=given, filled=filled, row=row, choices=choices(), cuts=CUTS)
    units = units_of(request)
    cut = asked(given, units)
    if cut.request.cut == "drill":
        raise UsageError(NO_DRILL)
    if "answer" not in given:
        from millcalc.advise.adjust import answers_to

        answers = answers_to(row, cut.tooling.material.family)
        rows = [(_to(given, answer=one.answer), one.says) for one in answers]
        return page(request, "wrong_question", row=row, rows=rows, cut=_named(given))
    if "sure" not in given:
        return page(
            request, "wrong_used", row=row, given=given, filled=_in_use(cut, units), used=USED, names=FIELDS
        )
    return _answered(request, key, given, cut, units)


def _to(given: dict[str, str], **more: str) -> str:
    return "/wrong?" + urlencode({**given, **more})


def _named(given: dict[str, str]) -> str:
    """The cut in a few words; empty while it is not known."""
    if missing(given):
        return ""
    from millcalc.tables import load_cutter, load_material

    cutter, material = load_cutter(given["cutter"]), load_material(given["material"])
    return f"{cutter.title} in {material.title}, {given.get('cut', 'slot')}"


def _of_advice(request: Request, name: str) -> dict[str, str]:
    """The cut of an advice of this sitting, with its numbers as the ones in use."""
    from millcalc.page.settings import kept

    one = kept(request, name)
    settings = one.advice.settings
    numbers = {"rpm": f"{settings.speed_rpm:g}", "feed": f"{settings.feed_mm_min:g} mm/min",
               "ap": f"{settings.axial_depth_mm:g} mm"}  # fmt: skip
    if one.advice.request.cut in ("side", "face"):
        numbers["ae"] = f"{settings.radial_width_mm:g} mm"
    return {**{k: v for k, v in one.fields.items() if k not in ("thickness",)}, **numbers}


def _in_use(cut: Any, units: System) -> dict[str, str]:
    """The advised numbers, to be confirmed or changed."""
    from millcalc.advise.advice import advise
    from millcalc.page.log_new import bare

    settings = advise(cut.tooling, cut.request, units=units, buys=False).settings
    return {
        "rpm": f"{settings.speed_rpm:g}",
        "feed": bare(settings.feed_mm_min, units),
        "ap": bare(settings.axial_depth_mm, units),
        "ae": bare(settings.radial_width_mm, units) if cut.request.cut in ("side", "face") else "",
        "stickout": bare(cut.tooling.stickout_mm, units),
    }


def _answered(request: Request, key: str, given: dict[str, str], cut: Any, units: System) -> Response:
    """Causes, likeliest first, and the next settings."""
    from millcalc.advise.adjust import adjust
    from millcalc.advise.advice import advise
    from millcalc.advise.in_use import InUse
    from millcalc.check.cautions import FOOTER
    from millcalc.page.log_new import bare
    from millcalc.report.adjust_text import settings_text

    advice = advise(cut.tooling, cut.request, units=units, buys=False)
    plunge = read(given, "plunge", "feed straight down", units_read.feed_mm_min, f"{units}/min")
    tone = read(given, "tone", "pitch", _hertz)
    used = InUse.of(advice, plunge, tone, cut.request.proven)
    found = adjust(key, used, given["answer"], units)
    first = found.causes[0]
    change = first.changes[0] if first.changes else None
    after = {k: v for k, v in given.items() if k in FIELDS}
    if change is not None:
        new = change.settings
        after |= {"rpm": f"{new.speed_rpm:g}", "feed": bare(new.feed_mm_min, units), "ap": bare(new.depth_mm, units),
                  "stickout": bare(new.tooling.stickout_mm, units)}  # fmt: skip
        after |= {"ae": bare(new.width_mm, units)} if new.cut in ("side", "face") else {}
    return page(
        request, "wrong_answer", found=found, first=first, change=change, in_use=settings_text(found, units),
        settings="/settings?" + urlencode(after), again=_to({k: v for k, v in after.items()}), footer=FOOTER,
    )  # fmt: skip


def _hertz(value: str) -> float:
    try:
        found = float(value.lower().replace("hz", "").strip())
    except ValueError:
        raise ValueError(f"found {value!r}; write a number such as 2400") from None
    if not 1 <= found <= 50_000:
        raise ValueError(f"found {value!r}; write 1 to 50000")
    return found


ROUTES = [Route("/wrong", step)]
