"""The register of preflight rules: one rule is one function, its docstring its documentation."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from millcalc.findings import Finding, Severity
from millcalc.preflight.context import Context

RuleFunction = Callable[[Context], Iterable[Finding]]


@dataclass(frozen=True, slots=True)
class Rule:
    """A registered rule.

    Attributes
    ----------
    code : str
        ``FAMILY-NN``.
    severity : Severity
        Highest severity it gives.
    title : str
        A few words.
    needs : tuple of str
        Dotted job or machine facts without which the rule cannot run, e.g. ``stock``, ``machine``,
        ``cutters``, ``screws``, ``removal``.
    what : str
        What stays unchecked when a need is missing, in words.
    function : callable
        Takes a Context, yields findings.
    """

    code: str
    severity: Severity
    title: str
    needs: tuple[str, ...]
    what: str
    function: RuleFunction

    @property
    def family(self) -> str:
        """The part of the code before the dash."""
        return self.code.split("-")[0]


_RULES: dict[str, Rule] = {}


def rule(
    code: str, severity: Severity, title: str, *, needs: tuple[str, ...] = (), what: str
) -> Callable[[RuleFunction], RuleFunction]:
    """Register a rule function under its code.

    Parameters
    ----------
    code : str
        ``FAMILY-NN``, unique.
    severity : Severity
        Highest severity the rule gives.
    title : str
        A few words.
    needs : tuple of str
        Facts it cannot do without.
    what : str
        What stays unchecked without them.

    Returns
    -------
    callable
        The decorator; the function itself is returned unchanged.

    Raises
    ------
    ValueError
        If the code is taken.
    """

    def register(function: RuleFunction) -> RuleFunction:
        if code in _RULES:
            raise ValueError(f"rule code {code} is used twice")
        _RULES[code] = Rule(code, severity, title, needs, what, function)
        return function

    return register


def all_rules() -> tuple[Rule, ...]:
    """All registered rules, sorted by code."""
    return tuple(_RULES[code] for code in sorted(_RULES))
