"""Files stay small, speak UTF-8, and name no path of any machine."""

from __future__ import annotations

import ast
import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
# formulas carry long docstrings: what counts is code, and the whole stays readable
MOST_CODE_LINES, MOST_LINES = 400, 600


def _code_lines(text: str) -> int:
    """Lines that hold code: no blank lines, comments or docstrings."""
    drop: set[int] = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, (ast.Module, ast.ClassDef, ast.FunctionDef)) and ast.get_docstring(
            node, clean=False
        ):
            first = node.body[0]
            drop |= set(range(first.lineno, (first.end_lineno or first.lineno) + 1))
    lines = enumerate(text.splitlines(), 1)
    return sum(1 for n, line in lines if n not in drop and line.strip() and not line.strip().startswith("#"))


def _tracked() -> list[Path]:
    try:
        listed = subprocess.run(
            ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True
        ).stdout.decode("utf-8")
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("not a git checkout")
    return [ROOT / name for name in listed.split("\0") if name and (ROOT / name).is_file()]


def test_modules_are_short() -> None:
    for path in _tracked():
        if path.suffix == ".py" and path.is_relative_to(ROOT / "millcalc"):
            text = path.read_text(encoding="utf-8")
            assert _code_lines(text) <= MOST_CODE_LINES, path
            assert len(text.splitlines()) <= MOST_LINES, path


def test_no_machine_path_in_the_project() -> None:
    path_of_a_machine = re.compile(rb"(?:^|[^A-Za-z0-9_.])/(?:" + rb"work|farm|root|opt/mc" + rb")[/-]")
    for path in _tracked():
        if "corpus" in path.parts or path == Path(__file__):
            continue
        assert not path_of_a_machine.search(path.read_bytes()), path


def test_top_level_is_as_agreed() -> None:
    allowed = {
        "README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml", ".gitignore", ".ci",
        "millcalc", "materials", "tests", "demo_jobs", "benchmarks", "docs",
    }  # fmt: skip
    found = {path.relative_to(ROOT).parts[0] for path in _tracked()}
    assert found <= allowed, found - allowed
