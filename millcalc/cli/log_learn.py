"""The commands about many cuts: learn, stats, wear, machine-changed."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated, Any

import typer

from millcalc.cli.common import shown_units
from millcalc.cli.log_options import LogFile, check_day, open_log, print_json, query_of, read_log
from millcalc.cli.options import CutterName, Force, Json, MachineName, MaterialName, ShownUnits
from millcalc.cli.say import say, tell


def learn(
    machine: MachineName = None,
    material: Annotated[str | None, typer.Option(help="Material for the chip limits; left out, all.")] = None,
    json: Json = False,
    log: LogFile = None,
) -> None:
    """What the outcomes say about this machine's limits."""
    from dataclasses import asdict

    from millcalc.cli.log_fields import chosen_machine
    from millcalc.cutlog.margins import learned_margins
    from millcalc.report.console import make_console
    from millcalc.report.log_text import print_margins

    with read_log(log) as opened:
        margins = learned_margins(chosen_machine(opened, machine), material=material or "", log=opened)
        if json:
            print_json(
                {
                    "machine": margins.machine,
                    "material": margins.material,
                    "cuts": margins.cuts,
                    "left_out": margins.left_out,
                    "since": None if margins.since is None else margins.since.isoformat(),
                    "margins": {kind: asdict(margin) for kind, margin in margins.by_kind.items()},
                }
            )
        else:
            print_margins(make_console(), margins)


def stats(
    machine: MachineName = None,
    material: MaterialName = None,
    cutter: CutterName = None,
    out: Annotated[
        list[Path] | None,
        typer.Option("--out", "-o", help="Also draw depth against chip, to a .png, .svg or .pdf."),
    ] = None,
    force: Force = False,
    units: ShownUnits = None,
    json: Json = False,
    log: LogFile = None,
) -> None:
    """What worked by material and cutter, and how it drifts."""
    from dataclasses import replace

    from millcalc.cli.outputs import PICTURE, by_kind
    from millcalc.cutlog.stats import depth_plot, drift, frame_of, what_worked
    from millcalc.report.console import make_console
    from millcalc.report.log_text import print_stats

    plot = by_kind(out, {"picture": (*PICTURE, ".pdf")}, force=force).get("picture")
    query = replace(query_of(machine, material, cutter), limit=-1)
    with read_log(log) as opened:
        frame = frame_of(
            stored.entry for stored in opened.iterate(query) if stored.entry.origin != "somebody"
        )
        if json:
            print_json(
                {
                    "worked": _records(what_worked(frame)),
                    "drift": _records(drift(frame)),
                }
            )
        else:
            print_stats(
                make_console(), _records(what_worked(frame)), _records(drift(frame)), shown_units(units)
            )
        if plot is not None:
            drawn = depth_plot(
                frame, plot, " ".join(word for word in (machine, material, cutter) if word), force=force
            )
            say(f"{drawn} cuts drawn in {plot}", err=json)


def _records(frame: Any) -> list[dict[str, Any]]:
    """Rows of a table with None for what is unknown."""
    rows = frame.to_dict(orient="records")
    return [{key: None if value != value else value for key, value in row.items()} for row in rows]


def wear(cutter: CutterName = None, log: LogFile = None) -> None:
    """Minutes each cutter has cut, against how long its like lasted."""
    from millcalc.cutlog.wear import cutter_wear
    from millcalc.report.console import make_console
    from millcalc.report.log_text import print_wear

    with read_log(log) as opened:
        print_wear(make_console(), cutter_wear(opened, cutter or ""))


def machine_changed(
    what: Annotated[str, typer.Argument(help='What was changed, e.g. "stiffer Z plate".')],
    machine: MachineName = None,
    since: Annotated[datetime | None, typer.Option(help="Since this day; left out, now.")] = None,
    log: LogFile = None,
) -> None:
    """Note an alteration: earlier cuts stay in the log but no longer teach."""
    from millcalc.cli.log_fields import chosen_machine
    from millcalc.cutlog.alterations import note_alteration

    with open_log(log, write=True) as opened:
        check_day("--since", since)
        noted = note_alteration(opened, chosen_machine(opened, machine), what, since)
        tell(f"{noted.machine}: {noted.what}; only cuts since then are learned from")
