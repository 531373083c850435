"""``millcalc alloy``: what a piece of unknown metal may be, and the settings that hold in all it may be."""

from __future__ import annotations

import re
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from millcalc.cli.common import quantity, shown_units
from millcalc.cli.options import (
    AnswerUnits,
    Cut,
    Drop,
    KindOfCut,
    MachineName,
    Stickout,
    ToolingJob,
    ToolNumber,
)
from millcalc.cli.say import say
from millcalc.cli.tooling import choose_tooling

if TYPE_CHECKING:
    from millcalc.advise.identify import Answers


class MagnetAnswer(StrEnum):
    """What a magnet does."""

    sticks = "sticks"
    no = "no"


class VinegarAnswer(StrEnum):
    """What a drop of vinegar does within a minute."""

    bubbles = "bubbles"
    none = "none"


class BendAnswer(StrEnum):
    """What a thin offcut does when it is bent."""

    flat = "flat"
    springs = "springs"
    cracks = "cracks"


class DrillAnswer(StrEnum):
    """What chips a 3 mm drill makes, dry."""

    strings = "strings"
    short = "short"


RoundBar = Annotated[
    str | None, typer.Option("--round", help='Of a round bar, diameter and length, "20 x 150 mm".')
]
Displaced = Annotated[
    str | None,
    typer.Option(help="Of any shape: what a vessel of water on the scale shows more while it hangs in it."),
]


def command(
    weight: Annotated[str | None, typer.Option(help='Weight of the piece, e.g. "324 g".')] = None,
    size: Annotated[str | None, typer.Option(help='Of a flat or square piece, "200 x 100 x 6 mm".')] = None,
    round_bar: RoundBar = None,
    displaced: Displaced = None,
    scale_error: Annotated[str | None, typer.Option(help="What the scale may be off; left out, 1 g.")] = None,
    size_error: Annotated[str | None, typer.Option(help="What a size may be off; left out, 0.1 mm.")] = None,
    magnet: Annotated[MagnetAnswer | None, typer.Option(help="On a clean spot.")] = None,
    vinegar: Annotated[VinegarAnswer | None, typer.Option(help="A drop on bare metal, one minute.")] = None,
    bend: Annotated[BendAnswer | None, typer.Option(help="A thin offcut, bent by hand or in a vice.")] = None,
    drill: Annotated[DrillAnswer | None, typer.Option(help="Chips of a 3 mm hole, drilled dry.")] = None,
    machine: MachineName = None,
    cutter: Annotated[str | None, typer.Option(help="Cutter: then settings are computed too.")] = None,
    cut: KindOfCut = Cut.slot,
    stickout: Stickout = None,
    drop: Drop = None,
    job: ToolingJob = None,
    tool: ToolNumber = None,
    units: AnswerUnits = None,
) -> None:
    """What an unknown metal may be, by its weight and size and simple tests, and settings for all it may be."""
    from millcalc.advise.identify import identify
    from millcalc.errors import UsageError
    from millcalc.report.alloy_text import print_identified
    from millcalc.report.console import make_console
    from millcalc.tables import load_cautions

    shown = shown_units(units)
    texts = {
        "weight": weight,
        "size": size,
        "round": round_bar,
        "displaced": displaced,
        "scale-error": scale_error,
        "size-error": size_error,
    }
    found = identify(_answers(texts, magnet, vinegar, bend, drill, shown))
    cautions = {key: item.text for key, item in load_cautions().items()}
    print_identified(make_console(), found, cautions)
    if found.verdict in ("refuse", "weigh", "nothing"):
        raise typer.Exit(1)
    if not found.materials:
        return
    if cut in (Cut.drill, Cut.plunge):
        raise UsageError("the band is for milling cuts: --cut slot, side, face, ramp or helix")
    if cutter is None and job is None:
        say("\nsettings for all it may be: add --machine and --cutter, or --job")
        return
    chosen = choose_tooling(
        machine, found.materials[0], cutter, stickout=stickout, drop=drop, job=job, tool=tool, units=units
    )
    from millcalc.advise.band import settings_band
    from millcalc.check.cautions import FOOTER
    from millcalc.limits.request import CutRequest
    from millcalc.report.alloy_text import print_band

    band = settings_band(chosen.tooling, CutRequest(cut.value), found.materials, shown)  # type: ignore[arg-type]
    console = make_console()
    print_band(console, band, cut.value, shown)
    console.print(FOOTER)


def _answers(
    texts: dict[str, str | None],
    magnet: MagnetAnswer | None,
    vinegar: VinegarAnswer | None,
    bend: BendAnswer | None,
    drill: DrillAnswer | None,
    units: str,
) -> Answers:
    from millcalc.advise.identify import Answers

    return Answers(
        _density(texts, units),
        magnet.value if magnet is not None else None,
        vinegar.value if vinegar is not None else None,
        bend.value if bend is not None else None,
        drill.value if drill is not None else None,
    )


def _density(texts: dict[str, str | None], units: str) -> tuple[float, float, float] | None:
    """Density range from weight and size [kg/m3]; None when neither was given."""
    from millcalc import units as read
    from millcalc.cli import tuning
    from millcalc.errors import InputError, UsageError
    from millcalc.mechanics.weighing import (
        bar_volumes_mm3,
        box_volumes_mm3,
        density_range_kg_m3,
        displaced_volumes_mm3,
    )

    ways = [name for name in ("size", "round", "displaced") if texts[name] is not None]
    if texts["weight"] is None and not ways:
        unused = [f"--{name}" for name in ("scale-error", "size-error") if texts[name] is not None]
        if unused:
            raise UsageError(f"{' and '.join(unused)} without a weight and a size: give --weight and --size")
        return None
    if texts["weight"] is None or len(ways) != 1:
        raise UsageError("a density needs --weight and one of --size, --round and --displaced")
    mass = quantity(texts["weight"], "weight", read.mass_kg, "g") or 0.0
    scale = quantity(texts["scale-error"], "scale-error", read.mass_kg, "g")
    scale = tuning.ALLOY_SCALE_ERROR_G / 1000.0 if scale is None else scale
    off = quantity(texts["size-error"], "size-error", read.length_mm, units)
    off = tuning.ALLOY_CALLIPER_ERROR_MM if off is None else off
    way, text = ways[0], str(texts[ways[0]])
    try:
        if way == "displaced":
            # the rise is the difference of two readings
            volumes = displaced_volumes_mm3(
                quantity(text, "displaced", read.mass_kg, "g") or 0.0, 2.0 * scale
            )
        elif way == "round":
            diameter, length = _lengths(text, 2, "round", units)
            volumes = bar_volumes_mm3(diameter, length, off)
        else:
            volumes = box_volumes_mm3(_lengths(text, 3, "size", units), off)
        return density_range_kg_m3(mass, scale, volumes)
    except InputError:
        raise
    except ValueError as error:
        raise InputError(
            str(error), "a piece large enough to be weighed and measured", field=f"--{way}"
        ) from None


def _lengths(text: str, count: int, field: str, units: str) -> list[float]:
    """Lengths such as ``200 x 100 x 6 mm``; a unit behind the last one stands for all without one."""
    from millcalc import units as read
    from millcalc.errors import InputError

    parts = [part.strip() for part in re.split(r"[x×*]", text, flags=re.IGNORECASE)]
    if len(parts) != count or not all(parts):
        example = "200 x 100 x 6 mm" if count == 3 else "20 x 150 mm"
        raise InputError(repr(text), f"{count} lengths, such as {example!r}", field=f"--{field}")
    unit = re.sub(r"^[\d\s./+-]*", "", parts[-1]).strip()
    found = []
    for part in parts:
        bare = re.fullmatch(r"[\d\s./+-]*", part) is not None
        length = quantity(f"{part} {unit}" if bare and unit else part, field, read.length_mm, units) or 0.0
        found.append(length)
    return found
