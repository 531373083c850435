"""``millcalc proof``: a short program for scrap that proves a cut, and what its result means."""

from __future__ import annotations

import sys
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from millcalc.cli.common import compile_notice, quantity, shown_units
from millcalc.cli.log_options import LogFile
from millcalc.cli.options import (
    CutterName,
    Drop,
    Force,
    MachineName,
    MaterialName,
    Stickout,
    ToolNumber,
    Units,
)
from millcalc.cli.say import say, tell
from millcalc.cli.tooling import choose_tooling

if TYPE_CHECKING:
    from collections.abc import Callable

    from millcalc.advise.proof import Strip
    from millcalc.advise.proof_result import Proven
    from millcalc.check.model import CheckReport
    from millcalc.job.setup import Setup
    from millcalc.units_show import System


class Rises(StrEnum):
    """What rises from step to step."""

    depth = "depth"
    chip = "chip"


Failed = Annotated[int | None, typer.Option(help="With --result: first step above it that failed.")]
Symptom = Annotated[
    list[str] | None, typer.Option(help="With --failed: what was wrong, e.g. chatter; repeatable.")
]
Program = Annotated[
    Path | None, typer.Option(help="With --result: the strip that was cut; left out, proof.nc.")
]
Outputs = Annotated[
    list[Path] | None,
    typer.Option(
        "--out",
        "-o",
        help="Program to write; left out, proof.nc. Once more with .html: also a page with its plan.",
    ),
]
Anyway = Annotated[
    bool, typer.Option("--anyway", help="Write it though the check warns; never where it says stop.")
]


def command(
    ladder: Annotated[Rises, typer.Option(help="What rises from step to step.")] = Rises.depth,
    machine: MachineName = None,
    material: MaterialName = None,
    cutter: CutterName = None,
    rpm: Annotated[str | None, typer.Option(help="Spindle speed to prove; left out, the advised.")] = None,
    feed: Annotated[str | None, typer.Option(help="Feed to prove depths at; left out, the advised.")] = None,
    stickout: Stickout = None,
    drop: Drop = None,
    thickness: Annotated[str, typer.Option(help="Thickness of the scrap, when there is no job.")] = "6 mm",
    job: Annotated[Path | None, typer.Option(help="Job file: its stock, zero, screws and cutter.")] = None,
    tool: ToolNumber = None,
    result: Annotated[int | None, typer.Option(help="After the cut: the step that went best.")] = None,
    failed: Failed = None,
    symptom: Symptom = None,
    program: Program = None,
    note: Annotated[str, typer.Option(help="With --result: a remark for the log.")] = "",
    keep: Annotated[bool, typer.Option("--log-it/--no-log", help="Log the result, or only show it.")] = True,
    log: LogFile = None,
    units: Annotated[Units | None, typer.Option(help="Units of bare numbers and of the card.")] = None,
    anyway: Anyway = False,
    out: Outputs = None,
    force: Force = False,
) -> None:
    """Steps of rising depth or chip load for scrap, all within the limits; --result turns the best into settings."""
    shown = shown_units(units)
    of_a_cut = failed is not None or bool(symptom) or program is not None
    path, html = _early(out, job, result, of_a_cut, force)
    if result is not None:
        _tell(program or Path("proof.nc"), result, failed, symptom or [], note, keep, log, shown)
        return
    from millcalc import units as read
    from millcalc.advise.proof import make_strip
    from millcalc.cli.past_cuts import with_learned

    chosen = choose_tooling(
        machine, material, cutter, stickout=stickout, drop=drop, job=job, tool=tool, units=units
    )
    setup = chosen.setup
    number = tool if tool is not None else (min(setup.cutters) if setup is not None and setup.cutters else 1)
    learned = with_learned(chosen.tooling)

    def make(held_mm: float) -> Strip:
        return make_strip(
            learned,
            ladder.value,
            setup,
            number,
            shown,
            speed_rpm=quantity(rpm, "rpm", read.speed_rpm),
            feed_mm_min=quantity(feed, "feed", read.feed_mm_min, f"{shown}/min"),
            held_mm=held_mm,
        )

    thick = _thickness_mm(quantity(thickness, "thickness", read.length_mm, shown) or 0.0)
    _write(path, make, setup, job, thick, shown, force, anyway, html)


def _early(
    out: list[Path] | None, job: Path | None, result: int | None, of_a_cut: bool, force: bool
) -> tuple[Path, Path | None]:
    """See that the options fit together and what is named may be written: the program, and the page."""
    from millcalc.cli.outputs import PAGE, by_kind
    from millcalc.errors import InputError, UsageError

    for path in out or ():
        if path.suffix.lower() in (".yaml", ".txt", ".json"):
            raise InputError(path.name, "a program name such as proof.nc", field="-o")
    files = by_kind(out, {"page": PAGE, "program": ("",)}, (job,), force=force)
    if files and result is not None:
        raise UsageError("-o names the strip to cut; leave it out with --result, and name it with --program")
    if result is None and of_a_cut:
        raise UsageError("--failed, --symptom and --program tell of a cut: name its best step with --result")
    return files.get("program", Path("proof.nc")), files.get("page")


def _thickness_mm(given: float) -> float:
    from millcalc.advise.tuning import STRIP_THICKEST_MM
    from millcalc.errors import InputError

    if given > STRIP_THICKEST_MM:
        raise InputError(f"{given:g} mm", f"at most {STRIP_THICKEST_MM:g} mm", field="--thickness")
    return given


def _write(
    path: Path,
    make: Callable[[float], Strip],
    setup: Setup | None,
    job: Path | None,
    thick_mm: float,
    units: str,
    force: bool,
    anyway: bool,
    html: Path | None,
) -> None:
    """Check the strip first; write program, card, record and job only when nothing stops it."""
    from millcalc.advise.proof import strip_job
    from millcalc.advise.proof_keep import strip_files
    from millcalc.check.proof_held import held_strip
    from millcalc.files import refuse_target, write_text
    from millcalc.job import build_setup, job_text
    from millcalc.report.proof_text import card_text
    from millcalc.tables import load_shop

    refuse_target(path, replace=force, inputs=(job,))
    whole = make(float("inf"))
    own_job = strip_job(whole, thick_mm) if setup is None else None
    if own_job is not None:
        setup = build_setup(own_job, None, load_shop())
    compile_notice(simulates=True)
    strip, report = held_strip(whole, make, setup, path.name)
    job_path = path.with_suffix(".job.yaml")
    card = card_text(strip, units)  # type: ignore[arg-type]
    texts = strip_files(strip, path, card, datetime.now().astimezone())
    if own_job is not None:
        texts[job_path] = job_text(own_job)
    for one in texts:
        refuse_target(one, replace=force, inputs=(job,))
    _refuse(report, anyway)
    for one, text in texts.items():
        write_text(one, text, replace=force)
    say(card)
    tell("written: " + ", ".join(map(str, texts)))
    _tell_check(report, strip, whole, units)
    tell(f"The lists: millcalc check {path} --job {job if job is not None else job_path}")
    if html is not None:
        _page(html, strip, units, force)  # type: ignore[arg-type]


def _page(html: Path, strip: Strip, units: System, force: bool) -> None:
    """Write the strip as a page with its plan and its card."""
    from millcalc.cli.pictures import write_answer
    from millcalc.report.figures_stock import proof_figure
    from millcalc.report.proof_text import card_text

    title = f"Proof strip: {strip.tooling.cutter.title} in {strip.tooling.material.title}"
    verdict = (
        f"{len(strip.steps)} steps of rising {'depth' if strip.ladder == 'depth' else 'chip load'}, for scrap"
    )
    write_answer(
        html, title, (verdict, "note"), [proof_figure(strip, units)],
        lambda to: to.print(card_text(strip, units)), units, force=force,
    )  # fmt: skip


def _tell_check(report: CheckReport, strip: Strip, whole: Strip, units: str) -> None:
    """What the check of the strip says, and whether the hold-down made it shallower."""
    from millcalc.units import show_length

    left = len(report.not_checked)
    least, most = (max(step.depth_mm for step in one.steps) for one in (strip, whole))
    tell(f"checked before it was written: {report.verdict()};")
    if least < most:
        step = 0.01 if units == "mm" else 0.0005
        tell(
            f"the deepest step is {show_length(least, units, step)} instead of {show_length(most, units, step)}: "  # type: ignore[arg-type]
            "what holds the scrap, as the job tells it, bears no more;"
        )
    tell(
        f"{left} thing{'' if left == 1 else 's'} could not be looked at; hold-down and zero are yours to see to."
    )


def _refuse(report: CheckReport, anyway: bool) -> None:
    """Refuse a strip that did not pass every rule."""
    from millcalc.report.console import plain

    for finding in report.findings:
        if finding.severity != "note":
            where = "" if finding.line is None else f"line {finding.line}: "
            text = f"{finding.severity}: {where}{finding.code} {finding.fact}; do: {finding.action}"
            say(plain(text, sys.stderr), err=True)
    if report.exit_code("stop" if anyway else "warning"):
        more = "" if report.exit_code("stop") else "; to write it all the same: --anyway"
        say(f"not written: the check found this in the strip or in the job it is for{more}", err=True)
        raise typer.Exit(1)


def _tell(
    path: Path,
    best: int,
    failed: int | None,
    symptoms: list[str],
    note: str,
    keep: bool,
    log: Path | None,
    units: str,
) -> None:
    """Settings from the result, and its entries in the log."""
    from millcalc.advise.proof_record import read_record
    from millcalc.advise.proof_result import decide
    from millcalc.errors import TableError, UsageError
    from millcalc.report.console import make_console
    from millcalc.report.proven_text import print_proven
    from millcalc.tables import load_cautions, load_material

    if symptoms and failed is None:
        raise UsageError("--symptom tells what was wrong with a failed step: name it with --failed")
    proven = decide(read_record(path), best, failed, units)  # type: ignore[arg-type]
    lines = _log(proven, symptoms, note, log) if keep else []
    cautions = {key: item.text for key, item in load_cautions().items()}
    try:
        material = load_material(proven.record.material)
    except TableError:
        material = None
    print_proven(make_console(), proven, cautions, material, units)  # type: ignore[arg-type]
    for line in lines:
        say(line)


def _log(proven: Proven, symptoms: list[str], note: str, path: Path | None) -> list[str]:
    """Log the steps that are not in the log yet, all or none."""
    from millcalc.cli.log_options import open_log
    from millcalc.cutlog.proofs import entries_from, logged_as

    entries = entries_from(proven, datetime.now().astimezone(), symptoms, note)
    with open_log(path, write=True) as opened:
        known = {entry.uid: logged_as(opened, entry) for entry in entries}
        stored = opened.add_many([entry for entry in entries if known[entry.uid] is None], "add")
        told = [f"logged as entry {one.number} ({one.entry.outcome}) in {opened.path}" for one in stored]
        return told + [
            f"already in the log as entry {number}; to correct it: millcalc log edit {number}"
            for number in known.values()
            if number is not None
        ]
