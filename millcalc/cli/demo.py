"""``millcalc demo``: the main job on the shipped weather-station jobs, from any folder."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from millcalc.cli.common import compile_notice
from millcalc.cli.options import JobUnits, Units
from millcalc.cli.say import say, tell


def command(
    name: Annotated[
        str | None, typer.Argument(help="One of the shipped jobs; left out, the sensor plate.")
    ] = None,
    list_: Annotated[bool, typer.Option("--list", help="List the shipped jobs.")] = False,
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help="Copy the job into this new folder instead.")
    ] = None,
    units: JobUnits = None,
) -> None:
    """Settings for the weather station's sensor plate, then the check of a good and of a bad program."""
    from millcalc.errors import InputError
    from millcalc.tables import demo_root

    jobs = sorted(p.parent.name for p in demo_root().glob("*/job.yaml"))
    if list_:
        for job in jobs:
            say(job)
        return
    chosen = name or "sensor_plate"
    if chosen not in jobs:
        raise InputError(repr(chosen), "one of: " + ", ".join(jobs), field="name")
    folder = demo_root() / chosen
    if out is not None:
        _copy(folder, out)
        return
    _run(folder, units)


def _copy(folder: Path, target: Path) -> None:
    import shutil

    from millcalc.files import new_folder

    with new_folder(target, field="-o") as part:
        for path in sorted(folder.rglob("*")):
            place = part / path.relative_to(folder)
            if "__pycache__" in path.parts:
                continue
            if path.is_dir():
                place.mkdir()
            else:
                shutil.copyfile(path, place)
    say(f"copied to {target}")


def _run(folder: Path, asked: Units | None) -> None:
    """Settings for every cutter of the job, then the check of each program."""
    from millcalc.advise.advice import advise
    from millcalc.cli.settings import show_advice
    from millcalc.job import build_setup, load_job
    from millcalc.limits.fitted import tooling_for
    from millcalc.limits.request import CutRequest
    from millcalc.report.console import make_console, plain

    console = make_console()
    job_path = folder / "job.yaml"
    setup = build_setup(load_job(job_path), job_path)
    tell(plain(f"=== {setup.job.title or folder.name}: settings for the cutters of the job ===\n"))
    units = asked.value if asked else setup.job.units
    for number in sorted(setup.cutters):
        tooling = tooling_for(setup, number)
        request = CutRequest("drill" if "drill" in tooling.cutter.kind else "slot")
        answer = advise(tooling, request, units=units)
        show_advice(answer, units, thickness_mm=setup.job.stock.thickness_mm)
        say("")
    compile_notice(simulates=True)
    from millcalc.check.prepare import CheckOptions
    from millcalc.cli.check import report_on

    for program in sorted(folder.glob("*.nc"), key=lambda p: (p.stem == "bad", p.name)):
        tell(plain(f"=== check of {program.name} ===\n"))
        report_on(program, job_path, options=CheckOptions(units), console=console)
        say("")
    say("What to do next")
    say("  millcalc demo -o FOLDER           this job as files, to change and try")
    say("  millcalc new job                  a job file for your own machine and plate")
    say("  millcalc check part.nc --job job.yaml --all   all of a check")
