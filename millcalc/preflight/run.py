"""Runs every rule over a context and sorts what they say."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from millcalc.findings import Finding, NotChecked, Severity
from millcalc.preflight.blocks import Block, blocks
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
    failed: Codes of rules that broke down: an error of millcalc, never the program's; they count as not checked.
    blocks: The findings joined by place or cause, each block with one remedy.
    """

    findings: tuple[Finding, ...]
    not_checked: tuple[NotChecked, ...]
    quieted: tuple[Quieted, ...]
    idle: tuple[Acceptance, ...]
    checked: tuple[str, ...]
    failed: tuple[str, ...] = ()
    blocks: tuple[Block, ...] = ()

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
    failed: list[str] = []
    for rule in all_rules() if rules is None else rules:
        if progress:
            progress(rule.title)
        lacking = missing(ctx, rule.needs)
        if lacking:
            not_checked.append(NotChecked(rule.code, rule.what, *lacking))
            continue
        try:
            said = list(rule.judge(ctx))
        except Exception as error:  # one rule that fails never takes the report with it
            failed.append(rule.code)
            not_checked.append(_could_not(rule, error))
            continue
        left = [entry for entry in said if isinstance(entry, NotChecked)]
        not_checked += left
        findings += [_documented(rule, entry) for entry in said if isinstance(entry, Finding)]
        if not left:
            checked.append(rule.code)
    accepted, notes = acceptances(ctx)
    joined = grouped([*findings, *notes])
    quieted = [Quieted(f, accepted[f.code]) for f in joined if f.code in accepted]
    used = {entry.finding.code for entry in quieted}
    kept = tuple(sorted((f for f in joined if f.code not in accepted), key=sort_key))
    return Outcome(
        kept,
        tuple(not_checked),
        tuple(sorted(quieted, key=lambda entry: sort_key(entry.finding))),
        tuple(a for code, a in sorted(accepted.items()) if code not in used),
        tuple(checked),
        tuple(failed),
        blocks(ctx, kept),
    )


def _documented(rule: Rule, finding: Finding) -> Finding:
    doc = rule.doc
    return replace(finding, why=finding.why or doc.why, source=finding.source or doc.source)


def _could_not(rule: Rule, error: Exception) -> NotChecked:
    because = f"this rule could not judge: {error or type(error).__name__}; please report it"
    return NotChecked(rule.code, rule.what, because)
