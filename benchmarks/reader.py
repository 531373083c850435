"""Time and memory of the program reader against pandas.read_csv on the same numbers, in one process.

    python benchmarks/reader.py [--lines 1000000] [--largest 10000000] [--runs 15]

Prints, with the kernels warm: read_csv on the numbers of a plain XYZ program, bytes to motion table on the program,
their ratio (best of the runs, and middle), lines a second, peak memory and bytes a motion; the same for a program of
arcs and for one of cycles and expressions in turn; blocks a second of expressions, loops and holes; and growth with
the number of lines.
Other work of the machine shows in the middle value and in the wall time; the processor time hardly feels it.
"""

from __future__ import annotations

import argparse
import io
import statistics
import time
import tracemalloc
from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd

from millcalc.gcode import ReadOptions, read_program


def points(lines: int) -> np.ndarray[Any, np.dtype[np.float64]]:
    """A wandering path with three decimals, (lines, 3) [mm]."""
    steps = np.random.default_rng(7).normal(0.0, 0.3, (lines, 3))
    return np.round(np.cumsum(steps, axis=0), 3)


def plain_program(xyz: np.ndarray[Any, np.dtype[np.float64]]) -> bytes:
    body = "\n".join(f"G1 X{x:.3f} Y{y:.3f} Z{z:.3f}" for x, y, z in xyz.tolist())
    return f"G21 G90 G17 F1000\nM3 S12000\nG0 X0 Y0 Z5\n{body}\nM30\n".encode()


def table_of(xyz: np.ndarray[Any, np.dtype[np.float64]]) -> bytes:
    return ("x,y,z\n" + "\n".join(f"{x:.3f},{y:.3f},{z:.3f}" for x, y, z in xyz.tolist()) + "\n").encode()


def arc_program(lines: int) -> bytes:
    """Half circles from side to side, centres by I and J, with a slow climb."""
    body = "\n".join(
        f"G{2 + k % 2} X{10 * ((k + 1) % 2)} Y0 I{5 - 10 * (k % 2)} J0 Z{k % 1000 / 1000:.3f}"
        for k in range(lines)
    )
    return f"G21 G90 G17 F1000\nG0 X0 Y0 Z5\n{body}\nM30\n".encode()


def odd_program(lines: int) -> bytes:
    """Drilling cycles and expressions in turn."""
    body = "\n".join(
        f"X{k % 300} Y{k % 7}" if k % 2 else f"#1=[{k % 50} + 2]\nX[#1 * 2.5] Y[sin[#1] * 10]"
        for k in range(lines)
    )
    return f"G21 G90 G17 F300\nM3 S9000\nG0 X0 Y0 Z5\nG81 X1 Y1 Z-2 R1\n{body}\nG80\nM30\n".encode()


def logic_programs(lines: int) -> dict[str, bytes]:
    """Programs of about so many blocks: expressions that run once, a loop of them, holes, pecked holes."""
    draw = np.random.default_rng(7)
    head = "G21 G90 G17 F300\nM3 S9000\nG0 X0 Y0 Z5\n"
    once = "\n".join(
        f"#1=[{k % 50} + {k}.25]\nG1 X[#1 * 2.5] Y[sin[#1] * {k % 9}.5]" for k in range(lines // 2)
    )
    loop = f"#1=0\no1 while [#1 lt {lines // 3}]\n#1=[#1+1]\nG1 X[#1*0.01] Y[sin[#1]*5]\no1 endwhile"
    places = "\n".join(f"X{x:.3f} Y{y:.3f}" for x, y in draw.uniform(0.0, 300.0, (lines, 2)).tolist())
    return {
        "expressions, once each": f"{head}{once}\nM30\n".encode(),
        "a loop of expressions": f"{head}{loop}\nM30\n".encode(),
        "holes": f"{head}G81 X1 Y1 Z-2 R1\n{places}\nG80\nM30\n".encode(),
        "holes with four pecks": f"{head}G83 X1 Y1 Z-4 R1 Q1\n{places}\nG80\nM30\n".encode(),
    }


def timed(work: Callable[[], Any], runs: int) -> tuple[float, float, float]:
    """Best wall time, middle wall time and best processor time of some runs after one that does not count [s]."""
    walls, cpus = [], []
    for run in range(runs + 1):
        wall, cpu = time.perf_counter(), time.process_time()
        result = work()
        if run:
            walls.append(time.perf_counter() - wall)
            cpus.append(time.process_time() - cpu)
        del result
    return min(walls), statistics.median(walls), min(cpus)


def peak_bytes(work: Callable[[], Any]) -> tuple[int, Any]:
    """Largest memory in use during one run beyond what was there before [byte]; and the result."""
    tracemalloc.start()
    result = work()
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return peak, result


def report(name: str, data: bytes, runs: int) -> tuple[float, float, float]:
    best, middle, cpu = timed(lambda: read_program(data), runs)
    peak, program = peak_bytes(lambda: read_program(data))
    motions = max(len(program.motions), 1)
    print(
        f"{name:24s} {len(data) / 1e6:6.1f} MB {program.lines:8d} lines {motions:8d} motions  best {best:7.3f} s  "
        f"middle {middle:7.3f} s  processor {cpu:7.3f} s  {program.lines / best / 1e6:6.2f} M lines/s\n{'':24s} "
        f"table {program.motions.nbytes / motions:.0f} byte/motion, peak {peak / 1e6:.1f} MB = {peak / motions:.0f} "
        f"byte/motion, findings {len(program.findings)}"
    )
    return best, middle, cpu


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--lines", type=int, default=1_000_000)
    parser.add_argument("--largest", type=int, default=10_000_000)
    parser.add_argument("--runs", type=int, default=15)
    arguments = parser.parse_args()
    begin = time.perf_counter()
    read_program(b"G21 G90 G0 X1 Y1 Z1\nG1 X2 F100\n", options=ReadOptions(force_fast=True))
    print(f"first use of the compiled reader in this process: {time.perf_counter() - begin:.2f} s")
    xyz = points(arguments.lines)
    table, program = table_of(xyz), plain_program(xyz)
    csv = timed(lambda: pd.read_csv(io.BytesIO(table)), arguments.runs)
    print(
        f"{'pandas.read_csv':24s} {len(table) / 1e6:6.1f} MB {arguments.lines:8d} lines {'':16s} best {csv[0]:7.3f} s  "
        f"middle {csv[1]:7.3f} s  processor {csv[2]:7.3f} s"
    )
    own = report("plain XYZ program", program, arguments.runs)
    ratios = [mine / theirs for mine, theirs in zip(own, csv, strict=True)]
    print(
        "ratio to read_csv: best {:.2f}, middle {:.2f}, processor {:.2f} (aim 1.0, at most 1.5)".format(
            *ratios
        )
    )
    report("arcs", arc_program(arguments.lines), max(arguments.runs // 2, 1))
    report("cycles and expressions", odd_program(min(arguments.lines, 100_000)), 1)
    print("blocks a second of processor time, programs with logic (aim 0.5 M):")
    blocks = min(arguments.lines, 100_000)
    for name, data in logic_programs(blocks).items():
        _, _, cpu = timed(lambda data=data: read_program(data), 2)
        print(f"  {name:24s} {cpu:7.3f} s  {blocks / cpu / 1e6:6.2f} M blocks/s")
    print("growth, plain XYZ program:")
    size = 10_000
    while size <= arguments.largest:
        data = plain_program(points(size))
        best, _, cpu = timed(lambda data=data: read_program(data, options=ReadOptions(force_fast=True)), 3)
        print(
            f"  {size:9d} lines  best {best:8.4f} s  processor {cpu:8.4f} s = {cpu / size * 1e9:6.1f} ns/line"
        )
        size *= 10


if __name__ == "__main__":
    main()
