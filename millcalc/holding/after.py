"""The job with the proposed screws in it, as lines and as a job, and the check's own rules over it."""

from __future__ import annotations

import json
from dataclasses import replace

from millcalc.findings import Finding
from millcalc.holding.bodies import keepouts
from millcalc.holding.result import HoldDown
from millcalc.job.fields import written_name
from millcalc.job.models import Job, Screw
from millcalc.preflight import all_rules
from millcalc.preflight.context import Context
from millcalc.preflight.run import run_rules
from millcalc.units import MM_PER_INCH

LINE_WIDTH = 79
RULES_FOR_SCREWS = ("SCREW-01", "SCREW-02", "SCREW-06", "SCREW-07", "SCREW-09", "SCREW-10")


def screws_after(job: Job, answer: HoldDown) -> tuple[Screw, ...]:
    """The job's screws with the proposal in place of those that hold.

    job: The job as given.
    answer: The proposal.
    Returns: Kept and new ones, then those of the job that hold nothing.
    """
    return (
        *(proposed.screw for proposed in answer.proposal),
        *(screw for screw in job.screws or () if not screw.holds),
    )


def job_after(job: Job, answer: HoldDown) -> Job:
    """The job with the proposed screws.

    job: The job as given.
    answer: The proposal.
    Returns: A copy.
    """
    return job.model_copy(update={"screws": screws_after(job, answer)})


def lines_to_paste(job: Job, answer: HoldDown) -> tuple[str, ...]:
    """The screws as lines for a job file, in place of its own `screws`.

    job: The job as given; its unit is used.
    answer: The proposal.
    Returns: YAML.
    """
    screws = screws_after(job, answer)
    if not screws:
        return ("screws: none",)
    return ("screws:", *(line for screw in screws for line in _lines(_fields(screw, job.units))))


def _lines(parts: list[str]) -> list[str]:
    """One entry of the list, broken between fields where it would be wider than a terminal."""
    lines = ["  - {" + parts[0]]
    for part in parts[1:]:
        if len(lines[-1]) + len(part) + 3 > LINE_WIDTH:
            lines[-1] += ","
            lines.append("     " + part)
        else:
            lines[-1] += ", " + part
    lines[-1] += "}"
    return lines


def _fields(screw: Screw, units: str) -> list[str]:
    """The fields of a screw that say something."""
    parts = []
    for name, field in type(screw).model_fields.items():
        value = getattr(screw, name)
        if value is None or (value == field.default and name != "placed"):
            continue
        if isinstance(value, bool):
            text = "true" if value else "false"
        elif isinstance(value, float):
            inches = round(value / MM_PER_INCH, 6)
            text = f"{inches:.10g} in" if units == "in" else f"{value:.10g} mm"
        elif name == "name":
            text = json.dumps(value, ensure_ascii=False)
        else:
            text = str(value)
        parts.append(f"{written_name(name)}: {text}")
    return parts


def checked_again(ctx: Context, answer: HoldDown) -> tuple[Finding, ...]:
    """What the check's own rules for screws say of the proposal.

    ctx: Program, set-up and simulated cut.
    answer: The proposal.
    Returns: Their findings; empty when the rules agree.

    Note: The rules measure each screw against each motion one by one: another way to the same distances
      than the search's.
    """
    assert ctx.setup is not None
    job = job_after(ctx.setup.job, answer)
    setup = replace(ctx.setup, job=job, screws=keepouts(job, job.screws or ()))
    again = Context(ctx.program, setup, ctx.removal, ctx.units, {}, ctx.removal_missing)
    rules = tuple(rule for rule in all_rules() if rule.code in RULES_FOR_SCREWS)
    outcome = run_rules(again, rules=rules)
    return tuple(finding for finding in outcome.findings if finding.code in RULES_FOR_SCREWS)
