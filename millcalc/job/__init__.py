"""The job: what a person knows about this set-up, and what of it is unknown.

Takes a job file (YAML, docs/job-file.md) or answers at the prompt; gives a frozen :class:`Job` and, with the
tables looked up and the stock placed in part coordinates, a :class:`Setup`. Whatever the person left out stays
None and turns the checks that need it into "not checked". May import errors, units, tuning and tables.
"""

from __future__ import annotations

from millcalc.job.ask import Question, ask_job, run_new_job
from millcalc.job.build import build_setup
from millcalc.job.models import Job
from millcalc.job.read import load_job, parse_job
from millcalc.job.schema import job_schema
from millcalc.job.setup import Setup
from millcalc.job.write import job_text, write_job

__all__ = [
    "Job",
    "Question",
    "Setup",
    "ask_job",
    "build_setup",
    "job_schema",
    "job_text",
    "load_job",
    "parse_job",
    "run_new_job",
    "write_job",
]
