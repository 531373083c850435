"""Pinned: what every formula gives when each argument is moved, and the bounds that its refusals name.

Our own numbers; they catch change only. After a change that is meant, run ``python -m tests.pinned.test_formulas``,
read every number that differs, and only then keep the new file.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from millcalc.mechanics.linear_edge import EdgeCoefficients
from tests.mechanics.test_arguments import CASES, FUNCTIONS, _arguments, _leaves

FILE = Path(__file__).with_name("formulas.json")
OUTSIDE = (-1e12, 0.0, 1e12)  # beyond what any argument may be, and the edge that many may not reach
TIMES = (0.7, 1.9)


def _told(function: Any, arguments: dict[str, Any]) -> Any:
    try:
        found = [float(f"{float(value):.6g}") for value in _leaves(function(**arguments))]
    except ValueError as refused:
        return str(refused)
    return found if len(found) > 1 else found[0]


def answers(name: str) -> dict[str, Any]:
    """Results at the usual arguments, with one of them moved at a time, and what it says of impossible ones."""
    function, usual = FUNCTIONS[name], _arguments(FUNCTIONS[name])
    found = {"usual": _told(function, usual)}
    for argument in (case[1] for case in CASES if case[0] == name):
        moved = [
            value if argument != "flutes" else round(value) for value in (usual[argument] * t for t in TIMES)
        ]
        found[argument] = [_told(function, usual | {argument: value}) for value in (*moved, *OUTSIDE)]
    if "coefficients" in usual:
        other = EdgeCoefficients(700.0, 200.0, 150.0, 20.0, 15.0, 5.0)
        found["coefficients"] = _told(function, usual | {"coefficients": other})
    return found


def close(found: Any, kept: Any) -> bool:
    """Whether two answers are the same, numbers to four digits."""
    if isinstance(found, dict):
        return found.keys() == kept.keys() and all(close(found[key], kept[key]) for key in found)
    if isinstance(found, list) and isinstance(kept, list):
        return len(found) == len(kept) and all(map(close, found, kept))
    if isinstance(found, float) and isinstance(kept, float):
        return bool(np.isclose(found, kept, rtol=1e-4, atol=1e-12, equal_nan=True))
    return bool(found == kept)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_formula_gives_what_was_looked_at(name: str) -> None:
    kept = json.loads(FILE.read_text(encoding="utf-8"))[name]
    found = answers(name)
    assert close(found, kept), {
        key: (found[key], kept.get(key)) for key in found if not close(found[key], kept.get(key))
    }


if __name__ == "__main__":
    parts = []
    for name in FUNCTIONS:
        rows = (f"  {json.dumps(key)}: {json.dumps(value)}" for key, value in answers(name).items())
        parts.append(f" {json.dumps(name)}: {{\n" + ",\n".join(rows) + "\n }")
    FILE.write_text("{\n" + ",\n".join(parts) + "\n}\n", encoding="utf-8", newline="\n")
