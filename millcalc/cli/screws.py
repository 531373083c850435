"""``millcalc screws``: where the work can be held."""

from __future__ import annotations

import os
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from millcalc.cli.common import cell_size_mm, compile_notice, quantity
from millcalc.cli.options import BlockDelete, Cell, Force, JobOfProgram, JobOrProgram, JobUnits, Profile
from millcalc.cli.say import say

if TYPE_CHECKING:
    from millcalc.findings import Finding
    from millcalc.holding.asked import Wish
    from millcalc.holding.result import HoldDown
    from millcalc.job.models import Job
    from millcalc.job.setup import Setup
    from millcalc.units_show import System


class Placed(StrEnum):
    """How the screws will be placed."""

    guessed = "guessed"
    measured = "measured"


Count = Annotated[int | None, typer.Option(help="Screws altogether; left out, enough for forces and pieces.")]
Screw = Annotated[
    str | None,
    typer.Option(help='Screw to propose, e.g. "wood 4.0 round"; left out, the job\'s first one.'),
]
Thread = Annotated[str | None, typer.Option(help="Its thread in the board, e.g. 10 mm; left out, the job's.")]
PlacedOption = Annotated[
    Placed, typer.Option(help="How the new screws will be placed; guessed keeps the wide margin.")
]
Fresh = Annotated[
    bool, typer.Option("--fresh", help="Set the given screws aside and propose a whole new set.")
]
Clamp = Annotated[
    str | None,
    typer.Option(help='Clamp to find room for: width, reach over the stock, height, e.g. "20 10 15".'),
]
Outputs = Annotated[
    list[Path] | None,
    typer.Option(
        "--out",
        "-o",
        help="Also write it to a file, repeatable; by its ending .yaml: a new job file with the proposed screws, "
        "never over an old one; .html: a page with its picture.",
    ),
]


def command(
    source: JobOrProgram,
    job: JobOfProgram = None,
    count: Count = None,
    screw: Screw = None,
    thread: Thread = None,
    placed: PlacedOption = Placed.guessed,
    fresh: Fresh = False,
    safety: Annotated[float, typer.Option(help="Safety factor on the screws' withdrawal strength.")] = 5.51,
    clamp: Clamp = None,
    no_map: Annotated[bool, typer.Option("--no-map", help="Leave the map out.")] = False,
    json: Annotated[bool, typer.Option("--json", help="The answer as JSON, the map in numbers.")] = False,
    out: Outputs = None,
    force: Force = False,
    units: JobUnits = None,
    cell: Cell = None,
    profile: Profile = None,
    block_delete: BlockDelete = False,
) -> None:
    """Where screws and clamps can stand, whether the given ones are in the way, and a set that would hold."""
    from millcalc import units as read
    from millcalc.check.prepare import CheckOptions, make_context
    from millcalc.cli.past_cuts import learner
    from millcalc.cli.watched import watched
    from millcalc.gcode.source import read_bytes
    from millcalc.holding.after import checked_again, job_after, lines_to_paste
    from millcalc.holding.asked import Wish, prototype
    from millcalc.holding.find import find_hold_down
    from millcalc.holding.required import require_wish
    from millcalc.job import build_setup, load_job
    from millcalc.tables import load_shop

    program, job = _files(source, job)
    files = _outputs(out, (program, job), force)
    given = load_job(job)
    shown = units.value if units else given.units
    thread_mm = quantity(thread, "thread", read.length_mm, shown)
    wish = Wish(count, screw, thread_mm, placed.value, fresh, safety, _clamp(clamp, shown))
    require_wish(wish)
    prototype(given, wish)  # refused before the long part
    setup = build_setup(given, job, load_shop())
    options = CheckOptions(
        shown, cell_mm=cell_size_mm(cell), profile=profile, block_delete=block_delete, learned=learner()
    )
    compile_notice(simulates=True)
    with watched(options) as seen:
        ctx = make_context(read_bytes(program), str(program), setup, seen)
        answer = find_hold_down(ctx, _with_map(wish, setup))
        again = checked_again(ctx, answer) if answer.proposal else ()
        lines = lines_to_paste(given, answer)
    if "job" in files:
        _write(job_after(given, answer), job, files["job"])
    _tell(answer, lines, again, program.name, None if json else shown, picture=not no_map)
    if "page" in files:
        _page(files["page"], answer, lines, again, program.name, setup, shown, force, quiet=json)
    if "job" in files:
        new = files["job"]
        say(f"written: {new}; look it over with: millcalc check {program} --job {new}", err=json)
    if not answer.fine or any(finding.severity.word != "note" for finding in again):
        raise typer.Exit(1)


def _tell(
    answer: HoldDown,
    lines: tuple[str, ...],
    again: tuple[Finding, ...],
    name: str,
    units: System | None,
    *,
    picture: bool,
) -> None:
    """Print the answer in some units; without any, as JSON."""
    from millcalc.report.console import make_console
    from millcalc.report.screws_json import screws_json
    from millcalc.report.screws_text import print_screws

    if units is None:
        say(screws_json(answer, lines, again, name=name), nl=False)
    else:
        print_screws(make_console(), answer, lines, again, name=name, units=units, picture=picture)


def _page(
    html: Path,
    answer: HoldDown,
    lines: tuple[str, ...],
    again: tuple[Finding, ...],
    name: str,
    setup: Setup,
    units: System,
    force: bool,
    *,
    quiet: bool,
) -> None:
    """Write the answer as a page with the plate."""
    from millcalc.cli.pictures import write_answer
    from millcalc.report.figures_stock import screws_figure
    from millcalc.report.screws_text import print_screws

    bad = sum(not verdict.clear for verdict in answer.verdicts)
    verdict = "Every screw and clamp stands clear" if answer.fine else "Not held as it should be"
    if bad:
        verdict = f"{bad} screw{'s' * (bad != 1)} or clamp{'s' * (bad != 1)} in the way"
    box = setup.stock
    figure = (
        None if box is None else screws_figure(answer, (box.x_min, box.x_max, box.y_min, box.y_max), units)
    )
    write_answer(
        html, f"Screws for {name}", (verdict, "note" if answer.fine else "stop"), [figure],
        lambda to: print_screws(to, answer, lines, again, name=name, units=units, picture=False), units,
        force=force, quiet=quiet,
    )  # fmt: skip


def _files(source: Path, job: Path | None) -> tuple[Path, Path]:
    """The program and its job."""
    from millcalc.cli.sheet import find_files
    from millcalc.errors import InputError

    program, found = find_files(source, job)
    if found is None:
        needs = "stock, zero and cutters are needed"
        raise InputError("a program without a job", "--job JOB, or a job file alone", needs)
    return program, found


def _outputs(out: list[Path] | None, inputs: tuple[Path, Path], force: bool) -> dict[str, Path]:
    """See early that job and page may be written; a job is never written over."""
    from millcalc.cli.outputs import OPTION, PAGE, by_kind
    from millcalc.errors import InputError

    for path in out or ():
        if path.suffix.lower() in _JOB and (path.exists() or path.is_symlink()):
            raise InputError("a file that exists already", "a new name", file=str(path), field=OPTION)
    return by_kind(out, {"job": _JOB, "page": PAGE}, inputs, force=force)


_JOB = (".yaml", ".yml")


def _with_map(wish: Wish, setup: Setup) -> Wish:
    """The wish with a map as fine as a terminal shows."""
    from dataclasses import replace

    from millcalc.report.screws_map import map_size

    box = setup.stock
    if box is None:
        return wish
    return replace(wish, map_cells=map_size(box.x_max - box.x_min, box.y_max - box.y_min))


def _clamp(text: str | None, units: str) -> tuple[float, float, float] | None:
    """Width, reach and height as typed: three lengths with or without unit, one unit at the end for all."""
    from millcalc import units as read
    from millcalc.errors import InputError

    if text is None:
        return None
    words = text.lower().replace("x", " ").replace(",", " ").split()
    system = units
    if words and words[-1] in ("mm", "in"):
        system = words.pop()
    wrong = InputError(
        repr(text), 'three lengths above 0: width, reach, height, e.g. "20 10 15"', field="--clamp"
    )
    if len(words) != 3:
        raise wrong
    width, reach, height = (quantity(word, "clamp", read.length_mm, system) or 0.0 for word in words)
    if min(width, reach, height) <= 0:
        raise wrong
    return width, reach, height


def _write(job: Job, old: Path, new: Path) -> None:
    """Write the job beside or away from the old one, its program's path kept true."""
    from millcalc.job import write_job

    if job.program is not None and new.resolve().parent != old.resolve().parent:
        target = (old.resolve().parent / job.program).resolve()
        try:
            named = Path(os.path.relpath(target, new.resolve().parent)).as_posix()
        except ValueError:  # another drive
            named = target.as_posix()
        job = job.model_copy(update={"program": named})
    write_job(job, new)
