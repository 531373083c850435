"""How the whole check of a program grows: bytes and job to the finished result, each row in a process of its own.

    python benchmarks/whole.py [--largest 1000000] [--only segment] [--stages]

A raster is worked down level by level over a plate of 200 x 160 x 6 mm; one thing at a time is varied: length of the
segments, depth of a level, cutter, cell of the simulated stock, number of tools, of tool changes, of pieces cut free,
of screws. Every row prints, for 10^3, 10^4 ... motions, the processor time a motion beyond that of a program of a
hundred motions, and the peak of memory. A column that grows along a row grows faster than the motions. Kernels are
warm: a program of 3,000 motions is checked first in the same process. ``--stages`` says where the time went;
``--lines`` reads and checks without a job as well.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import time
from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np

WIDTH, DEPTH, THICKNESS = 200.0, 160.0, 6.0
EDGE = 20.0
"""What stays of the plate all round, for the screws [mm]."""


@dataclass(frozen=True)
class Case:
    """One program and its job.

    motions: About how many [-].
    segment_mm, level_mm: Length of a straight move; depth of a level [mm].
    cutter: Name of the table's cutter.
    diameter_mm: Its diameter [mm].
    cell_mm: Cell of the simulated stock; 0 lets the program choose [mm].
    tools, changes: Cutters in the job, and how often they are changed [-].
    pieces, screws: Squares cut free at the end; screws round the edge [-].
    """

    motions: int
    segment_mm: float = 0.5
    level_mm: float = 0.5
    cutter: str = "flat-6mm-2f"
    diameter_mm: float = 6.0
    cell_mm: float = 0.0
    tools: int = 1
    changes: int = 1
    pieces: int = 0
    screws: int = 4


PLAIN = Case(0)
ROWS: dict[str, Case] = {
    "plain": PLAIN,
    "segment 0.05 mm": replace(PLAIN, segment_mm=0.05),
    "segment 5 mm": replace(PLAIN, segment_mm=5.0),
    "level 0.05 mm": replace(PLAIN, level_mm=0.05),
    "level 3 mm": replace(PLAIN, level_mm=3.0),
    "cutter 1 mm": replace(PLAIN, cutter="flat-1mm-2f", diameter_mm=1.0),
    "cutter 8 mm": replace(PLAIN, cutter="flat-8mm-2f", diameter_mm=8.0),
    "cell 0.1 mm": replace(PLAIN, cell_mm=0.1),
    "cell 1 mm": replace(PLAIN, cell_mm=1.0),
    "tools 10": replace(PLAIN, tools=10, changes=10),
    "changes 100": replace(PLAIN, tools=10, changes=100),
    "pieces 20": replace(PLAIN, pieces=20),
    "pieces 200": replace(PLAIN, pieces=200),
    "screws 40": replace(PLAIN, screws=40),
}


def program_of(case: Case) -> bytes:
    """A raster level by level, then the pieces, with the changes of tool spread over it."""
    inside = (WIDTH - 2 * EDGE, DEPTH - 2 * EDGE)
    along = max(int(inside[0] / case.segment_mm), 1)
    step = 0.4 * case.diameter_mm
    lanes, levels = max(int(inside[1] / step), 1), max(int((THICKNESS - 1.0) / case.level_mm), 1)
    number = np.arange(1, max(case.motions - 5 * case.pieces, 1) + 1)
    lane, place = number // along, number % along
    x = EDGE + np.where(lane % 2 == 0, place, along - place) * case.segment_mm
    y = EDGE + (lane % lanes) * step + 0.3 * np.sin(number * 0.05)
    z = -case.level_mm * (1 + (lane // lanes) % levels)
    every = max(len(number) // case.changes, 1)
    out = ["G21 G90 G17 G94"]
    for first in range(0, len(number), every):
        tool = 1 + (first // every) % case.tools
        out += [
            f"M5\nT{tool} M6\nS15000 M3\nG0 Z5\nG0 X{x[first]:.3f} Y{y[first]:.3f}",
            "G1 Z0 F300",
            "F1200",
        ]
        rows = zip(*(one[first : first + every].tolist() for one in (x, y, z)), strict=True)
        out += [f"G1 X{one:.3f} Y{two:.3f} Z{three:.3f}" for one, two, three in rows]
        out.append("G0 Z5")
    for k in range(case.pieces):
        x0, y0, side = EDGE + 8 + 8 * (k % 18), EDGE + 8 + 9 * (k // 18 % 12), 3.0
        out += [f"G0 X{x0} Y{y0}", f"G1 Z{-THICKNESS - 0.2} F100", f"G1 X{x0 + side} F600", f"Y{y0 + side}"]
        out += [f"X{x0}", f"Y{y0}", "G0 Z5"]
    return "\n".join([*out, "M30\n"]).encode()


def job_of(case: Case) -> str:
    """The job: the plate, screws along its four edges, the cutters."""
    edge = [(k + 0.5) / max((case.screws + 3) // 4, 1) for k in range((case.screws + 3) // 4)]
    places = [(10 + part * (WIDTH - 20), y) for y in (6, DEPTH - 6) for part in edge]
    places += [(x, 10 + part * (DEPTH - 20)) for x in (6, WIDTH - 6) for part in edge]
    screws = "".join(
        f"  - {{x: {x:.1f} mm, y: {y:.1f} mm, size: wood 4.0 round, depth_in_bed: 10 mm, placed: measured}}\n"
        for x, y in places[: case.screws]
    )
    cutters = "".join(
        f"  T{n}: {{cutter: {case.cutter}, stickout: 25 mm}}\n" for n in range(1, case.tools + 1)
    )
    return f"""
title: plate of the weather station
machine: gantry-800w
material: plywood-birch
grade_known: true
stock: {{size_x: {WIDTH:g} mm, size_y: {DEPTH:g} mm, thickness: {THICKNESS:g} mm, thickness_spread: 0.1 mm}}
zero: {{xy: front-left, z: stock top, work_offset: G54}}
bed: {{spoilboard: 12 mm, below: wood, allowance: 0.5 mm, flatness: 0.1 mm, drop: 80 mm, wood_density: 680 kg/m3}}
screws:
{screws}clamps: none
cutters:
{cutters}spindle: {{set_by: program}}
position: {{x: 120 mm, y: 90 mm, z: 60 mm}}
controller: {{arcs: true, tool_changer: false, canned_cycles: false, tool_length_offsets: false, dwell_unit: s}}
cooling: air
"""


def peak_bytes() -> int:
    """Largest memory of this process so far [byte]; 0 where the system does not tell."""
    try:
        import resource
    except ImportError:
        return 0
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most if sys.platform == "darwin" else most * 1024


def measured(case: Case, *, with_job: bool = True, page: bool = False) -> dict[str, Any]:
    """Check one program in this process after a small one; times, memory and what was found."""
    from millcalc.check.prepare import CheckOptions
    from millcalc.check.run import look_over
    from millcalc.job import build_setup
    from millcalc.job.read import parse_job

    setup = build_setup(parse_job(job_of(case), "plate")) if with_job else None
    stages: dict[str, float] = {}
    last = ["", 0.0]

    def tell(stage: str, share: float) -> None:
        now = time.process_time()
        if last[0]:
            stages[str(last[0])] = stages.get(str(last[0]), 0.0) + now - float(last[1])
        last[:] = [stage, now]

    options = CheckOptions(cell_mm=case.cell_mm or None, progress=tell)

    def run(data: bytes) -> tuple[float, float, Any]:
        stages.clear()
        last[:] = ["begin", time.process_time()]
        wall, cpu = time.perf_counter(), time.process_time()
        looked = look_over(data, "plate.nc", setup, options)
        if page:
            from millcalc.report.page_html import report_page

            report_page(looked)
        spent = time.perf_counter() - wall, time.process_time() - cpu, looked
        tell("end", 1.0)
        return spent

    run(program_of(replace(case, motions=3000)))  # loads every kernel
    small = run(program_of(replace(case, motions=100)))
    data = program_of(case)
    before = peak_bytes()
    wall, cpu, looked = run(data)
    return {
        "motions": len(looked.ctx.program.motions), "wall_s": wall, "cpu_s": cpu, "small_s": small[1],
        "before": before, "peak": peak_bytes(), "stages": dict(stages), "findings": len(looked.report.findings),
    }  # fmt: skip


def in_own_process(case: Case, *flags: str) -> dict[str, Any]:
    """The same in a new process, so that its memory is its own."""
    command = [sys.executable, __file__, "--one", json.dumps(asdict(case)), *flags]
    done = subprocess.run(command, check=True, capture_output=True, text=True, encoding="utf-8")
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def show(name: str, case: Case, sizes: list[int], stages: bool, *flags: str) -> None:
    """One row of the table."""
    cells = []
    for size in sizes:
        found = in_own_process(replace(case, motions=size), *flags)
        each = (found["cpu_s"] - found["small_s"]) / found["motions"] * 1e6
        cells.append(f"{each:8.2f} us {found['peak'] / 1e6:6.0f} MB")
    print(f"{name:18s} {' |'.join(cells)}", flush=True)
    if stages:
        print(f"    {size} motions: {found['cpu_s']:.2f} s processor, {found['findings']} findings")
        for stage, seconds in sorted(found["stages"].items(), key=lambda pair: -pair[1])[:14]:
            print(f"    {seconds:8.3f} s  {stage}")


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--largest", type=int, default=1_000_000)
    parser.add_argument("--smallest", type=int, default=1_000)
    parser.add_argument("--only", default="", help="rows whose name holds this")
    parser.add_argument("--stages", action="store_true", help="where the time of the last column went")
    parser.add_argument("--lines", action="store_true", help="without a job")
    parser.add_argument("--page", action="store_true", help="with the page")
    parser.add_argument("--one", help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.one:
        print(json.dumps(measured(Case(**json.loads(given.one)), with_job=not given.lines, page=given.page)))
        return
    flags = [flag for flag, wanted in (("--lines", given.lines), ("--page", given.page)) if wanted]
    sizes = []
    size = given.smallest
    while size <= given.largest:
        sizes.append(size)
        size *= 10
    print(f"{'':18s} {' |'.join(f'{size:>11d} motions' for size in sizes)}")
    for name, case in ROWS.items():
        if given.only in name:
            show(name, case, sizes, given.stages, *flags)


if __name__ == "__main__":
    main()
