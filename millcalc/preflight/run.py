"""Runs every rule over a context and sorts what they say."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from millcalc.findings import Finding, NotChecked, Severity
from millcalc.preflight.context import Context
from millcalc.preflight.needs import missing
from millcalc.preflight.order import grouped, sort_key
from millcalc.preflight.quiet import Acceptance, Quieted, acceptances
from millcalc.preflight.registry import Rule
from millcalc.preflight.rules import all_rules


@dataclass(frozen=True)
class Outcome:
    """What the rules found.

    findings: Worst first; what was accepted is not among them.
    not_checked: What could not be judged, and which fact is missing.
    quieted: Accepted findings with the reason.
    idle: Acceptances that met no finding.
    checked: Codes of the rules that ran in full.
    """

    findings: tuple[Finding, ...]
    not_checked: tuple[NotChecked, ...]
    quieted: tuple[Quieted, ...]
    idle: tuple[Acceptance, ...]
    checked: tuple[str, ...]

    def worst(self) -> Severity | None:
        """Highest severity among the findings, or None."""
        return max((finding.severity for finding in self.findings), default=None)


def run_rules(
    ctx: Context,
    *,
    rules: tuple[Rule, ...] | None = None,
    progress: Callable[[str], None] | None = None,
) -> Outcome:
    """Run rules over a context.

    ctx: Program, set-up and what was simulated.
    rules: Rules to run; None runs all.
    progress: Told each rule's title before it runs.
    Returns: Findings (the reader's among them), what was not checked, what was accepted.
    """
    findings: list[Finding] = list(ctx.program.findings)
    not_checked: list[NotChecked] = []
    checked: list[str] = []
    for rule in all_rules() if rules is None else rules:
        if progress:
            progress(rule.title)
        lacking = missing(ctx, rule.needs)
        if lacking:
            not_checked.append(NotChecked(rule.code, rule.what, *lacking))
            continue
        partly = False
        doc = rule.doc
        for result in rule.judge(ctx):
            if isinstance(result, NotChecked):
                not_checked.append(result)
                partly = True
            else:
                findings.append(
                    replace(result, why=result.why or doc.why, source=result.source or doc.source)
                )
        if not partly:
            checked.append(rule.code)
    accepted, notes = acceptances(ctx)
    joined = grouped([*findings, *notes])
    quieted = [Quieted(f, accepted[f.code]) for f in joined if f.code in accepted]
    used = {entry.finding.code for entry in quieted}
    return Outcome(
        tuple(sorted((f for f in joined if f.code not in accepted), key=sort_key)),
        tuple(not_checked),
        tuple(sorted(quieted, key=lambda entry: sort_key(entry.finding))),
        tuple(a for code, a in sorted(accepted.items()) if code not in used),
        tuple(checked),
    )
