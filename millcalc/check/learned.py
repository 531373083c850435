"""What the log has taught about a job's tools, and what the check would say without it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import fields, replace

from millcalc.check.model import FailedOut, LearnedOut
from millcalc.findings import Finding
from millcalc.limits.learned_words import LIMIT_WORDS
from millcalc.limits.tooling import Margins
from millcalc.preflight import all_rules
from millcalc.preflight.context import Context, Taught
from millcalc.preflight.run import Outcome, run_rules
from millcalc.units_show import show_length

_SHARED = ("facts", "say", "edit", "feeds")  # of a context; no margin enters them
_CODES = 4  # codes named; more are counted


def learned_out(ctx: Context, outcome: Outcome) -> LearnedOut | None:
    """What the log changed, for the report.

    ctx: Program, set-up and what was learned.
    outcome: What the rules found with it.
    Returns: None where the log said nothing about the tools that cut.
    """
    taught = {n: ctx.taught.margins[n] for n in ctx.facts.tools if n in ctx.taught.margins}
    if not taught:
        return LearnedOut(text=ctx.taught.trouble) if ctx.taught.trouble else None
    failed = tuple(
        FailedOut(tool=n, cut=one.cut, depth_mm=one.depth_mm, width_mm=one.width_mm)
        for n, margins in taught.items()
        for one in margins.failed
    )
    margins = next(iter(taught.values()))  # of one machine and one material, so the same for all
    factors = _factors(margins)
    said = [f"{LIMIT_WORDS[kind]} × {factor:.2f}" for kind, factor in factors.items()]
    if failed:
        said.append(_failed_words(ctx, failed))
    if margins.measure:
        said.append("measure this machine first: settings advises nothing before")
    if ctx.taught.trouble:
        said.append(ctx.taught.trouble)
    return LearnedOut(
        text="with your log: " + ", ".join(said),
        without=_without(ctx, outcome),
        reasons="; ".join(part for part in (margins.text, margins.measure) if part),
        margins=factors,
        failed=failed,
    )


def _factors(margins: Margins) -> dict[str, float]:
    values = {one.name: getattr(margins, one.name) for one in fields(Margins)}
    return {k: round(v, 6) for k, v in values.items() if isinstance(v, float) and v != 1.0}


def _failed_words(ctx: Context, failed: tuple[FailedOut, ...]) -> str:
    each = dict.fromkeys(f"a {one.cut} {show_length(one.depth_mm, ctx.units)} deep" for one in failed)
    named = ", ".join(list(each)[:_CODES])
    return f"{named}" + (" and more" if len(each) > _CODES else "") + " failed here"


def _without(ctx: Context, outcome: Outcome) -> str:
    """In which findings the bare physics differs."""
    bare = replace(ctx, taught=Taught(), kept={})
    vars(bare).update({name: value for name, value in vars(ctx).items() if name in _SHARED})
    touched = tuple(rule for rule in all_rules() if "material" in rule.needs)
    codes = {rule.code for rule in touched}
    with_log = Counter(_told(f for f in outcome.findings if f.code in codes))
    alone = Counter(_told(f for f in run_rules(bare, rules=touched).findings if f.code in codes))
    parts = [
        f"{word} {_listed(more)}"
        for word, more in (("also", alone - with_log), ("not", with_log - alone))
        if more
    ]
    return "without it " + (" and ".join(parts) if parts else "the same is found")


def _told(findings: Iterable[Finding]) -> Iterable[str]:
    return (f"{finding.code} ({finding.severity.word})" for finding in findings)


def _listed(codes: Counter[str]) -> str:
    names = list(codes)
    return ", ".join(names[:_CODES]) + (f" and {len(names) - _CODES} more" if len(names) > _CODES else "")
