"""Break the program on purpose, many times, and count how often a test notices.

    python benchmarks/mutants.py                      # 40 mutants in each of seven stages, seed 1
    python benchmarks/mutants.py --stage mechanics --count 60 --seed 7
    python benchmarks/mutants.py --stage limits --list

One mutant is one small edit of one module: a number changed, a comparison flipped or its edge moved, a sign swapped,
``and`` for ``or``. It is asked of the tests that run the edited line, quickest first, until one fails; a mutant that
none notices *survives* and is printed with file and line. Whatever survives wants a test, or a sentence in
``EQUIVALENT`` that says why nobody could tell the difference.

Which test runs which line is recorded once (with the library ``coverage``) in ``build/mutants``, and again for every
test file that changed. Everything is imported once; each mutant is a fork of that process in which the function's
code is exchanged, so it costs the time of its tests only. What runs at import (a constant of a module, a default)
cannot be exchanged: there pytest is started anew on a copy of the project. Kernels are tried as plain Python. Needs
a system that can fork.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))
from benchmarks.mutant_pins import PINS  # noqa: E402

# modules that are broken; a stage's tests are those that run the line, wherever they stand
STAGES: dict[str, tuple[str, ...]] = {
    "mechanics": ("mechanics/*.py",),
    "limits": ("limits/*.py", "advise/solve.py", "advise/grid.py"),
    "preflight": ("preflight/*.py", "preflight/rules/*.py"),
    "gcode": ("gcode/*.py",),
    "stock": ("stock/*.py",),
    "holding": ("holding/*.py",),
    "kernels": ("*/*_kernels.py",),
    "pins": (),
}
# the reader's parts that carry a program out; the rest of gcode/ turns text into words
EXECUTOR = (
    "again", "arc_case", "arc_centre", "arc_geometry", "arc_moves", "arc_radius", "arc_words", "arcs", "comp", "cycles",
    "ending", "execute", "frames", "machine", "modal", "modes", "motions", "moves", "offsets", "operations", "state",
    "sticky",
)  # fmt: skip
TESTS = (
    "millcalc/mechanics", "millcalc/limits", "millcalc/advise", "millcalc/preflight", "millcalc/gcode",
    "millcalc/stock", "millcalc/holding", "tests/mechanics", "tests/exact", "tests/published", "tests/limits",
    "tests/stock", "tests/slow_reference", "tests/gcode", "tests/holding", "tests/preflight", "tests/pinned",
    "tests/practice", "tests/advise", "tests/check", "tests/rewrite",
)  # fmt: skip
KERNEL_TESTS = (
    "tests/slow_reference", "tests/stock", "tests/gcode", "tests/preflight", "tests/holding", "millcalc/gcode",
    "millcalc/preflight", "millcalc/stock", "millcalc/holding",
)  # fmt: skip
# a smaller number guards against rounding: half as large again it is the same guard
GUARD = 1e-5
# "file: source text of the line", and "[old -> new]" where only that edit is meant: why nobody could see it
EQUIVALENT: dict[str, str] = {
    "millcalc/gcode/again.py: HOLES = (730, 810, 820, 830, 850, 890)": "one left out is read plainly, to the same end",
    "millcalc/mechanics/lobes.py: void = np.abs(eigen) <= 1e-9 * np.where(size > 0, size, 1.0)": "against rounding",
    "millcalc/limits/depths.py: mode = VibrationMode(1000.0, damping, 1.0)": "of all speeds the lowest: any frequency",
    "millcalc/gcode/frames.py: state[PLACED] = 1.0": "a flag: everything but 0 is yes",
    "millcalc/preflight/geometry.py: out = np.empty((n, 2)) [2 -> 4]": "columns that nobody reads",
    "millcalc/preflight/remedy.py: if any(float(np.max(use)) > 1.0 + 1e-9 for use in used.values()):"
    " [+ -> -]": "rounding",
    "millcalc/preflight/rules/increments.py: going = mine[~(np.nan_to_num(other.length_mm[mine], nan=1.0) <= 1e-6)]"
    " [1.0 -> 1.5]": "an unknown length counts as one that moves, however long",
    "millcalc/preflight/rules/rapid.py: inside = facts.inside if known else facts.z_low < "
    "min(top_mm, facts.travel_level_mm or top_mm) - 0.01 [or -> and]": "the surface shown is never above the travel",
    "millcalc/preflight/say.py: return show_chip(_plain(value), self._units) if value is None or value >= 0 else "
    "self.mm(value) [>= -> >]": "0 mm and 0 in either way",
    "millcalc/holding/regions.py: angles = np.arange(16) * (np.pi / 8) [* -> /]": "sixteen other directions of a head",
    "millcalc/holding/moves.py: DIRECTIONS = 120  # directions first tried": "the finer search ends at the same place",
    "millcalc/holding/moves.py: STEP_MM = 0.01  # mm; how close to the true boundary a move ends, on the clear side"
    "": "moves are rounded to a tenth",
    "millcalc/holding/propose.py: plan = Plan([np.zeros((0, 2)) for _ in range(self.count)], [None] * self.count)"
    " [0 -> 1]": "every place is chosen before it is read",
    "millcalc/stock/pieces.py: found = np.zeros(count + 1, dtype=np.int64) [1 -> 2]": "room that nobody uses",
    "millcalc/stock/walker.py: jumps=np.full((jumps, 6), -1.0), [6 -> 12]": "columns that nobody reads",
    "millcalc/stock/frames.py: wide = Region(box.x_min - 2 * cell, box.x_max + 2 * cell, box.y_min - 2 * cell, "
    "box.y_max + 2 * cell) [2 -> 4]": "a margin: more of it changes nothing inside",
    "millcalc/stock/simulate.py: work = 1.0 + np.nan_to_num(motions.length_mm, nan=0.0, posinf=0.0) / step_mm"
    " [0.0 -> 1]": "an estimate of how many parts a long walk has",
    "millcalc/limits/chances.py: _SEED = 20_240_611": "any seed",
    "millcalc/limits/table.py: chance=None, smallest=0.0, function=speeds.top_feed),"
    " [0.0 -> 1]": "nobody feeds at 1 mm/min",
    "millcalc/limits/table.py: chance=None, smallest=0.0, function=speeds.acceleration, applies=has_corners),"
    " [0.0 -> 1]": "nobody feeds at 1 mm/min",
    "millcalc/gcode/execute.py: if request.nonmodal is not None and request.nonmodal not in (40, 530, 90):"
    " [and -> or]": "a code that moves no frame puts the frame in force again",
    "millcalc/gcode/cycles.py: here = state[POS : POS + 3].tolist() [+ -> -]": "entries that nobody reads",
    "millcalc/gcode/again.py: unit, incremental, feed = now[UNIT], now[INCREMENTAL], -1.0 [1.0 -> 1.5]": "no feed word",
    "millcalc/limits/plunge.py: state = HoleState(tooling, request, speed_rpm, feed_mm_min / per_mm, 1e-3, diameter)"
    " [1e-3 -> 0.0015]": "how deep changes none of these limits",
    "millcalc/limits/plunge.py: state = HoleState(tooling, request, speed_rpm, 0.0, 0.0, tooling.cutter.diameter_mm)"
    " [0.0 -> 1]": "only the chip band is asked of it",
    "millcalc/limits/draws.py: cut = ChatterCut(1.0, radial_ratio, 1, np.pi - engagement_rad, np.pi, (mode,), "
    "(mode,)) [1.0 -> 1.5]": "the depths are taken over their lowest",
    "millcalc/advise/grid.py: same = bool((feeds == feeds[:, :, :1]).all()) [== -> !=]": "the same, only slower",
    "millcalc/preflight/hold_loads.py: one = slice(at, at + 1) [1 -> 2]": "only the first is read",
    "millcalc/preflight/rules/zero.py: SAMPLES = (np.arange(8) + 0.5) / 8  # places along a motion"
    " [0.5 -> 0.75]": "eight other places",
    "millcalc/stock/pieces.py: stamp = np.full(cells + OUTER, -1, dtype=np.int32) [1 -> 2]": "a mark that is no number",
    "millcalc/stock/cutter_shapes.py: return CutterShape(diameter_mm / 2, tip, 0.0, tip, cone) [0.0 -> 1]": ""
    "the corner ends where it begins",
    "millcalc/stock/simulate.py: return make_grid(_widen(region, stock, 3 * cell), stock, cell) [3 -> 6]": "a margin",
    "millcalc/preflight/distinct.py: key = key * int(size) + (column - least).astype(np.int64) [- -> +]": "a constant"
    " more in every key",
    "millcalc/preflight/uses.py: return np.asarray(self.width_mm >= SLOT_SHARE * self.tooling.cutter.diameter_mm)"
    " [>= -> >]": "no width is one to the last digit",
    "millcalc/holding/clamps.py: MOST_STEPS = 400  # places looked at along one edge": "more of them find no more",
}
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

    @property
    def module(self) -> str:
        """The file from the project's folder."""
        return self.path.relative_to(ROOT).as_posix()

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
        return f"{self.module}:{self.line}:{self.column}: {old} -> {self.text}   | {row.strip()}"

    def excuse(self, source: str) -> str | None:
        """Why nobody could tell this edit, where somebody wrote it down."""
        row = source.splitlines()[self.line - 1]
        edit = f"{row[self.column : self.column + self.length]} -> {self.text}"
        line = f"{self.module}: {row.strip()}"
        return EQUIVALENT.get(line) or EQUIVALENT.get(f"{line} [{edit}]")


@dataclass(frozen=True)
class Pin:
    """An edit written by hand: what it breaks, its module, and the text exchanged."""

    name: str
    path: Path
    old: str
    new: str

    @property
    def module(self) -> str:
        """The file from the project's folder."""
        return self.path.relative_to(ROOT).as_posix()

    @property
    def line(self) -> int:
        """The first line that differs, from 1."""
        source = self.path.read_text(encoding="utf-8")
        same = next((n for n, (a, b) in enumerate(zip(self.old, self.new, strict=False)) if a != b), 0)
        at = source.index(self.old) + same
        return source.count("\n", 0, at) + 1

    def applied(self, source: str) -> str:
        """The module's text with the edit."""
        if source.count(self.old) != 1:
            raise SystemExit(f"{self.module}: not there once: {self.old}")
        return source.replace(self.old, self.new)

    def shown(self, source: str) -> str:
        """One line that says what was done where."""
        return f"{self.module}:{self.line}: {self.name}"

    def excuse(self, source: str) -> None:
        """None: all of these can be told."""


def _between(lines: list[str], left: ast.expr, right: ast.expr, symbol: str) -> tuple[int, int] | None:
    """Line and column of an operator between two operands, where both stand on one line."""
    if left.end_lineno != right.lineno or left.end_col_offset is None:
        return None
    row = lines[right.lineno - 1]
    if not row.isascii():
        return None
    at = row.find(symbol, left.end_col_offset, right.col_offset)
    return (right.lineno, at) if at >= 0 else None


def _number(lines: list[str], node: ast.Constant) -> tuple[int, int, int, str] | None:
    """Where a number stands and what stands there instead: twice a whole one, half as much again, 1 for 0."""
    row = lines[node.lineno - 1]
    if not row.isascii() or node.end_lineno != node.lineno or 0 < node.value < GUARD:
        return None
    length = (node.end_col_offset or 0) - node.col_offset
    if not row[node.col_offset : node.col_offset + length].replace("_", "")[:1].isdigit():
        return None
    new = repr(node.value * 2 if isinstance(node.value, int) else node.value * 1.5) if node.value else "1"
    return node.lineno, node.col_offset, length, new


def _is_text(node: ast.expr) -> bool:
    return isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Constant) and isinstance(node.value, str))


def mutants_of(path: Path) -> Iterator[Mutant]:
    """All edits of one module, in order."""
    source = path.read_text(encoding="utf-8")
    lines = source.splitlines()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Constant) and type(node.value) in (int, float):
            if number := _number(lines, node):
                yield Mutant(path, *number)
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
            if lines[node.lineno - 1].isascii() and lines[node.lineno - 1][node.col_offset] == "-":
                yield Mutant(path, node.lineno, node.col_offset, 1, "+")
        elif isinstance(node, ast.Compare) and len(node.ops) == 1 and type(node.ops[0]) in COMPARISONS:
            kind = type(node.ops[0])
            guard = node.comparators[0]
            small = isinstance(guard, ast.Constant) and isinstance(guard.value, float) and guard.value < GUARD
            if small and guard.value > 0 and kind in (ast.LtE, ast.GtE):
                continue  # just at a guard against rounding nothing lies
            if place := _between(lines, node.left, node.comparators[0], SYMBOLS[kind]):
                yield Mutant(path, *place, len(SYMBOLS[kind]), COMPARISONS[kind])
        elif isinstance(node, ast.BinOp) and type(node.op) in SIGNS:
            sign = type(node.op)
            place = _between(lines, node.left, node.right, SYMBOLS[sign])
            if place and not (_is_text(node.left) or _is_text(node.right)):
                yield Mutant(path, *place, 1, SIGNS[sign])
        elif isinstance(node, ast.BoolOp):
            old, new = ("and", "or") if isinstance(node.op, ast.And) else ("or", "and")
            if place := _between(lines, node.values[0], node.values[1], old):
                yield Mutant(path, *place, len(old), new)


def chosen(stage: str, count: int, seed: int) -> list[Mutant | Pin]:
    """A sample of a stage's mutants, the same for the same seed; tuning numbers are left out. All of the pins."""
    if stage == "pins":
        return [Pin(name, ROOT / "millcalc" / module, old, new) for name, module, old, new in PINS]
    paths = sorted({p for pattern in STAGES[stage] for p in (ROOT / "millcalc").glob(pattern)})
    paths = [p for p in paths if p.stem not in ("tuning", "__init__")]
    paths = [p for p in paths if p.stem.endswith("_kernels") == (stage == "kernels")]
    if stage == "gcode":
        paths = [p for p in paths if p.stem in EXECUTOR]
    everything: list[Mutant | Pin] = [mutant for path in paths for mutant in mutants_of(path)]
    random.Random(seed).shuffle(everything)
    return list(islice(filter(_is_a_program, everything), count))


def _is_a_program(mutant: Mutant | Pin) -> bool:
    try:
        compile(mutant.applied(mutant.path.read_text(encoding="utf-8")), mutant.module, "exec")
    except SyntaxError:
        return False
    return True


def main() -> None:
    """Read the options, try the stages, print the sums."""
    options = argparse.ArgumentParser(
        description="Break the program on purpose; count what the tests notice."
    )
    options.add_argument("--stage", choices=STAGES, action="append", help="only these stages")
    options.add_argument("--count", type=int, default=40, help="mutants a stage")
    options.add_argument("--seed", type=int, default=1)
    options.add_argument(
        "--seconds",
        type=int,
        default=20,
        help="processor seconds of tests that a mutant gets, 20 unless told",
    )
    options.add_argument("--only", action="append", help="only those whose line of the list has such a text")
    options.add_argument("--list", action="store_true", help="only show the edits")
    asked = options.parse_args()
    stages = asked.stage or list(STAGES)
    if asked.list:
        for mutant in (m for stage in stages for m in chosen(stage, asked.count, asked.seed)):
            print(mutant.shown(mutant.path.read_text(encoding="utf-8")))
        return
    if "kernels" in stages:
        if len(stages) > 1:
            stages.remove("kernels")
            again = [__file__, "--stage", "kernels", "--count", str(asked.count), "--seed", str(asked.seed)]
            again += ["--seconds", str(asked.seconds)]
            subprocess.run([sys.executable, *again], check=False)
        else:
            os.environ["NUMBA_DISABLE_JIT"] = "1"
    os.chdir(ROOT)
    from benchmarks.mutant_server import serve

    kernels = stages == ["kernels"]
    work = {stage: chosen(stage, asked.count, asked.seed) for stage in stages}
    for stage, some in work.items() if asked.only else ():
        shown = [one.shown(one.path.read_text(encoding="utf-8")) for one in some]
        work[stage] = [
            one for one, text in zip(some, shown, strict=True) if any(t in text for t in asked.only)
        ]
    serve(work, KERNEL_TESTS if kernels else TESTS, ROOT, kernels, asked.seconds)


if __name__ == "__main__":
    main()
