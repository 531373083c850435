"""The log at a million entries: prints times, and ratios against plain baselines.

Run ``python benchmarks/cutlog.py [--rows 1000000]``. Baselines run in the same process: listing against reading as
many rows by number; finding like cuts against a pass over every row. How well is learned: ``benchmarks/shops.py``.
"""

from __future__ import annotations

import argparse
import random
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from millcalc.cutlog.backup import copy_log
from millcalc.cutlog.margins import learned_margins
from millcalc.cutlog.models import Entry
from millcalc.cutlog.query import Query
from millcalc.cutlog.rows import INSERT, insert_row, with_uid
from millcalc.cutlog.similar import PlannedCut, distance, similar_cuts
from millcalc.cutlog.sound import refuse_damaged
from millcalc.cutlog.store import Log
from millcalc.cutlog.verify import verify_log

START = datetime(2010, 1, 1, tzinfo=UTC)


def entries(number: int, alike: bool) -> Iterator[Entry]:
    """Made-up cuts: of many kinds, or nearly all the same."""
    rng = random.Random(1)
    materials = [(f"material {i}", 20.0 * 1.25**i) for i in range(20)]
    outcomes = ("good", "good", "good", "acceptable", "failed")
    for i in range(number):
        material, kc11 = materials[12] if alike else rng.choice(materials)
        diameter = 6.0 if alike else rng.choice((1.0, 2.0, 3.0, 3.175, 4.0, 6.0, 6.35, 8.0))
        yield Entry.model_construct(
            when=START + timedelta(minutes=7 * i),
            uid=f"{i:032x}",
            machine="shed gantry" if alike or i % 3 else "bench mill",
            cutter=f"flat {diameter:g}",
            diameter_mm=diameter,
            flutes=rng.choice((1, 2, 3)),
            stickout_mm=diameter * rng.uniform(2, 5),
            material=material,
            kc11_n_mm2=kc11,
            operation="slot",
            cooling=rng.choice(("none", "air", None)),
            speed_rpm=18_000.0,
            feed_mm_min=rng.uniform(500, 900) if alike else rng.uniform(200, 3000),
            axial_depth_mm=diameter * (rng.uniform(0.08, 0.12) if alike else rng.uniform(0.02, 1.0)),
            radial_width_mm=diameter * rng.uniform(0.1, 1.0),
            shares={"deflection": rng.uniform(0.2, 1.2), "power": 0.3},
            outcome=rng.choice(outcomes),
            notes=f"plate {i}" if i % 5 == 0 else "",
        )


def fill(log: Log, number: int, alike: bool) -> None:
    """Put the rows in without history, in one transaction."""
    rows = (insert_row(i, with_uid(entry)) for i, entry in enumerate(entries(number, alike), 1))
    with log.writing() as connection:
        connection.executemany(INSERT, rows)


def timed(action: Callable[[], object], repeats: int = 5) -> float:
    """Median time of an action [s]."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def measure_log(rows: int, alike: bool) -> None:
    """Times of the commands on a large log."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "cuts.db"
        with Log(path) as log:
            start = time.perf_counter()
            fill(log, rows, alike)
            print(
                f"filled with {rows} {'like' if alike else 'various'} cuts in {time.perf_counter() - start:.1f} s"
            )
        with Log(path, readonly=True) as log:
            some = log.get(rows // 2).entry
            planned = PlannedCut.of(some)
            by_number = timed(lambda: [log.get(n) for n in range(1, 21)])
            actions: dict[str, Callable[[], object]] = {
                "list newest 20": lambda: log.find(),
                "list by machine and material": lambda: log.find(Query(machine=some.machine, material=some.material)),
                "list by cutter and outcome": lambda: log.find(Query(cutter=some.cutter, outcome="failed")),
                "search notes, found": lambda: log.find(Query(text=f"plate {rows // 2 // 5 * 5}")),
                "search notes, absent": lambda: log.find(Query(text="no such words")),
                "count all": lambda: log.count(),
                "count of a machine": lambda: log.count(Query(machine=some.machine)),
                "similar": lambda: similar_cuts(log, planned),
                "similar, this machine": lambda: similar_cuts(log, planned, only_machine=True),
                "similar, none near": lambda: similar_cuts(log, PlannedCut.of(some.model_copy(
                    update={"diameter_mm": 20.0, "axial_depth_mm": 40.0}))),
                "learn": lambda: learned_margins(some.machine, log=log),
            }  # fmt: skip
            for name, action in actions.items():
                seconds = timed(action)
                print(f"  {name:32s} {seconds * 1000:8.1f} ms   {seconds / by_number:7.1f} x reading 20 rows")
            every = timed(
                lambda: min(
                    distance(planned, PlannedCut.of(s.entry)) for s in log.iterate(Query(limit=20_000))
                ),
                1,
            ) * (rows / 20_000)
            print(f"  {'similar by looking at every cut':32s} {every * 1000:8.0f} ms (20 000 timed, scaled)")
            verify = timed(lambda: verify_log(log), 1)
            quick = timed(lambda: refuse_damaged(path))
            print(
                f"  {'quick check before a write':32s} {quick * 1000:8.1f} ms   {quick / by_number:7.1f} x 20 rows"
            )
            day = timed(lambda: copy_log(log.connection, path, path.with_name("day"), force=True), 1)
            print(f"  {'backup of the day, verified':32s} {day:8.1f} s")
            print(f"  {'verify':32s} {verify:8.1f} s;  file {path.stat().st_size / 1e6:.0f} MB")


def main() -> None:
    """Measure a log of many kinds of cuts, and one of nearly the same."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=1_000_000)
    chosen = parser.parse_args()
    for alike in (False, True):
        measure_log(chosen.rows, alike)


if __name__ == "__main__":
    main()
