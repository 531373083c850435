"""What a person reads speaks the trade's words: no field name that no guide teaches, no word of the program's makers.

Every text with a blank in it that stands in the code is read (docstrings only where ``millcalc explain`` prints them),
the cautions and every text of the materials too.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.helpers.sources import nodes_of

ROOT = Path(__file__).parents[2]
ROOMS = ("advise", "check", "cli", "cutlog", "gcode", "holding", "job", "limits", "measure", "page", "preflight",
         "report", "rewrite", "stock", "tables")  # fmt: skip
FIELD = re.compile(r"(?<![\w./-])[a-z]+(?:_[a-z0-9]+)+(?![\w(.=/])")
DOTTED = re.compile(r"(?<![\w./`-])[a-z][a-z_]*\.[a-z][a-z_]*(?:\.[a-z][a-z_]*)*(?![\w./(])")
MAKERS = re.compile(
    r"\b(njit|numba|kernels?|heightfield|dtypes?|booleans?|tuples?|dicts?|exceptions?|pars(?:e|ed|er|ing)|regex|"
    r"iterables?|pydantic|enums?|callbacks?|bounding box|epsilon|stdin|stdout|stderr|payload|serialised?|NoneType|"
    r"motion rows?|frame \d+|null pointer|lookup|numpy|namespace|snake.case|TODO|FIXME)\b"
)
QUERY = re.compile(
    r"\b(SELECT|INSERT|UPDATE|PRAGMA|CREATE|DELETE|FROM|WHERE|ALTER|ORDER BY|REFERENCES|cut_at|found_notes)\b|<> ''"
)
ENDS = re.compile(
    r"\.(?:yaml|nc|py|html|db|json|csv|md|txt|svg|png|sarif|org|com|wav|backup|part|toml|card|yml)$"
)
GUIDES = (*ROOT.glob("docs/*.md"), ROOT / "README.md", ROOT / "materials" / "README.md")
TAUGHT = frozenset(
    word for guide in GUIDES for word in re.findall(r"[a-z_0-9]+", guide.read_text(encoding="utf-8"))
)
# told to whoever writes or reads such a file: its columns and fields are the answer to the question
OF_A_FILE = {
    "drop_mm",
    "pull_kg",
    "pull_n",
    "pull_lbf",
    "dial_mm",
    "dial_um",
    "dial_thou",
    "floor_mm",
    "cap_mm",
}
INTERNAL = ("tuning.py", "_kernels.py", "needs.py")  # printed as a table of names, or never printed


def texts(path: Path) -> Iterator[tuple[int, str]]:
    """Texts of a file that may reach a person, with their lines."""
    silent = set()
    for node in nodes_of(path):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            first = node.body[0] if node.body else None
            if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant):
                printed = "Flags:" in str(first.value.value)
                silent |= set() if printed else {id(first.value)}
        elif isinstance(node, ast.Call) and getattr(node.func, "id", "") in (
            "cast",
            "Literal",
            "AssertionError",
        ):
            silent |= {id(one) for one in ast.walk(node)}
        elif isinstance(node, ast.Assign | ast.AnnAssign | ast.Expr) and _explains(node):
            silent.add(id(node.value))
    for node in nodes_of(path):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in silent:
            whole = " " in node.value.strip() and not QUERY.search(node.value)
            yield from [(node.lineno, node.value)] if whole else []


def _explains(node: ast.AST) -> bool:
    """A text that stands alone behind an assignment explains it."""
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)


def wrong(text: str) -> list[str]:
    """Words in a text that its reader cannot know."""
    found = [word for word in FIELD.findall(text) if word not in TAUGHT | OF_A_FILE]
    for word in DOTTED.findall(text):
        if not ENDS.search(word) and not set(word.split(".")) <= TAUGHT and "_" in word:
            found.append(word)
    return found + [match.group() for match in MAKERS.finditer(text)]


@pytest.mark.parametrize("room", ROOMS)
def test_texts_of_a_room_are_in_the_words_of_the_trade(room: str) -> None:
    seen, found = 0, []
    for path in sorted((ROOT / "millcalc" / room).rglob("*.py")):
        if path.name.endswith(INTERNAL):
            continue
        for line, text in texts(path):
            seen += 1
            found += [f"{path.name}:{line}: {word}" for word in wrong(text)]
    assert seen > 20
    assert not found


def test_texts_of_the_tables_are_in_the_words_of_the_trade() -> None:
    for path in sorted((ROOT / "materials").rglob("*.yaml")):
        if path.name == "sources.yaml":
            continue
        for text in re.findall(r'text: "([^"]+)"', path.read_text(encoding="utf-8")):
            assert not wrong(text), f"{path.name}: {text}"


@pytest.mark.parametrize(
    "text", ["set radial_width_limit lower", "frame 54 of the path", "a kernel parsed the tuple"]
)
def test_what_nobody_can_know_is_found(text: str) -> None:
    assert wrong(text)
