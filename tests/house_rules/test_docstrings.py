"""Public docstrings name every argument of the signature, with a unit where it is a number."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator
from types import FunctionType

import pytest

import millcalc

UNIT = re.compile(r"\[[^\]]+\]")


def _functions() -> Iterator[tuple[str, FunctionType]]:
    for info in pkgutil.walk_packages(millcalc.__path__, "millcalc."):
        if "_data" in info.name or "._" in info.name or info.name.startswith("millcalc.cli"):
            continue
        module = importlib.import_module(info.name)
        for name, thing in vars(module).items():
            if not name.startswith("_") and inspect.isfunction(thing) and thing.__module__ == info.name:
                yield f"{info.name}.{name}", thing


FUNCTIONS = dict(_functions())


def _parameters(doc: str) -> dict[str, str]:
    """Names and texts of the Parameters section."""
    match = re.search(r"^Parameters\n-+\n(.*?)(?=^\w[\w ]*\n-{3,}|\Z)", doc, re.S | re.M)
    if not match:
        return {}
    found: dict[str, str] = {}
    for block in re.split(r"\n(?=\S)", match.group(1).strip("\n")):
        names, _, _ = block.partition(":")
        head, _, text = block.partition("\n")
        for name in names.split(","):
            found[name.strip().lstrip("*")] = head + " " + text
    return found


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
def test_docstring_matches_signature(name: str) -> None:
    function = FUNCTIONS[name]
    doc = inspect.getdoc(function)
    assert doc, f"{name} has no docstring"
    wanted = [
        p
        for p in inspect.signature(function).parameters
        if p not in ("self", "cls") and not p.startswith("_")
    ]
    is_rule = ".preflight." in name and wanted in (["ctx"], ["context"])
    if not wanted or is_rule or not name.startswith("millcalc.mechanics"):
        section = _parameters(doc)
        if section:
            assert set(section) <= {*wanted, *inspect.signature(function).parameters}, name
        return
    section = _parameters(doc)
    assert set(section) == set(wanted), f"{name}: documented {sorted(section)}, signature {wanted}"
    for parameter, text in section.items():
        if re.search(r"\b(float|int|array)\b", text.splitlines()[0].split(":", 1)[-1][:60]):
            assert UNIT.search(text), f"{name}: {parameter} has no unit"
