"""The rules, one file a family.

One rule is one function: it yields findings and, for what it could not judge, `NotChecked`. A rule imports the
parts of preflight that compute; only the runner imports the rules.
"""

from __future__ import annotations

from functools import cache
from importlib import import_module
from pkgutil import iter_modules

from millcalc.preflight.registry import Rule, registered


@cache
def all_rules() -> tuple[Rule, ...]:
    """All rules of this package, sorted by code."""
    for module in iter_modules(__path__):
        import_module(f"{__name__}.{module.name}")
    return registered()
