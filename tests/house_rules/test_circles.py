"""No module reaches itself through imports, not even through those that only the type checker reads."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

from tests.helpers.sources import ROOT, nodes_of


def module_name(path: Path, root: Path) -> str:
    """Dotted name of a file; a package is its ``__init__``."""
    parts = path.relative_to(root.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imports(root: Path) -> dict[str, set[str]]:
    """Own modules that each module imports anywhere in it, lazily or for types too."""
    paths = {module_name(p, root): p for p in sorted(root.rglob("*.py")) if "_data" not in p.parts}
    return {name: set(_targets(name, path, paths)) - {name} for name, path in paths.items()}


def _targets(name: str, path: Path, known: dict[str, Path]) -> Iterator[str]:
    inside = path.is_relative_to(ROOT)
    for node in nodes_of(path) if inside else ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names if alias.name in known)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            for alias in node.names:
                inner = f"{node.module}.{alias.name}"
                if inner in known:
                    yield inner
                elif node.module in known:
                    yield node.module


def circles(graph: dict[str, set[str]]) -> list[list[str]]:
    """Groups of modules that reach each other: strongly connected components of more than one (Tarjan 1972)."""
    index: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    found: list[list[str]] = []

    def visit(node: str) -> None:
        index[node] = low[node] = len(index)
        stack.append(node)
        for other in sorted(graph[node]):
            if other not in index:
                visit(other)
                low[node] = min(low[node], low[other])
            elif other in stack:
                low[node] = min(low[node], index[other])
        if low[node] == index[node]:
            group = stack[stack.index(node) :]
            del stack[stack.index(node) :]
            if len(group) > 1:
                found.append(sorted(group))

    for node in sorted(graph):
        if node not in index:
            visit(node)
    return found


def test_no_circles() -> None:
    assert circles(imports(ROOT)) == []


def test_a_circle_is_seen(tmp_path: Path) -> None:
    package = tmp_path / "toy"
    package.mkdir()
    (package / "__init__.py").write_text("", encoding="utf-8")
    (package / "a.py").write_text("from toy.b import x\n", encoding="utf-8")
    (package / "b.py").write_text(
        "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from toy import a\n", encoding="utf-8"
    )
    assert circles(imports(package)) == [["toy.a", "toy.b"]]
