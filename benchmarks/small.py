"""What people wait for all day, as whole processes against one that only imports numpy.

Run ``python benchmarks/small.py [--best 7] [--rows help settings ...]``. P is the wall time of ``python -c "import
numpy"`` in the same environment; each command takes turns with it, so that the load of the machine cancels, and the
best of each counts. Beside it stands the same ratio of processor times, which a busy machine moves less.
``motions-...`` are programs of 8,000 short motions with a job, one geometry each. ``first`` is the first check after
installation: the cache of compiled kernels is empty. Aims of the project in the last column.
"""

from __future__ import annotations

import argparse
import math
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

from millcalc.tables import demo_root

MOTIONS = 8_000
FIRST_S = 10.0
HEAD = ["G21 G90 G17 G94 G54", "T1 M6", "S13200 M3", "G4 P6", "G0 Z12"]
SLOT = ["settings", "--machine", "gantry-800w", "--material", "al-6082-t6", "--cutter", "flat-6mm-1f"]
Point = tuple[float, float, float]
Times = tuple[float, float]


class Row(NamedTuple):
    """A command and the most it may take, in P."""

    command: list[str]
    aim: float


def surface() -> Iterator[Point]:
    """A wavy surface in rows, to and fro."""
    rows = columns = math.isqrt(MOTIONS)
    for row in range(rows):
        for step in range(columns):
            column = step if row % 2 == 0 else columns - 1 - step
            x, y = 20 + 120 * column / columns, 20 + 70 * row / rows
            yield x, y, -1.5 - 1.2 * math.sin(x / 9) * math.cos(y / 7)


def loops() -> Iterator[Point]:
    """A slot of small circles that creep along."""
    for step in range(MOTIONS):
        turn = step / 40
        yield 20 + 0.6 * turn + 4 * math.cos(math.tau * turn), 55 + 4 * math.sin(math.tau * turn), -1.0


def spiral() -> Iterator[Point]:
    """A round pocket from its middle outwards, again at each of five depths."""
    each = MOTIONS // 5
    for step in range(MOTIONS):
        turn = (step % each) / 100
        x, y = 80 + 2 * turn * math.cos(math.tau * turn), 55 + 2 * turn * math.sin(math.tau * turn)
        yield x, y, -0.6 * (1 + step // each)


def outline() -> Iterator[Point]:
    """A wavy outline, passed a little lower each time until it is through the plate."""
    each = MOTIONS // 8
    for step in range(MOTIONS):
        turn = math.tau * (step % each) / each
        reach = 34 + 3 * math.sin(12 * turn)
        yield 80 + reach * math.cos(turn), 55 + reach * math.sin(turn), -0.8 * (1 + step // each)


def hops() -> Iterator[Point]:
    """A grid of short cuts, each entered from above and left again."""
    for step in range(MOTIONS // 4):
        x, y = 18 + 2.5 * (step % 50), 18 + 1.8 * (step // 50)
        yield from ((x, y, 1.0), (x, y, -0.3), (x + 1.2, y, -0.3), (x + 1.2, y, 1.0))


GEOMETRIES: dict[str, Callable[[], Iterator[Point]]] = {
    "surface": surface,
    "loops": loops,
    "spiral": spiral,
    "outline": outline,
    "hops": hops,
}


def program_of(points: Iterator[Point]) -> str:
    """A program that goes from point to point at one feed.

    points: Places of the tip [mm].
    Returns: The program.
    """
    x, y, z = next(points)
    lines = [*HEAD, f"G0 X{x:.3f} Y{y:.3f}", f"G1 Z{z:.3f} F75", "F390"]
    lines += [f"X{x:.3f} Y{y:.3f} Z{z:.3f}" for x, y, z in points]
    return "\n".join([*lines, "G0 Z12", "M5", "M2"]) + "\n"


def rows_in(folder: Path) -> dict[str, Row]:
    """The commands that are measured.

    folder: Where their programs are written.
    """
    job = str(demo_root() / "sensor_plate" / "job.yaml")
    rows = {
        "help": Row(["--help"], 1.0),
        "settings": Row(SLOT, 4.0),
        "check": Row(["check", "--job", job], 10.0),
    }
    for name, points in GEOMETRIES.items():
        program = folder / f"{name}.nc"
        program.write_text(program_of(points()), encoding="ascii")
        rows[f"motions-{name}"] = Row(["check", str(program), "--job", job], 14.0)
    return rows


def process_s(words: list[str], folder: Path, cache: Path | None = None) -> Times:
    """Times of a whole process, started in an empty folder with a home of its own.

    words: What follows the name of this Python.
    folder: Where the process works; its home and its caches lie in it.
    cache: Where compiled kernels are kept; None leaves them where they are.
    Returns: Wall time, and processor time, which is 0 where the system does not tell a child's [s].
    """
    surroundings = dict(os.environ, HOME=str(folder), XDG_CACHE_HOME=str(folder / "cache"))
    surroundings["PYTHONPATH"] = str(Path(__file__).resolve().parents[1])
    if cache is not None:
        surroundings["NUMBA_CACHE_DIR"] = str(cache)
    before, begin = os.times(), time.perf_counter()
    done = subprocess.run([sys.executable, *words], cwd=folder, env=surroundings, capture_output=True)
    took, after = time.perf_counter() - begin, os.times()
    if done.returncode not in (0, 1):
        sys.exit(done.stderr.decode("utf-8", "replace"))
    spent = after.children_user + after.children_system - before.children_user - before.children_system
    return took, spent


def measured(command: list[str], folder: Path, best: int) -> tuple[Times, Times]:
    """Best times of a command and of the yardstick, taken in turns.

    command: Words after ``millcalc``.
    folder: Where the processes work.
    best: How often each is run; the first run of the command only warms the caches and does not count.
    Returns: Command and yardstick, wall and processor time each [s].
    """
    process_s(["-m", "millcalc", *command], folder)
    times = [
        (process_s(["-c", "import numpy"], folder), process_s(["-m", "millcalc", *command], folder))
        for _ in range(best)
    ]
    yardstick, took = (
        (min(wall for wall, _ in each), min(spent for _, spent in each)) for each in zip(*times, strict=True)
    )
    return took, yardstick


def main() -> None:
    """Measure and print."""
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    ask.add_argument("--best", type=int, default=7, help="runs of each, of which the best counts")
    ask.add_argument("--rows", nargs="+", help="names or beginnings of names; left out, all")
    given = ask.parse_args()
    wanted = tuple(given.rows or [""])
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        rows = {key: row for key, row in rows_in(folder).items() if key.startswith(wanted)}
        print(f"{'row':16} {'best s':>8} {'P s':>8} {'in P':>6} {'processor':>9}  aim")
        for key, row in rows.items():
            took, yardstick = measured(row.command, folder, given.best)
            share, spent = took[0] / yardstick[0], took[1] / (yardstick[1] or math.nan)
            verdict = "met" if share <= row.aim else "missed"
            print(
                f"{key:16} {took[0]:8.3f} {yardstick[0]:8.3f} {share:6.1f} {spent:9.1f}  <= {row.aim:g} P {verdict}",
                flush=True,
            )
        if "first".startswith(wanted):
            job = demo_root() / "sensor_plate" / "job.yaml"
            wall, spent = process_s(
                ["-m", "millcalc", "check", "--job", str(job)], folder, folder / "kernels"
            )
            verdict = "met" if wall <= FIRST_S else "missed"
            print(f"{'first':16} {wall:8.3f} {'':8} {'':6} {spent:7.1f} s  <= {FIRST_S:g} s {verdict}")


if __name__ == "__main__":
    main()
