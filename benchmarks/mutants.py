"""Break the program on purpose, many times, and count how often a test notices.

    python benchmarks/mutants.py                      # 240 mutants over all stages, seed 1
    python benchmarks/mutants.py --stage mechanics --count 60 --jobs 2
    python benchmarks/mutants.py --stage limits --list

One mutant is one small edit of one module: a number changed, a comparison flipped or its edge moved, a sign swapped,
``and`` for ``or``. The tests of that stage run on a copy of the project with the edit in it; a mutant that no test
notices *survives* and is printed with file and line. Whatever survives wants a test, or a sentence in ``EQUIVALENT``
that says why nobody could tell the difference.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
TIME_LIMIT_S = 300
# modules that are broken, and the tests that should notice, quickest first
STAGES: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "mechanics": (("mechanics/*.py",), ("mechanics", "exact", "pinned", "published", "practice")),
    "limits": (("limits/*.py", "advise/solve.py"), ("limits", "advise", "pinned", "preflight", "practice")),
    "preflight": (
        ("preflight/*.py", "preflight/rules/*.py", "preflight/facts/*.py"),
        ("preflight/test_cases.py", "preflight"),
    ),
    "gcode": (
        tuple(f"gcode/{name}*.py" for name in ("execute", "cycles", "arc", "offsets", "moves", "modal")),
        ("gcode",),
    ),
    "stock": (("stock/*.py",), ("stock", "slow_reference")),
    "holding": (("holding/*.py",), ("holding",)),
}  # fmt: skip
# "file: source text of the line": why the edit changes nothing that anybody could see
EQUIVALENT: dict[str, str] = {}
COMPARISONS: dict[type[ast.cmpop], str] = {
    ast.Lt: ">=", ast.LtE: "<", ast.Gt: "<=", ast.GtE: ">", ast.Eq: "!=", ast.NotEq: "==",
}  # fmt: skip
SIGNS: dict[type[ast.operator], str] = {ast.Add: "-", ast.Sub: "+", ast.Mult: "/", ast.Div: "*"}
SYMBOLS = {ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">=", ast.Eq: "==", ast.NotEq: "!=",
           ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/"}  # fmt: skip


@dataclass(frozen=True)
class Mutant:
    """One edit: file, line (from 1), column and length in it, and the new text."""

    path: Path
    line: int
    column: int
    length: int
    text: str

    def applied(self, source: str) -> str:
        """The module's text with the edit."""
        lines = source.splitlines(keepends=True)
        row = lines[self.line - 1]
        lines[self.line - 1] = row[: self.column] + self.text + row[self.column + self.length :]
        return "".join(lines)

    def shown(self, source: str) -> str:
        """One line that says what was done where."""
        row = source.splitlines()[self.line - 1]
        old = row[self.column : self.column + self.length]
        return f"{self.path.relative_to(ROOT).as_posix()}:{self.line}: {old} -> {self.text}   | {row.strip()}"


def _between(lines: list[str], left: ast.expr, right: ast.expr, symbol: str) -> tuple[int, int] | None:
    """Line and column of an operator between two operands, where both stand on one line."""
    if left.end_lineno != right.lineno or left.end_col_offset is None:
        return None
    row = lines[right.lineno - 1]
    if not row.isascii():
        return None
    at = row.find(symbol, left.end_col_offset, right.col_offset)
    return (right.lineno, at) if at >= 0 else None


def mutants_of(path: Path) -> Iterator[Mutant]:
    """All edits of one module, in order."""
    source = path.read_text(encoding="utf-8")
    lines = source.splitlines()
    for node in ast.walk(ast.parse(source)):
        if (
            isinstance(node, ast.Constant)
            and type(node.value) in (int, float)
            and node.end_lineno == node.lineno
        ):
            if lines[node.lineno - 1].isascii():
                length = (node.end_col_offset or 0) - node.col_offset
                new = (
                    "1"
                    if node.value == 0
                    else repr(node.value * 2 if isinstance(node.value, int) else node.value * 1.5)
                )
                yield Mutant(path, node.lineno, node.col_offset, length, new)
        elif isinstance(node, ast.Compare) and len(node.ops) == 1 and type(node.ops[0]) in COMPARISONS:
            kind = type(node.ops[0])
            if place := _between(lines, node.left, node.comparators[0], SYMBOLS[kind]):
                yield Mutant(path, *place, len(SYMBOLS[kind]), COMPARISONS[kind])
        elif isinstance(node, ast.BinOp) and type(node.op) in SIGNS:
            kind = type(node.op)
            if place := _between(lines, node.left, node.right, SYMBOLS[kind]):
                yield Mutant(path, *place, 1, SIGNS[kind])
        elif isinstance(node, ast.BoolOp):
            old, new = ("and", "or") if isinstance(node.op, ast.And) else ("or", "and")
            if place := _between(lines, node.values[0], node.values[1], old):
                yield Mutant(path, *place, len(old), new)


def chosen(stage: str, count: int, seed: int) -> list[Mutant]:
    """A sample of a stage's mutants, the same for the same seed; kernels and tuning numbers are left out."""
    patterns, _ = STAGES[stage]
    paths = sorted({p for pattern in patterns for p in (ROOT / "millcalc").glob(pattern)})
    paths = [p for p in paths if not p.stem.endswith("_kernels") and p.stem not in ("tuning", "__init__")]
    everything = [mutant for path in paths for mutant in mutants_of(path)]
    return random.Random(seed).sample(everything, min(count, len(everything)))


def survives(mutant: Mutant, tests: tuple[str, ...], folder: Path) -> bool:
    """Whether all tests pass with the edit made in a copy of the project."""
    relative = mutant.path.relative_to(ROOT)
    source = mutant.path.read_text(encoding="utf-8")
    target = folder / relative
    target.write_text(mutant.applied(source), encoding="utf-8", newline="\n")
    environment = {**os.environ, "PYTHONPATH": str(folder), "PYTHONDONTWRITEBYTECODE": "1"}
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-x",
        "-q",
        "-p",
        "no:cacheprovider",
        *(f"tests/{t}" for t in tests),
    ]
    try:
        done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, timeout=TIME_LIMIT_S)
        return done.returncode == 0
    except subprocess.TimeoutExpired:
        return False
    finally:
        target.write_text(source, encoding="utf-8", newline="\n")


def _copy() -> Path:
    folder = Path(tempfile.mkdtemp(prefix="mutants-"))
    for name in ("millcalc", "tests", "materials", "demo_jobs", "docs", "benchmarks"):
        shutil.copytree(ROOT / name, folder / name)
    for name in ("pyproject.toml", "README.md", "DEVELOPERS.md"):
        shutil.copy2(ROOT / name, folder / name)
    return folder


def run_stage(stage: str, count: int, seed: int, jobs: int) -> tuple[int, int]:
    """Try one stage; prints what survived. Gives the number killed and tried."""
    tests = tuple(t for t in STAGES[stage][1] if (ROOT / "tests" / t).exists())
    todo = chosen(stage, count, seed)
    folders = [_copy() for _ in range(jobs)]
    try:
        with ThreadPoolExecutor(jobs) as pool:
            shares = [todo[n::jobs] for n in range(jobs)]
            work = [
                pool.submit(lambda m, f: [survives(x, tests, f) for x in m], s, f)
                for s, f in zip(shares, folders, strict=True)
            ]
            results = [flag for job in work for flag in job.result()]
    finally:
        for folder in folders:
            shutil.rmtree(folder, ignore_errors=True)
    order = [mutant for share in shares for mutant in share]
    killed = 0
    for mutant, alive in zip(order, results, strict=True):
        source = mutant.path.read_text(encoding="utf-8")
        key = f"{mutant.path.relative_to(ROOT).as_posix()}: {source.splitlines()[mutant.line - 1].strip()}"
        if not alive:
            killed += 1
        else:
            print(
                "  survived",
                mutant.shown(source),
                f"[{EQUIVALENT[key]}]" if key in EQUIVALENT else "",
                flush=True,
            )
    print(f"{stage}: {killed} of {len(todo)} killed, {killed / max(1, len(todo)):.0%}", flush=True)
    return killed, len(todo)


def main() -> None:
    """Read the options, try the stages, print the sums."""
    options = argparse.ArgumentParser(
        description="Break the program on purpose; count what the tests notice."
    )
    options.add_argument("--stage", choices=STAGES, action="append", help="only these stages")
    options.add_argument("--count", type=int, default=40, help="mutants a stage")
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--jobs", type=int, default=1)
    options.add_argument("--list", action="store_true", help="only show the edits")
    chosen_options = options.parse_args()
    killed = tried = 0
    for stage in chosen_options.stage or STAGES:
        if chosen_options.list:
            for mutant in chosen(stage, chosen_options.count, chosen_options.seed):
                print(mutant.shown(mutant.path.read_text(encoding="utf-8")))
            continue
        got = run_stage(stage, chosen_options.count, chosen_options.seed, chosen_options.jobs)
        killed, tried = killed + got[0], tried + got[1]
    if tried:
        print(f"all: {killed} of {tried} killed, {killed / tried:.1%}")


if __name__ == "__main__":
    main()
