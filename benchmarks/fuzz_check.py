"""Fuzz the whole check with a job: ``python benchmarks/fuzz_check.py [--count 100000] [--seconds 600] [--seed 1]``.

Takes the demo jobs, their programs cut short, the reader's corpus and ordinary programs, damages and joins them as
``fuzz_reader.py`` does, and has each one read, simulated, judged and reported. A failure is an exception, a rule that
could not judge, a report that does not hold as JSON, and more than 10 s of the processor; the peak of memory is
printed where the platform tells it.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
import time
import traceback
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "benchmarks")]

from fuzz_reader import LONGEST, mutate  # noqa: E402

from millcalc.check.prepare import CheckOptions  # noqa: E402
from millcalc.check.run import look_over  # noqa: E402
from millcalc.errors import MillcalcError  # noqa: E402
from millcalc.job import build_setup, load_job  # noqa: E402
from millcalc.job.setup import Setup  # noqa: E402
from millcalc.tables import demo_root  # noqa: E402
from tests.ordinary.programs import ordinary  # noqa: E402

SLOWEST_S = 10.0
CELL_MM = 1.0  # coarse: what is sought are breakdowns, not chips


def seeds() -> list[bytes]:
    """Programs to begin with, none longer than the reader's fuzz takes."""
    found = [path.read_bytes()[:LONGEST] for path in sorted(demo_root().glob("*/*.nc"))]
    found += [
        path.read_bytes()[:LONGEST] for path in sorted((ROOT / "tests" / "gcode" / "corpus").glob("*.nc"))
    ]
    return found + [program.data[:LONGEST] for program in ordinary()]


def checked(data: bytes, setup: Setup | None) -> str:
    """Check one program; raises on a failure, else says how it ended."""
    try:
        looked = look_over(data, "fuzz.nc", setup, CheckOptions(cell_mm=CELL_MM))
    except MillcalcError as error:
        return "one line" if str(error).strip() else "an error without a text"
    json.loads(looked.report.model_dump_json())
    broken = [item for item in looked.report.not_checked if "could not judge" in item.because]
    assert not broken, str(broken[0])
    return "checked"


def peak_mb() -> float | None:
    """Most memory this process has had [MB]; None where the platform does not tell."""
    try:
        import resource
    except ImportError:
        return None
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / (1e6 if sys.platform == "darwin" else 1e3)


def main() -> int:
    """Run; exit code 1 when anything failed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=100_000)
    parser.add_argument("--seconds", type=float, default=600.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--save", type=Path, default=None, help="folder for failing programs")
    chosen = parser.parse_args()
    setups: list[Setup | None] = [
        build_setup(load_job(path), path, None) for path in sorted(demo_root().glob("*/job.yaml"))
    ]
    rng, pool, told = random.Random(chosen.seed), seeds(), Counter[str]()
    for setup in (*setups, None):
        checked(
            pool[0], setup
        )  # compiles what a fresh checkout has not compiled yet, which is not a program's time
    failures: dict[str, bytes] = {}
    slowest, started, count = (0.0, b""), time.perf_counter(), 0
    while count < chosen.count and time.perf_counter() - started < chosen.seconds:
        data, before = mutate(rng, pool), time.process_time()
        count += 1
        try:
            told[checked(data, rng.choice([*setups, *setups, None]))] += 1
        except Exception as error:  # any exception at all is a find
            frame = traceback.extract_tb(error.__traceback__)[-1]
            kind = f"{type(error).__name__} {str(error)[:120]} at {Path(frame.filename).name}:{frame.lineno}"
            told["FAILED"] += 1
            if kind not in failures:
                failures[kind] = data
                print(f"FAILS {kind}\n      {data[:300]!r}", flush=True)
                if chosen.save:
                    chosen.save.mkdir(parents=True, exist_ok=True)
                    (chosen.save / f"check_{len(failures):03d}.nc").write_bytes(data)
        took = time.process_time() - before
        slowest = max(slowest, (took, data))
        if took > SLOWEST_S:
            failures[f"took {took:.0f} s"] = data
            print(f"FAILS took {took:.1f} s\n      {data!r}", flush=True)
    peak = peak_mb()
    print(
        f"seed {chosen.seed}: {count} programs in {time.perf_counter() - started:.0f} s: {dict(told)}; slowest "
        f"{slowest[0]:.1f} s; peak {'not told' if peak is None else f'{peak:.0f} MB'}; {len(failures)} kinds of failure"
    )
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
