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


ENTRY = re.compile(r"^(\*{0,2}[a-z_]\w*(?:, \*{0,2}[a-z_]\w*)*): ")


def _parameters(doc: str) -> dict[str, str]:
    """Names and texts of the lines ``name, name: text`` that follow the first blank line."""
    found: dict[str, str] = {}
    names: list[str] = []
    for line in doc.splitlines()[1:]:
        if entry := ENTRY.match(line):
            names = [name.lstrip("*") for name in entry[1].split(", ")]
            found |= {name: line[entry.end() :] for name in names}
        elif line.startswith("  ") and names:
            found |= {name: f"{found[name]} {line.strip()}" for name in names}
        else:
            names = []
    return found


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
def test_docstring_matches_signature(name: str) -> None:
    function = FUNCTIONS[name]
    doc = inspect.getdoc(function)
    assert doc, f"{name} has no docstring"
    parameters = inspect.signature(function).parameters
    wanted = {p for p in parameters if p not in ("self", "cls") and not p.startswith("_")}
    documented = _parameters(doc)
    assert set(documented) <= set(parameters), f"{name}: documents {set(documented) - set(parameters)}"
    if not name.startswith("millcalc.mechanics"):
        return
    assert set(documented) == wanted, f"{name}: documented {sorted(documented)}, signature {sorted(wanted)}"
    for parameter, text in documented.items():
        if re.search(r"\b(float|int|Array|ArrayLike|NDArray)\b", str(parameters[parameter].annotation)):
            assert UNIT.search(text), f"{name}: {parameter} has no unit"


def test_a_number_without_a_unit_and_an_unknown_name_are_seen() -> None:
    found = _parameters(
        "Do.\n\nspeed_rpm, depth_mm: Speed and\n  depth [mm].\nReturns: x [mm].\n\nNote: see."
    )
    assert found == {"speed_rpm": "Speed and depth [mm].", "depth_mm": "Speed and depth [mm]."}
