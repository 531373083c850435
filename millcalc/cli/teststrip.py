"""``millcalc new teststrip``: a short program for scrap with a card to tick."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from millcalc.cli.common import Units, quantity, write_whole
from millcalc.cli.settings import pick_tooling


class Rises(StrEnum):
    """What rises from slot to slot."""

    depth = "depth"
    chip = "chip"


def command(
    path: Annotated[Path, typer.Argument(help="Program to write; the card goes beside it.")] = Path(
        "teststrip.nc"
    ),
    ladder: Annotated[Rises, typer.Option(help="What rises from slot to slot.")] = Rises.depth,
    machine: Annotated[str | None, typer.Option(help="Machine; left out, the one in shop.yaml.")] = None,
    material: Annotated[str | None, typer.Option(help="Work material.")] = None,
    cutter: Annotated[str | None, typer.Option(help="Cutter.")] = None,
    stickout: Annotated[str | None, typer.Option(help="From collet face to tip.")] = None,
    drop: Annotated[str | None, typer.Option(help="From the Z carriage's lowest bearing to the tip.")] = None,
    thickness: Annotated[str, typer.Option(help="Thickness of the scrap, when there is no job.")] = "6 mm",
    job: Annotated[Path | None, typer.Option(help="Job file: its stock, zero, screws and cutter.")] = None,
    tool: Annotated[int | None, typer.Option(help="Tool number of the job file.")] = None,
    units: Annotated[Units | None, typer.Option(help="Units of bare numbers and of the card.")] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace existing files.")] = False,
) -> None:
    """Slots of rising depth or chip load for scrap, all within the limits, with a card to tick."""
    from millcalc import units as read
    from millcalc.advise.teststrip import card_text, make_strip, strip_job
    from millcalc.errors import InputError
    from millcalc.job import build_setup, job_text, load_job
    from millcalc.tables import load_shop

    if path.suffix.lower() in (".yaml", ".txt"):
        raise InputError(path.name, "a program name such as teststrip.nc", field="path")
    shop = load_shop()
    shown = (units or Units(shop.units if shop else "mm")).value
    chosen = {"machine": machine, "material": material, "cutter": cutter, "stickout": stickout, "drop": drop}
    tooling = pick_tooling(chosen, shown, shop, job, tool)
    setup = build_setup(load_job(job), job, shop) if job is not None else None
    number = tool if tool is not None else (min(setup.cutters) if setup is not None and setup.cutters else 1)
    strip = make_strip(tooling, ladder.value, setup, number, shown)  # type: ignore[arg-type]
    card = card_text(strip, shown)  # type: ignore[arg-type]
    card_path, job_path = path.with_suffix(".card.txt"), path.with_suffix(".job.yaml")
    own_job = None
    if setup is None:
        thick = quantity(thickness, "thickness", read.length_mm, shown) or 0.0
        own_job = job_text(strip_job(strip, thick))
    write_whole(path, strip.program, force=force)
    write_whole(card_path, card, force=force)
    if own_job is not None:
        write_whole(job_path, own_job, force=force)
    typer.echo(card)
    typer.echo(f"written: {path}, {card_path}" + (f", {job_path}" if own_job is not None else ""))
    typer.echo(f"before it runs: millcalc check {path} --job {job if job is not None else job_path}")
