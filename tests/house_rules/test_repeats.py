"""Nothing is written twice: no two places of millcalc share the shape of many lines."""

from __future__ import annotations

import ast
import io
import tokenize
from collections import defaultdict
from collections.abc import Iterable

from tests.helpers.sources import ROOT, modules, nodes_of, text_of

MOST_SHARED_LINES = 10
# places that share a shape and are meant to: "file:function ~ file:function": why
DEFENDED: dict[str, str] = {}


def shapes(text: str, nodes: Iterable[ast.AST]) -> list[tuple[int, str]]:
    """Line numbers and shapes of the lines of code: names, numbers and strings made alike.

    Left out: blank lines, comments, docstrings, imports, and lines of punctuation alone.
    """
    skip: set[int] = set()
    for node in nodes:
        is_import = isinstance(node, ast.Import | ast.ImportFrom)
        is_text = isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
        if is_import or is_text:
            skip |= set(range(node.lineno, (node.end_lineno or node.lineno) + 1))  # type: ignore[attr-defined]
    lines: dict[int, list[str]] = defaultdict(list)
    alike = {tokenize.NUMBER: "0", tokenize.STRING: "''"}
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type == tokenize.NAME:
            known = token.string in (
                "def",
                "class",
                "return",
                "if",
                "else",
                "for",
                "in",
                "yield",
                "raise",
                "not",
            )
            lines[token.start[0]].append(token.string if known else "n")
        elif token.type in alike or token.type == tokenize.OP:
            lines[token.start[0]].append(alike.get(token.type, token.string))
    return [
        (number, " ".join(parts))
        for number, parts in sorted(lines.items())
        if number not in skip and any(p.isalnum() or p == "''" for p in parts)
    ]


def repeats(files: dict[str, list[tuple[int, str]]], most: int) -> list[tuple[str, int, str, int]]:
    """Pairs of places, in different files or far apart in one, with more than ``most`` lines of one shape."""
    seen: dict[tuple[str, ...], list[tuple[str, int, int]]] = defaultdict(list)
    for name, lines in files.items():
        for at in range(len(lines) - most):
            window = tuple(shape for _, shape in lines[at : at + most + 1])
            if len(set(window)) > most // 2:  # a table of like rows repeats itself by nature
                seen[window].append((name, at, lines[at][0]))
    found: dict[tuple[str, str], tuple[str, int, str, int]] = {}
    for places in seen.values():
        first, last = places[0], places[-1]
        if first[0] != last[0] or last[1] - first[1] > most:
            found.setdefault((first[0], last[0]), (first[0], first[2], last[0], last[2]))
    return list(found.values())


def test_nothing_is_written_twice() -> None:
    files = {path.relative_to(ROOT).as_posix(): shapes(text_of(path), nodes_of(path)) for path in modules()}
    found = [
        f"{a}:{m} ~ {b}:{n}"
        for a, m, b, n in repeats(files, MOST_SHARED_LINES)
        if f"{a} ~ {b}" not in DEFENDED
    ]
    assert found == []


def test_a_repeat_is_seen() -> None:
    one = "def f(a):\n" + "".join(f"    x{i} = a * {i} + g(b[{i}{', c' * i}])\n" for i in range(12))
    two = one.replace("x", "y").replace("def f", "def other")
    other = two.replace("* 5", "- 5 / z")
    first, second, third = (shapes(text, ast.walk(ast.parse(text))) for text in (one, two, other))
    assert [row[0::2] for row in repeats({"one": first, "two": second}, 10)] == [("one", "two")]
    assert repeats({"one": first, "two": third}, 10) == []
