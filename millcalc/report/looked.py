"""A check with everything the pictures need: the report, and the context it was made from."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from millcalc.preflight.context import Context
from millcalc.report.model import CheckReport
from millcalc.report.pipeline import CheckOptions, judge, make_context


@dataclass(frozen=True)
class Looked:
    """A program that was looked over.

    ctx: Program, set-up and simulated cut.
    report: What was found in them.
    """

    ctx: Context
    report: CheckReport


def look_at(
    program_path: Path | str, job_path: Path | str | None = None, options: CheckOptions | None = None
) -> Looked:
    """Check a program file against a job file and keep what was computed.

    program_path: The program.
    job_path: The job; None checks what needs none.
    options: Options.
    Returns: Context and report.
    Raises ProgramError, JobError, TableError: If a file cannot be used.
    """
    from millcalc.gcode.source import read_bytes
    from millcalc.job import build_setup, load_job
    from millcalc.report.build import build_report
    from millcalc.tables import load_shop

    options = options or CheckOptions()
    setup = None
    if job_path is not None:
        path = Path(job_path)
        setup = build_setup(load_job(path), path, load_shop())
    ctx = make_context(read_bytes(Path(program_path)), str(program_path), setup, options)
    return Looked(ctx, build_report(ctx, judge(ctx, options)))
