"""``millcalc settings``: speed, feed, depth and width for a cut, with the reason for each number."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from millcalc.cli.common import programmed_feed_mm_min, quantity
from millcalc.cli.options import (
    AnswerUnits,
    Cut,
    CutterName,
    Drop,
    Force,
    Json,
    KindOfCut,
    Learn,
    MachineName,
    MaterialName,
    Proven,
    Stickout,
    ToolingJob,
    ToolNumber,
)
from millcalc.cli.say import say
from millcalc.cli.tooling import choose_tooling

if TYPE_CHECKING:
    from rich.console import Console

    from millcalc.advise.band import SettingsBand
    from millcalc.advise.result import Advice
    from millcalc.cli.tooling import Chosen
    from millcalc.limits.request import CutRequest
    from millcalc.units_show import System


Thickness = Annotated[
    str | None, typer.Option(help="Thickness to cut through: passes and minutes; a job gives it too.")
]
More = Annotated[
    bool,
    typer.Option("--more", help="Every limit, reason, range and caution, not only the first screen."),
]
Outputs = Annotated[
    list[Path] | None,
    typer.Option(
        "--out",
        "-o",
        help="Also write it to a file, repeatable; by its ending .html: a page with its picture; .svg or .png: "
        "the limits over depth and speed.",
    ),
]


def command(
    machine: MachineName = None,
    material: MaterialName = None,
    cutter: CutterName = None,
    cut: KindOfCut = Cut.slot,
    ae: Annotated[str | None, typer.Option(help='Radial width of cut, e.g. 1.5 or "1/16 in".')] = None,
    ap: Annotated[str | None, typer.Option(help="Axial depth of cut; a hole's depth when drilling.")] = None,
    feed: Annotated[str | None, typer.Option(help="Feed to judge instead of choosing one.")] = None,
    rpm: Annotated[str | None, typer.Option(help="Spindle speed to judge instead of choosing one.")] = None,
    stickout: Stickout = None,
    drop: Drop = None,
    bore: Annotated[str | None, typer.Option(help="Diameter of a helical bore.")] = None,
    segment: Annotated[str | None, typer.Option(help="Path length between corners.")] = None,
    finish: Annotated[bool, typer.Option("--finish", help="A finishing pass: small deflection.")] = False,
    proven: Proven = None,
    job: ToolingJob = None,
    tool: ToolNumber = None,
    learn: Learn = True,
    units: AnswerUnits = None,
    sources: Annotated[bool, typer.Option("--sources", help="Also the source of every number.")] = False,
    thickness: Thickness = None,
    more: More = False,
    json: Json = False,
    out: Outputs = None,
    force: Force = False,
) -> None:
    """Spindle speed, feed, depth and width for a cut, and which limit holds each number back."""
    from millcalc.advise.advice import advise
    from millcalc.advise.band import band_of
    from millcalc.advise.others import other_cutters
    from millcalc.cli.past_cuts import said_by_log, with_learned

    files = _outputs(out, cut, job, force)
    chosen = choose_tooling(
        machine, material, cutter, stickout=stickout, drop=drop, job=job, tool=tool, units=units
    )
    tooling, shown = chosen.tooling, chosen.units
    texts = {"ae": ae, "ap": ap, "feed": feed, "rpm": rpm, "segment": segment, "bore": bore}
    request = _request(cut, texts, shown, finish, chosen.proven(proven))
    thickness_mm = _thickness(thickness, chosen)
    if learn:
        tooling = with_learned(tooling, cut.value, trusted=True)
    whole = more or sources or json or bool(out)  # the first screen has no room for the ways on
    others = other_cutters(tooling, chosen.shop)
    answer = advise(tooling, request, units=shown, others=others, ways=whole)
    past, proven_here = said_by_log(answer, shown, proven=request.proven) if learn else ((), ())
    band = band_of(answer, shown)
    if json:
        _say_json(answer, past, proven_here, band)
    else:
        if not (more or sources):
            _care_once_a_day(answer)
        show_advice(answer, shown, more or sources, sources, thickness_mm, past, proven_here, band)
    _write_pictures(files, answer, shown, (thickness_mm, past, proven_here, band), force, quiet=json)
    if not answer.fits:
        raise typer.Exit(1)


def _say_json(
    answer: Advice, past: tuple[str, ...], proven_here: tuple[str, ...], band: SettingsBand | None
) -> None:
    import json

    from millcalc.advise.bare_shares import bare_shares
    from millcalc.report.advice_json import advice_data
    from millcalc.report.alloy_text import band_data

    data = {**advice_data(answer, bare_shares(answer)), "similar": list(past)}
    data["proven_here"] = list(proven_here)
    if band is not None:
        data["band"] = band_data(band)
    say(json.dumps(data, indent=2, ensure_ascii=False))


def _draw(answer: Advice, units: System, plot: Path, force: bool, quiet: bool) -> None:
    from millcalc.advise.operating_map import advice_map
    from millcalc.cli.pictures import write_file
    from millcalc.report.plots import map_picture

    form = "svg" if plot.suffix.lower() == ".svg" else "png"
    picture = map_picture(advice_map(answer, units), units, form)  # type: ignore[arg-type]
    write_file(plot, picture, force=force)
    say(f"picture written to {plot}", err=quiet)


def _write_pictures(
    files: dict[str, Path],
    answer: Advice,
    units: System,
    beside: tuple[float | None, tuple[str, ...], tuple[str, ...], SettingsBand | None],
    force: bool,
    *,
    quiet: bool,
) -> None:
    """Picture and page, those that are asked for."""
    if "picture" in files:
        _draw(answer, units, files["picture"], force, quiet=quiet)
    if "page" in files:
        _page(files["page"], answer, units, beside, force, quiet=quiet)


def _page(
    html: Path,
    answer: Advice,
    units: System,
    beside: tuple[float | None, tuple[str, ...], tuple[str, ...], SettingsBand | None],
    force: bool,
    *,
    quiet: bool,
) -> None:
    """Write the answer as a page with its operating map; drilling and plunging have none."""
    from millcalc.advise.operating_map import advice_map
    from millcalc.cli.pictures import write_answer
    from millcalc.report.figures import map_figure

    tooling, cut = answer.tooling, answer.request.cut
    drawn = (
        None if cut in (Cut.drill.value, Cut.plunge.value) else map_figure(advice_map(answer, units), units)
    )
    title = f"{tooling.cutter.title} in {tooling.material.title}, {tooling.machine.title}"
    verdict = "Settings within every limit" if answer.fits else "These settings do not hold"
    thickness_mm, past, proven_here, band = beside

    def tell(to: Console) -> None:
        for more in (False, True):
            show_advice(answer, units, more, False, thickness_mm, past, proven_here, band, to)
            to.print()

    sign: Literal["note", "stop"] = "note" if answer.fits else "stop"
    write_answer(html, title, (verdict, sign), [drawn], tell, units, force=force, quiet=quiet)


def show_advice(
    answer: Advice,
    units: System,
    more: bool = False,
    sources: bool = False,
    thickness_mm: float | None = None,
    past: tuple[str, ...] = (),
    proven_here: tuple[str, ...] = (),
    band: SettingsBand | None = None,
    to: Console | None = None,
) -> None:
    """Print an advice: its first screen, or everything.

    answer: What to print.
    units: ``mm`` or ``in``.
    more: Everything instead of the first screen.
    sources: Also the sources of every number.
    thickness_mm: Thickness to cut through [mm].
    past: Past cuts like this one.
    proven_here: What is proven on this machine, beside the advice.
    band: For an unknown alloy, the settings over all it may be.
    to: Where to; None is standard output.
    """
    from millcalc.report.advice_text import print_advice
    from millcalc.report.alloy_text import print_band
    from millcalc.report.console import make_console
    from millcalc.report.settings_text import passes_text, print_first_screen
    from millcalc.tables import load_cautions

    console, known = to or make_console(), load_cautions()
    if not more:
        titles = {key: item.title for key, item in known.items()}
        print_first_screen(
            console,
            answer,
            titles,
            units,
            thickness_mm=thickness_mm,
            past=past,
            proven_here=proven_here,
            band=band,
        )
        return
    texts = {key: item.text for key, item in known.items()}
    print_advice(console, answer, texts, units, full=sources, past=(*proven_here, *past))
    if thickness_mm is not None:
        console.print(passes_text(answer, thickness_mm, units))
    if band is not None:
        print_band(console, band, answer.request.cut, units, answer)


def _care_once_a_day(answer: Advice) -> None:
    """The cautions in full before the first answer of a day at a terminal, which stays in sight below them."""
    from millcalc.cli.once_a_day import first_today
    from millcalc.report.advice_text import print_care
    from millcalc.report.console import make_console
    from millcalc.report.printer import Printer
    from millcalc.tables import load_cautions

    if not first_today("cautions"):
        return
    page = Printer(make_console(), 2, hang=2)
    page.say("Care, in full once a day (--more shows it again)", 0, "bold")
    print_care(page, answer.tooling.material, {key: item.text for key, item in load_cautions().items()})
    page.raw("")


def _thickness(text: str | None, chosen: Chosen) -> float | None:
    """The thickness to cut through: as typed, else the job's stock [mm]."""
    from millcalc import units as read

    if text is None and chosen.setup is not None:
        return chosen.setup.job.stock.thickness_mm
    return quantity(text, "thickness", read.length_mm, chosen.units)


def _outputs(out: list[Path] | None, cut: Cut, job: Path | None, force: bool) -> dict[str, Path]:
    """See early that picture and page can be made and written."""
    from millcalc.cli.outputs import PAGE, PICTURE, by_kind
    from millcalc.errors import UsageError

    files = by_kind(out, {"page": PAGE, "picture": PICTURE}, (job,), force=force)
    if "picture" in files and cut in (Cut.drill, Cut.plunge):
        raise UsageError(
            f"-o {files['picture']}: the picture shows depth over speed, which says nothing of drilling or "
            "plunging; leave it out"
        )
    return files


def _request(cut: Cut, texts: dict[str, str | None], units: str, finish: bool, proven: bool) -> CutRequest:
    from millcalc import units as read
    from millcalc.limits.request import CutRequest

    def length(name: str) -> float | None:
        return quantity(texts[name], name, read.length_mm, units)

    return CutRequest(
        cut.value,
        axial_depth_mm=length("ap"),
        radial_width_mm=length("ae"),
        feed_mm_min=programmed_feed_mm_min(texts["feed"], f"{units}/min"),
        speed_rpm=quantity(texts["rpm"], "rpm", read.speed_rpm),
        segment_mm=length("segment"),
        bore_mm=length("bore"),
        finish=finish,
        proven=proven,
    )
