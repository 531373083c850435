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


BASE = "the base modules"
STAGES = [
    *sorted({info.name for info in pkgutil.iter_modules(millcalc.__path__) if info.ispkg} - {"cli"}),
    BASE,
]


def _functions(stage: str) -> Iterator[tuple[str, FunctionType]]:
    """Public functions of a stage."""
    if stage == BASE:
        names = [
            f"millcalc.{info.name}" for info in pkgutil.iter_modules(millcalc.__path__) if not info.ispkg
        ]
    else:
        package = importlib.import_module(f"millcalc.{stage}")
        names = [package.__name__]
        names += [info.name for info in pkgutil.walk_packages(package.__path__, f"millcalc.{stage}.")]
    for place in names:
        if "_data" in place or "._" in place:
            continue
        module = importlib.import_module(place)
        for name, thing in vars(module).items():
            if not name.startswith("_") and inspect.isfunction(thing) and thing.__module__ == place:
                yield f"{place}.{name}", thing


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


def wrong(name: str, function: FunctionType) -> str:
    """What a docstring lacks or says of arguments that are not there; empty for nothing."""
    doc = inspect.getdoc(function)
    if not doc:
        return f"{name} has no docstring"
    parameters = inspect.signature(function).parameters
    wanted = {p for p in parameters if p not in ("self", "cls") and not p.startswith("_")}
    documented = _parameters(doc)
    if not set(documented) <= set(parameters):
        return f"{name}: documents {set(documented) - set(parameters)}"
    if not name.startswith("millcalc.mechanics"):
        return ""
    if set(documented) != wanted:
        return f"{name}: documented {sorted(documented)}, signature {sorted(wanted)}"
    for parameter, text in documented.items():
        number = re.search(r"\b(float|int|Array|ArrayLike|NDArray)\b", str(parameters[parameter].annotation))
        if number and not UNIT.search(text):
            return f"{name}: {parameter} has no unit"
    return ""


@pytest.mark.parametrize("stage", STAGES)
def test_docstrings_match_their_signatures(stage: str) -> None:
    functions = dict(_functions(stage))
    assert functions
    assert [fault for name, function in functions.items() if (fault := wrong(name, function))] == []


def test_a_number_without_a_unit_and_an_unknown_name_are_seen() -> None:
    found = _parameters(
        "Do.\n\nspeed_rpm, depth_mm: Speed and\n  depth [mm].\nReturns: x [mm].\n\nNote: see."
    )
    assert found == {"speed_rpm": "Speed and depth [mm].", "depth_mm": "Speed and depth [mm]."}

    def bare(depth_mm: float) -> float:
        """Do.

        depth_mm: Depth.
        """
        return depth_mm

    assert wrong("millcalc.mechanics.x.bare", bare) == "millcalc.mechanics.x.bare: depth_mm has no unit"
    assert wrong("millcalc.report.x.bare", lambda: 0) == "millcalc.report.x.bare has no docstring"
