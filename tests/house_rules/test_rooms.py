"""Small rooms: short files and short functions."""

from __future__ import annotations

import ast
import statistics
from pathlib import Path

from tests.helpers.sources import ROOT, modules, nodes_of, text_of

MOST_LINES, MEDIAN_LINES, MOST_FUNCTION_LINES = 350, 120, 60

# compiled kernels that are one loop over hot data: split up, they lose speed or pass a dozen arguments on
KERNELS: dict[str, str] = {
    # with the events of a line in a kernel of their own it took 1.7 times the processor time, with numbers too 1.8
    "read_plain": "the compiled reader of plain blocks: one pass over the bytes",
    "cut_any": "the removal of any tool shape along one motion",
    "walk": "the walk of a motion over the cells it meets",
    "plain_arc": "the arc of a plain block, inside the compiled reader",
}


def functions(path: Path) -> list[tuple[str, int, int]]:
    """Name, first line and number of lines of every function in a file."""
    found = [n for n in nodes_of(path) if isinstance(n, ast.FunctionDef | ast.AsyncFunctionDef)]
    return [(n.name, n.lineno, (n.end_lineno or n.lineno) - n.lineno + 1) for n in found]


# files that are still too long, or hold a function that is; one that has become short leaves the list
TOO_LONG = {"gcode/read_kernels.py"}


def too_long(path: Path) -> bool:
    """Whether a file is, or a function in it that is no named kernel."""
    lines = len(text_of(path).splitlines())
    long = {name for name, _, lines in functions(path) if lines > MOST_FUNCTION_LINES}
    return lines > MOST_LINES or bool(long - set(KERNELS))


def test_files_and_their_functions_are_short() -> None:
    assert {path.relative_to(ROOT).as_posix() for path in modules() if too_long(path)} == TOO_LONG


def test_the_middle_file_is_short() -> None:
    lengths = [len(text_of(path).splitlines()) for path in modules()]
    assert statistics.median(lengths) <= MEDIAN_LINES
