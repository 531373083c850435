"""``millcalc stability``: the depth that stays quiet over spindle speed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from millcalc.cli.common import quantity, wrapped
from millcalc.cli.options import (
    AnswerUnits,
    Cut,
    CutterName,
    Drop,
    Force,
    KindOfCut,
    MachineName,
    MaterialName,
    Stickout,
    ToolingJob,
    ToolNumber,
)
from millcalc.cli.say import say
from millcalc.cli.tooling import choose_tooling

if TYPE_CHECKING:
    from millcalc.advise.lobes import Stability
    from millcalc.units_show import System

Mode = Annotated[
    str | None, typer.Option(help='A mode to try: "900 Hz, 0.02, 3 N/um"; the stiffness may be left out.')
]


def command(
    machine: MachineName = None,
    material: MaterialName = None,
    cutter: CutterName = None,
    cut: KindOfCut = Cut.slot,
    ae: Annotated[str | None, typer.Option(help="Radial width of a side cut.")] = None,
    ap: Annotated[str | None, typer.Option(help="Depth the frame's margin is given for.")] = None,
    stickout: Stickout = None,
    drop: Drop = None,
    mode: Mode = None,
    out: Annotated[
        list[Path] | None, typer.Option("--out", "-o", help="Also draw it, to a .png or .svg.")
    ] = None,
    job: ToolingJob = None,
    tool: ToolNumber = None,
    units: AnswerUnits = None,
    force: Force = False,
) -> None:
    """Depth of cut that stays free of chatter over spindle speed, and the speeds worth using."""
    from millcalc import units as read
    from millcalc.advise.advice import advise
    from millcalc.advise.lobes import stability
    from millcalc.cli.outputs import PICTURE, by_kind
    from millcalc.limits.request import CutRequest
    from millcalc.report.lobes_plot import save_plot

    plot = by_kind(out, {"picture": PICTURE}, (job,), force=force).get("picture")
    chosen = choose_tooling(
        machine, material, cutter, stickout=stickout, drop=drop, job=job, tool=tool, units=units
    )
    tooling, shown = chosen.tooling, chosen.units
    request = CutRequest(
        cut.value,
        axial_depth_mm=quantity(ap, "ap", read.length_mm, shown),
        radial_width_mm=quantity(ae, "ae", read.length_mm, shown),
    )
    settings = advise(tooling, request, buys=False).settings
    found = stability(
        tooling,
        CutRequest(cut.value, radial_width_mm=settings.radial_width_mm),
        depth_mm=settings.axial_depth_mm,
        speed_rpm=settings.speed_rpm,
        mode=None if mode is None else _mode(mode, 1.0 / (tooling.cutter_um_n + tooling.spindle_um_n)),
    )
    _tell(found, shown)
    if plot is not None:
        save_plot(found, plot, shown, force=force)
        say(f"drawn in {plot}")


def _tell(found: Stability, units: System) -> None:
    """The answer in lines, and the quiet depth as a picture in characters."""
    from millcalc.report.console import can_show_unicode, plain
    from millcalc.report.lobes_characters import character_plot, stability_lines
    from millcalc.report.lobes_plot import plot_top_mm

    for line in stability_lines(found, units):
        for part in wrapped(line):
            say(plain(part))
    if len(found.speed_rpm):
        say("")
        scale = 1 / 25.4 if units == "in" else 1.0
        picture = character_plot(
            found.speed_rpm,
            found.sure_mm * scale,
            fancy=can_show_unicode(),
            x_label="spindle speed [rpm]",
            y_label=f"quiet depth [{units}], errors of speed and frequency allowed for",
            top=plot_top_mm(found) * scale,
        )
        for line in picture:
            say(line)


def _mode(text: str, stiffness_n_um: float):  # type: ignore[no-untyped-def]
    """A mode from a text such as ``900 Hz, 0.02, 3 N/um``."""
    from millcalc.errors import InputError
    from millcalc.mechanics.stability import VibrationMode

    parts = [part.strip().lower().replace("µ", "u") for part in text.split(",")]
    try:
        numbers = [float(part.removesuffix("n/um").removesuffix("hz").strip()) for part in parts]
    except ValueError:
        numbers = []
    if len(numbers) not in (2, 3):
        accepted = (
            'frequency and damping, as "900 Hz, 0.02", and stiffness if known, as "900 Hz, 0.02, 3 N/um"'
        )
        raise InputError(repr(text), accepted, field="--mode")
    numbers = [*numbers, stiffness_n_um][:3]
    for value, (low, high), unit in zip(numbers, _BELIEVED, ("Hz", "", "N/um"), strict=True):
        if not low <= value <= high:
            found, accepted = f"{value:g} {unit}".strip(), f"{low:g} to {high:g} {unit}".strip()
            raise InputError(found, accepted, "frequency, damping, stiffness", field="--mode")
    try:
        return VibrationMode(*numbers)
    except ValueError as error:
        raise InputError(repr(text), str(error), field="--mode") from None


_BELIEVED = ((1.0, 1e5), (1e-4, 0.99), (1e-3, 1e6))  # of a mode: frequency, damping, stiffness; estimates
