"""``millcalc settings``: speed, feed, depth and width for a cut, with the reason for each number."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from millcalc.cli.common import Force, Units, choose_machine, programmed_feed_mm_min, quantity
from millcalc.cli.say import say

if TYPE_CHECKING:
    from millcalc.advise.band import SettingsBand
    from millcalc.advise.result import Advice
    from millcalc.limits.request import CutRequest
    from millcalc.limits.tooling import Tooling
    from millcalc.tables.models import Shop


class Cut(StrEnum):
    """Kinds of cut."""

    slot = "slot"
    side = "side"
    face = "face"
    plunge = "plunge"
    ramp = "ramp"
    helix = "helix"
    drill = "drill"


def command(
    machine: Annotated[
        str | None, typer.Option(help="Machine table name; left out, the one in shop.yaml.")
    ] = None,
    material: Annotated[str | None, typer.Option(help="Work material, e.g. al-6082-t6 or 6082.")] = None,
    cutter: Annotated[str | None, typer.Option(help="Cutter, e.g. flat-6mm-1f.")] = None,
    cut: Annotated[Cut, typer.Option(help="Kind of cut.")] = Cut.slot,
    ae: Annotated[str | None, typer.Option(help='Radial width of cut, e.g. 1.5 or "1/16 in".')] = None,
    ap: Annotated[str | None, typer.Option(help="Axial depth of cut; a hole's depth when drilling.")] = None,
    feed: Annotated[str | None, typer.Option(help="Feed to judge instead of choosing one.")] = None,
    rpm: Annotated[str | None, typer.Option(help="Spindle speed to judge instead of choosing one.")] = None,
    stickout: Annotated[str | None, typer.Option(help="From collet face to tip.")] = None,
    drop: Annotated[str | None, typer.Option(help="From the Z carriage's lowest bearing to the tip.")] = None,
    bore: Annotated[str | None, typer.Option(help="Diameter of a helical bore.")] = None,
    segment: Annotated[str | None, typer.Option(help="Path length between corners.")] = None,
    finish: Annotated[bool, typer.Option("--finish", help="A finishing pass: small deflection.")] = False,
    proven: Annotated[
        bool,
        typer.Option(
            "--proven/--first-cut", help="Use every limit in full, or keep the first cut's reserve."
        ),
    ] = False,
    job: Annotated[
        Path | None, typer.Option(help="Take machine, material, stickout, drop from a job file.")
    ] = None,
    tool: Annotated[int | None, typer.Option(help="Tool number of the job file to advise on.")] = None,
    learn: Annotated[
        bool,
        typer.Option("--learn/--no-learn", help="Use what the log has taught about this machine, or not."),
    ] = True,
    units: Annotated[Units | None, typer.Option(help="Units of bare numbers and of the answer.")] = None,
    sources: Annotated[bool, typer.Option("--sources", help="Also the source of every number.")] = False,
    thickness: Annotated[
        str | None, typer.Option(help="Thickness to cut through: passes and minutes; a job gives it too.")
    ] = None,
    more: Annotated[
        bool,
        typer.Option("--more", help="Every limit, reason, range and caution, not only the first screen."),
    ] = False,
    json: Annotated[bool, typer.Option("--json", help="The answer as JSON.")] = False,
    plot: Annotated[
        Path | None, typer.Option(help="Also draw the limits over depth and speed, .svg or .png.")
    ] = None,
    force: Force = False,
) -> None:
    """Spindle speed, feed, depth and width for a cut, and which limit holds each number back."""
    from millcalc.advise.advice import advise
    from millcalc.advise.band import band_of
    from millcalc.advise.bare_shares import bare_shares
    from millcalc.advise.others import other_cutters
    from millcalc.cutlog.past import past_cuts
    from millcalc.report.advice_json import advice_data
    from millcalc.report.log_text import similar_line
    from millcalc.tables import load_shop

    _check_plot(plot, cut, job, force)
    shop = load_shop()
    shown = (units or Units(shop.units if shop else "mm")).value
    texts = {"ae": ae, "ap": ap, "feed": feed, "rpm": rpm, "segment": segment, "bore": bore}
    request = _request(cut, texts, shown, finish, proven)
    chosen = {"machine": machine, "material": material, "cutter": cutter, "stickout": stickout, "drop": drop}
    tooling = pick_tooling(chosen, shown, shop, job, tool)
    thickness_mm = _thickness(thickness, shown, job)
    if learn:
        from millcalc.cli.past_cuts import with_learned

        tooling = with_learned(tooling)
    answer = advise(tooling, request, units=shown, others=other_cutters(tooling, shop))  # type: ignore[arg-type]
    found = past_cuts(answer, Path.cwd()) if learn else []
    past = tuple(similar_line(one, shown) for one in found)  # type: ignore[arg-type]
    band = band_of(answer, shown)  # type: ignore[arg-type]
    if json:
        import json as json_module

        data = {**advice_data(answer, bare_shares(answer)), "similar": list(past)}
        if band is not None:
            from millcalc.report.alloy_text import band_data

            data["band"] = band_data(band)
        say(json_module.dumps(data, indent=2, ensure_ascii=False))
    else:
        show_advice(
            answer,
            shown,
            more=more or sources,
            sources=sources,
            thickness_mm=thickness_mm,
            past=past,
            band=band,
        )
    if plot is not None:
        from millcalc.advise.operating_map import advice_map
        from millcalc.cli.pictures import write_file
        from millcalc.report.plots import map_picture

        form = "svg" if plot.suffix.lower() == ".svg" else "png"
        picture = map_picture(advice_map(answer, shown), shown, form)  # type: ignore[arg-type]
        write_file(plot, picture, force=force)
        say(f"plot written to {plot}", err=json)
    if not answer.fits:
        raise typer.Exit(1)


def show_advice(
    answer: Advice,
    units: str,
    *,
    more: bool = False,
    sources: bool = False,
    thickness_mm: float | None = None,
    past: tuple[str, ...] = (),
    band: SettingsBand | None = None,
) -> None:
    """Print an advice: its first screen, or everything.

    answer: What to print.
    units: ``mm`` or ``in``.
    more: Everything instead of the first screen.
    sources: Also the sources of every number.
    thickness_mm: Thickness to cut through [mm].
    past: Past cuts like this one.
    band: For an unknown alloy, the settings over all it may be.
    """
    from millcalc.report.advice_text import print_advice
    from millcalc.report.alloy_text import print_band
    from millcalc.report.console import make_console
    from millcalc.report.settings_text import passes_text, print_first_screen
    from millcalc.tables import load_cautions

    console, known = make_console(), load_cautions()
    if not more:
        titles = {key: item.title for key, item in known.items()}
        print_first_screen(
            console,
            answer,
            titles,
            units,  # type: ignore[arg-type]
            thickness_mm=thickness_mm,
            past=past,
            band=band,
        )
        return
    texts = {key: item.text for key, item in known.items()}
    print_advice(console, answer, texts, units, full=sources, past=past)  # type: ignore[arg-type]
    if thickness_mm is not None:
        console.print(passes_text(answer, thickness_mm, units))  # type: ignore[arg-type]
    if band is not None:
        print_band(console, band, answer.request.cut, units, answer)  # type: ignore[arg-type]


def _thickness(text: str | None, units: str, job: Path | None) -> float | None:
    """The thickness to cut through: as typed, else the job's stock [mm]."""
    from millcalc import units as read

    if text is None and job is not None:
        from millcalc.job import load_job

        stock = load_job(job).stock
        return stock.thickness_mm if stock is not None else None
    return quantity(text, "thickness", read.length_mm, units)


def _check_plot(plot: Path | None, cut: Cut, job: Path | None, force: bool) -> None:
    """See early that a plot can be made and written."""
    if plot is None:
        return
    from millcalc.cli.pictures import check_target
    from millcalc.errors import UsageError

    check_target(plot, (".svg", ".png"), "--plot", (job,), force=force)
    if cut in (Cut.drill, Cut.plunge):
        raise UsageError(
            "--plot shows depth over speed, which says nothing of drilling or plunging; leave it out"
        )


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


def pick_tooling(
    chosen: dict[str, str | None], units: str, shop: Shop | None, job: Path | None, tool: int | None
) -> Tooling:
    """Machine, material and cutter from the options, the job and the shop, in this order.

    chosen: Options machine, material, cutter, stickout, drop as typed.
    units: Unit of bare numbers.
    shop: The user's shop.
    job: Job file.
    tool: Tool number of the job [-].
    Returns: Ready for the limits.
    Raises InputError: If something is missing or unknown.
    """
    from millcalc import units as read
    from millcalc.advise.others import owned_names
    from millcalc.errors import InputError
    from millcalc.limits.build import make_tooling
    from millcalc.tables import list_names, load_cutter, load_material

    stickout = quantity(chosen["stickout"], "stickout", read.length_mm, units)
    drop = quantity(chosen["drop"], "drop", read.length_mm, units)
    if job is not None:
        from millcalc.job import build_setup, load_job
        from millcalc.limits.fitted import tooling_for

        setup = build_setup(load_job(job), job, shop)
        return tooling_for(
            setup,
            tool,
            machine=choose_machine(chosen["machine"], shop) if chosen["machine"] else None,
            material=load_material(chosen["material"]) if chosen["material"] else None,
            cutter=load_cutter(chosen["cutter"]) if chosen["cutter"] else None,
            stickout_mm=stickout,
            drop_mm=drop,
        )
    _all_missing(chosen, shop)
    machine = choose_machine(chosen["machine"], shop)
    if chosen["material"] is None:
        raise InputError(
            "no material",
            "one of: " + ", ".join(list_names("materials")),
            "give --material NAME, or --job JOB.yaml",
            field="--material",
        )
    if chosen["cutter"] is None:
        owned = owned_names(shop)
        raise InputError(
            "no cutter",
            "one of " + ("yours: " if owned else "these: ") + ", ".join(owned or list_names("cutters")),
            "give --cutter NAME",
            field="--cutter",
        )
    return make_tooling(
        machine,
        load_material(chosen["material"]),
        load_cutter(chosen["cutter"]),
        stickout_mm=stickout,
        drop_mm=drop,
    )


def _all_missing(chosen: dict[str, str | None], shop: Shop | None) -> None:
    """Name everything that is missing at once, where it is more than one thing."""
    from millcalc.errors import InputError

    missing = [name for name in ("machine", "material", "cutter") if chosen[name] is None]
    if shop is not None and shop.machine is not None and "machine" in missing:
        missing.remove("machine")
    if len(missing) > 1:
        raise InputError(
            f"no {', no '.join(missing)}",
            "; ".join(f"`millcalc tables {name}s` lists the {name}s" for name in missing),
            "give " + " ".join(f"--{name} NAME" for name in missing) + ", or --job JOB.yaml",
        )
