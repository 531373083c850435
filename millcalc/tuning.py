"""The table of all tuning numbers, read from the ``tuning.py`` of each stage; and those that several stages use."""

from __future__ import annotations

import ast
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

# A published low-high range is read as holding 90 % of cases: +-1.645 standard deviations [-]. Estimate.
RANGE_SIGMAS: Final = 1.645


@dataclass(frozen=True)
class TuningNumber:
    """One row of the table.

    stage: Sub-package that owns the number, ``millcalc`` for those that several stages use.
    name: Name in the code.
    value: Its value.
    reason: Unit, reason and source: the comment above it.
    """

    stage: str
    name: str
    value: Any
    reason: str


def tuning_table() -> tuple[TuningNumber, ...]:
    """Every tuning number of the program, stage by stage, without importing the stages."""
    root = Path(__file__).parent
    rows: list[TuningNumber] = []
    for path in [Path(__file__), *sorted(root.glob("*/tuning.py"))]:
        stage = path.parent.name
        lines = path.read_text(encoding="utf-8").splitlines()
        for node in ast.parse("\n".join(lines)).body:
            if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name) and node.value:
                reason = _comment_above(lines, node.lineno)
                rows.append(TuningNumber(stage, node.target.id, ast.unparse(node.value), reason))
    return tuple(rows)


def _comment_above(lines: list[str], line: int) -> str:
    """The comment over a row or over the group of rows it stands in; after it what stands behind the row."""
    above: list[str] = []
    at = line - 2
    while at >= 0 and lines[at].strip() and not lines[at].startswith("#"):
        at -= 1
    while at >= 0 and lines[at].startswith("#"):
        above.insert(0, lines[at].lstrip("# "))
        at -= 1
    behind = lines[line - 1].partition("  # ")[2]
    return " ".join([*above, behind]).strip()
