"""From a program and a job to what was found: read, simulate, judge, tell."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from millcalc.check.build import build_report
from millcalc.check.model import CheckReport
from millcalc.check.prepare import CheckOptions, make_context
from millcalc.preflight.context import Context
from millcalc.preflight.run import Outcome, run_rules

if TYPE_CHECKING:
    from millcalc.advise.operating_map import OperatingMap
    from millcalc.check.scene import Scene
    from millcalc.check.side_view import SideView
    from millcalc.check.strips import Strip
    from millcalc.check.timeline import Timeline
    from millcalc.job.setup import Setup


@dataclass(frozen=True)
class Looked:
    """A program that was looked over; what pictures show is computed when it is first asked for.

    ctx: Program, set-up and simulated cut.
    report: What was found in them.
    """

    ctx: Context
    report: CheckReport

    @cached_property
    def timeline(self) -> Timeline | None:
        """When each motion happens; None where nothing moves."""
        from millcalc.check.timeline import make_timeline

        return make_timeline(self.ctx)

    @cached_property
    def scene(self) -> Scene | None:
        """What the view from above shows; None where nothing has a known place."""
        from millcalc.check.scene import make_scene

        return make_scene(self.ctx, self.report)

    @cached_property
    def side(self) -> SideView | None:
        """What the section shows."""
        from millcalc.check.side_view import make_side_view

        return None if self.scene is None else make_side_view(self.ctx, self.scene)

    @cached_property
    def strips(self) -> tuple[Strip, ...]:
        """Values along the program, for a wide screen."""
        from millcalc.check.strips import SPANS

        return self.strips_of(SPANS)

    def strips_of(self, spans: int) -> tuple[Strip, ...]:
        """Values along the program, in the order of the findings that speak of them.

        spans: How many along each strip [-].
        """
        from millcalc.check.strips import in_order, make_strips

        if self.timeline is None:
            return ()
        codes = (finding.code for finding in self.report.findings)
        return in_order(make_strips(self.ctx, self.timeline, spans), codes)

    @cached_property
    def film(self) -> dict[str, Any] | None:
        """The stock over time; None where the cut was not simulated."""
        from millcalc.check.film import of_interest, stock_over_time

        if self.timeline is None:
            return None
        return stock_over_time(self.ctx, self.timeline, of_interest(self.report, self.timeline))

    @cached_property
    def maps(self) -> list[OperatingMap]:
        """Operating maps of the cutters that could be judged."""
        from millcalc.check.program_maps import program_maps

        return program_maps(self.ctx)


def look_at(
    program_path: Path | str, job_path: Path | str | None = None, options: CheckOptions | None = None
) -> Looked:
    """Check a program file against a job file.

    program_path: The program.
    job_path: The job; None checks what needs none.
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
    Returns: What was found, and what it was found in.
    """
    options = options or CheckOptions()
    ctx = make_context(data, name, setup, options)
    return Looked(ctx, build_report(ctx, judge(ctx, options)))


def judge(ctx: Context, options: CheckOptions) -> Outcome:
    """Run every rule over a context.

    options: For the progress.
    Returns: What the rules found.
    """
    tell = options.progress
    return run_rules(ctx, progress=(lambda title: tell(f"rule: {title}", 0.0)) if tell else None)
