"""Data flows one way: no module imports from a later stage."""

from __future__ import annotations

import ast
import importlib
import inspect
from pathlib import Path

import pytest

from tests.helpers.sources import ROOT, modules, nodes_of, tree_of

BASE = {
    "beside",
    "errors",
    "findings",
    "quantity",
    "units",
    "units_show",
    "units_beside",
    "tuning",
    "kernels",
    "kernel_cache",
    "kernel_sources",
    "shown",
    "files",
}
# what each stage may import besides the base modules and itself
MAY_IMPORT: dict[str, set[str]] = {
    "mechanics": set(),
    "tables": set(),
    "measure": {"tables", "mechanics"},
    "job": {"tables"},
    "limits": {"tables", "job", "mechanics"},
    "advise": {"tables", "job", "mechanics", "limits"},
    "gcode": set(),
    "stock": {"gcode", "mechanics", "job", "tables"},
    "preflight": {"tables", "job", "mechanics", "limits", "advise", "gcode", "stock"},
    "cutlog": {"tables", "mechanics", "job", "limits", "advise"},
    "rewrite": {"tables", "job", "mechanics", "limits", "advise", "gcode", "stock", "preflight"},
    "holding": {"tables", "job", "mechanics", "limits", "advise", "gcode", "stock", "preflight"},
    "check": {"tables", "job", "mechanics", "limits", "advise", "gcode", "stock", "preflight", "rewrite"},
    # results only: test_faces_take_results_only says which names
    "report": {"measure", "tables", "advise", "gcode", "holding", "cutlog", "check"},
    "page": {
        "measure",
        "tables",
        "job",
        "mechanics",
        "limits",
        "advise",
        "gcode",
        "stock",
        "preflight",
        "rewrite",
        "holding",
        "cutlog",
        "check",
        "report",
    },
    "cli": {
        "measure",
        "tables",
        "job",
        "mechanics",
        "limits",
        "advise",
        "gcode",
        "stock",
        "preflight",
        "rewrite",
        "holding",
        "cutlog",
        "check",
        "report",
        "page",
    },
}


def _own_imports(path: Path) -> set[str]:
    """Sub-packages of millcalc that a module imports, anywhere in it."""
    found: set[str] = set()
    for node in nodes_of(path):
        if isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            parts = node.module.split(".")
            if parts[0] == "millcalc":
                found |= {parts[1]} if len(parts) > 1 else {alias.name for alias in node.names}
        elif isinstance(node, ast.Import):
            found |= {a.name.split(".")[1] for a in node.names if a.name.startswith("millcalc.")}
    return found


def _too_late(path: Path) -> set[str]:
    """What a module imports and may not."""
    parts = path.relative_to(ROOT).parts
    imported = {name for name in _own_imports(path) if not name.startswith("_")}
    if parts == ("__main__.py",):
        return imported ^ {"cli"}
    if len(parts) == 1:
        return imported - BASE
    stage = parts[0]
    return imported - {stage} if stage == "mechanics" else imported - MAY_IMPORT[stage] - BASE - {stage}


@pytest.mark.parametrize("stage", ["", *MAY_IMPORT])
def test_modules_import_only_earlier_stages(stage: str) -> None:
    paths = [path for path in modules() if (path.parent == ROOT) is not bool(stage)]
    paths = [path for path in paths if not stage or path.relative_to(ROOT).parts[0] == stage]
    assert paths
    assert {path.relative_to(ROOT).as_posix(): late for path in paths if (late := _too_late(path))} == {}


def test_faces_take_results_only() -> None:
    """From stages before ``check`` a face imports data: classes and constants, no function that computes."""
    taken = 0
    for path in sorted((ROOT / "report").rglob("*.py")):
        for node in nodes_of(path):
            if not isinstance(node, ast.ImportFrom) or not node.module:
                continue
            parts = node.module.split(".")
            if parts[0] != "millcalc" or len(parts) < 2 or parts[1] in BASE | {"report", "check"}:
                continue
            for alias in node.names:
                found = getattr(importlib.import_module(node.module), alias.name)
                assert inspect.isclass(found) or not callable(found), (
                    f"{path.name}: {node.module} {alias.name}"
                )
                taken += 1
    assert taken > 30


def test_every_stage_is_known() -> None:
    stages = {p.name for p in ROOT.iterdir() if p.is_dir() and (p / "__init__.py").exists()}
    assert stages <= set(MAY_IMPORT)


def test_kernel_modules_import_only_numpy_and_numba_and_their_like() -> None:
    for path in modules():
        if not path.name.endswith("_kernels.py"):
            continue
        for node in tree_of(path).body:
            if isinstance(node, ast.Import):
                names = {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom):
                names = {(node.module or "").split(".")[0]}
                if names == {"millcalc"}:
                    last = (node.module or "").split(".")[-1]
                    own = last in (
                        "kernels",
                        "motions",
                        "result",
                        "state",
                        "tuning",
                        "arc_geometry",
                    ) or last.endswith("_kernels")
                    own = own or {alias.name for alias in node.names} <= {"motions", "state"}
                    assert own or node.module == "millcalc", f"{path.name} imports {node.module}"
                    continue
            else:
                continue
            assert names <= {"numpy", "numba", "math", "__future__", "typing", "collections"}, (
                path.name,
                names,
            )
