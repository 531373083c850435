"""Mechanics is what runs: every public formula is reached from a command, and none stands there for its tests alone."""

from __future__ import annotations

import ast
from collections.abc import Iterable

from tests.helpers.sources import modules, nodes_of, tree_of


def names_in(nodes: Iterable[ast.AST]) -> set[str]:
    """Names that a piece of code reads, whether plain or as an attribute."""
    return {
        node.id if isinstance(node, ast.Name) else node.attr
        for node in nodes
        if isinstance(node, ast.Name | ast.Attribute)
    }


def unreached(formulas: dict[str, set[str]], used: set[str]) -> set[str]:
    """Names of definitions that neither the program nor a reached definition reads.

    formulas: What each definition of mechanics reads.
    used: What the rest of the program reads.
    """
    reached: set[str] = set()
    todo = [name for name in formulas if name in used]
    while todo:
        name = todo.pop()
        if name not in reached:
            reached.add(name)
            todo += [other for other in formulas[name] if other in formulas]
    return {name for name in formulas if not name.startswith("_")} - reached


def test_every_formula_is_reached() -> None:
    formulas: dict[str, set[str]] = {}
    used: set[str] = set()
    for path in modules():
        if path.parent.name != "mechanics":
            used |= names_in(nodes_of(path))
            continue
        for node in tree_of(path).body:
            if isinstance(node, ast.FunctionDef | ast.ClassDef):
                formulas.setdefault(node.name, set()).update(names_in(ast.walk(node)))
    assert len(formulas) > 60
    assert unreached(formulas, used) == set()


def test_a_formula_for_its_tests_alone_is_seen() -> None:
    assert unreached({"a": {"b"}, "b": set(), "c": {"a"}}, {"a", "print"}) == {"c"}
