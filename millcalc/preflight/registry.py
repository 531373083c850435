"""The register of preflight rules: one rule is one function, its docstring its documentation."""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from millcalc.findings import Finding, NotChecked, Severity
from millcalc.preflight.context import Context
from millcalc.preflight.needs import GIVEN

Said = Iterable[Finding | NotChecked]
RuleFunction = Callable[..., Said]  # takes a Context and, by name, what `needs.GIVEN` lists


SECTIONS = ("Flags", "Why", "Wrong", "Right", "Limits of the rule", "Source")


@dataclass(frozen=True, slots=True)
class RuleDoc:
    """A rule's documentation, read from its docstring.

    summary: First line.
    flags, why, wrong, right, limits, source: What it flags; why that matters; an example that is wrong and
      one that is right; what the rule cannot see; where the limit comes from.
    """

    summary: str
    flags: str
    why: str
    wrong: str
    right: str
    limits: str
    source: str


def read_doc(function: RuleFunction) -> RuleDoc:
    """Read the sections of a rule's docstring.

    function: The rule function.
    Returns: Its sections; an absent one is empty.
    """
    text = inspect.getdoc(function) or ""
    parts = re.split(rf"^({'|'.join(SECTIONS)}):\s*", text, flags=re.MULTILINE)
    found = dict(zip(parts[1::2], (" ".join(part.split()) for part in parts[2::2]), strict=True))
    return RuleDoc(parts[0].strip(), *(found.get(section, "") for section in SECTIONS))


@dataclass(frozen=True, slots=True)
class Rule:
    """A registered rule.

    code: ``FAMILY-NN``.
    severity: Highest severity it gives.
    title: A few words.
    needs: Names out of `needs.NEEDS` without which the rule cannot run.
    what: What stays unchecked when a need is missing, in words.
    function: Takes a Context and what it asks for, yields findings, and NotChecked for the part it could not judge.
    given: Names of the parameters after the context, out of `needs.GIVEN`.
    """

    code: str
    severity: Severity
    title: str
    needs: tuple[str, ...]
    what: str
    function: RuleFunction
    given: tuple[str, ...] = ()

    def judge(self, ctx: Context) -> Said:
        """What the rule says about a context that meets its needs."""
        return self.function(ctx, **{name: GIVEN[name].find(ctx) for name in self.given})

    @property
    def family(self) -> str:
        """The part of the code before the dash."""
        return self.code.split("-")[0]

    @property
    def doc(self) -> RuleDoc:
        """The sections of its docstring."""
        return read_doc(self.function)


_RULES: dict[str, Rule] = {}


def rule(
    code: str, severity: Severity, title: str, *, needs: tuple[str, ...] = (), what: str
) -> Callable[[RuleFunction], RuleFunction]:
    """Register a rule function under its code.

    code: ``FAMILY-NN``, unique.
    severity: Highest severity the rule gives.
    title: A few words.
    needs: Facts it cannot do without, besides those its parameters name.
    what: What stays unchecked without them.
    Returns: The decorator; the function itself is returned unchanged.
    Raises ValueError: If the code is taken, or a parameter is not one that a rule can be given.
    """

    def register(function: RuleFunction) -> RuleFunction:
        if code in _RULES:
            raise ValueError(f"rule code {code} is used twice")
        given = _given(code, function)
        wanted = dict.fromkeys((*needs, *(GIVEN[name].need for name in given)))
        _RULES[code] = Rule(code, severity, title, tuple(wanted), what, function, given)
        return function

    return register


def _given(code: str, function: RuleFunction) -> tuple[str, ...]:
    """Parameters after the context, each of the type that it is given."""
    parameters = list(inspect.signature(function).parameters.values())[1:]
    for entry in parameters:
        if entry.name not in GIVEN or entry.annotation != GIVEN[entry.name].kind:
            known = ", ".join(f"{name}: {g.kind}" for name, g in GIVEN.items())
            raise ValueError(f"{code} asks for {entry}; a rule can be given {known}")
    return tuple(entry.name for entry in parameters)


def registered() -> tuple[Rule, ...]:
    """Rules registered so far, sorted by code."""
    return tuple(_RULES[code] for code in sorted(_RULES))
