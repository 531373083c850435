"""The program's own sources, parsed once for all tests that read them."""

from __future__ import annotations

import ast
import gc
from functools import cache
from pathlib import Path

import millcalc

ROOT = Path(millcalc.__file__).parent


@cache
def text_of(path: Path) -> str:
    """What a file holds."""
    return path.read_text(encoding="utf-8")


@cache
def modules() -> tuple[Path, ...]:
    """All modules of the package in order, its packed tables left out."""
    return tuple(sorted(path for path in ROOT.rglob("*.py") if "_data" not in path.parts))


@cache
def _nodes() -> dict[Path, tuple[ast.AST, ...]]:
    gc.collect()
    gc.disable()  # a million nodes that stay: looking through them for garbage again and again takes the time
    found = {path: tuple(ast.walk(ast.parse(text_of(path)))) for path in modules()}
    gc.freeze()
    gc.enable()
    return found


def nodes_of(path: Path) -> tuple[ast.AST, ...]:
    """All nodes of a module of the package, in the order of ``ast.walk``: the module first; nobody changes them."""
    return _nodes()[path]


def tree_of(path: Path) -> ast.Module:
    """A module of the package, parsed."""
    module = nodes_of(path)[0]
    assert isinstance(module, ast.Module)
    return module
