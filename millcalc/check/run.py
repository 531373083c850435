"""From a program and a job to what was found: read, simulate, judge, tell."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from millcalc.check.build import build_report
from millcalc.check.model import CheckReport
from millcalc.check.prepare import CheckOptions, make_context
from millcalc.preflight.context import Context
from millcalc.preflight.run import Outcome, run_rules

if TYPE_CHECKING:
    from millcalc.job.setup import Setup


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
    """Check a program file against a job file.

    program_path: The program.
    job_path: The job; None checks what needs none.
    options: Options.
    Returns: What was found, and what it was found in.
    Raises ProgramError, JobError, TableError: If a file cannot be used.
    """
    from millcalc.gcode.source import read_bytes
    from millcalc.job import build_setup, load_job
    from millcalc.tables import load_shop

    setup = None
    if job_path is not None:
        path = Path(job_path)
        setup = build_setup(load_job(path), path, load_shop())
    return look_over(read_bytes(Path(program_path)), str(program_path), setup, options)


def look_over(
    data: bytes, name: str = "", setup: Setup | None = None, options: CheckOptions | None = None
) -> Looked:
    """Check a program given as bytes.

    data: The program's text.
    name: Name to show.
    setup: The job; None checks what needs none.
    options: Options.
    Returns: What was found, and what it was found in.
    """
    options = options or CheckOptions()
    ctx = make_context(data, name, setup, options)
    return Looked(ctx, build_report(ctx, judge(ctx, options)))


def judge(ctx: Context, options: CheckOptions) -> Outcome:
    """Run every rule over a context.

    ctx: Program, set-up and simulated cut.
    options: For the progress.
    Returns: What the rules found.
    """
    tell = options.progress
    return run_rules(ctx, progress=(lambda title: tell(f"rule: {title}", 0.0)) if tell else None)
