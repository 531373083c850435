"""Hostile values at random places of log, job, tables, reports and command line: an answer or one clear line.

Run ``python benchmarks/hostile_values.py [--count 10000] [--seconds 600] [--seed 1]``. Each try puts one or two values
of ``tests/helpers/hostile.py`` somewhere and goes as far as a person would: a row is listed, learned from and
compared; a job that is read is checked with a short program; a table that is read is advised with. A failure is
anything but an answer or an error with its text, an answer with a number that is none, and 10 s of the processor.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import random
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import yaml

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "cutlog")]

from cuts import cut  # noqa: E402  (the tests' own cuts)

from millcalc.advise.advice import advise  # noqa: E402
from millcalc.advise.bare_shares import bare_shares  # noqa: E402
from millcalc.check.prepare import CheckOptions  # noqa: E402
from millcalc.check.run import look_over  # noqa: E402
from millcalc.cutlog import fill  # noqa: E402
from millcalc.cutlog.margins import learned_margins  # noqa: E402
from millcalc.cutlog.query import Query  # noqa: E402
from millcalc.cutlog.rows import COLUMNS, INSERT, entry_from, insert_row, with_uid  # noqa: E402
from millcalc.cutlog.seal import seal_of  # noqa: E402
from millcalc.cutlog.similar import PlannedCut, similar_cuts  # noqa: E402
from millcalc.cutlog.store import Log  # noqa: E402
from millcalc.cutlog.verify import verify_log  # noqa: E402
from millcalc.errors import MillcalcError  # noqa: E402
from millcalc.job import build_setup, parse_job  # noqa: E402
from millcalc.limits.build import make_tooling  # noqa: E402
from millcalc.limits.request import CutRequest  # noqa: E402
from millcalc.report.advice_json import advice_data  # noqa: E402
from millcalc.tables import check_table_file, data_root, demo_root, load_cutter, load_machine, load_material  # noqa: E402
from tests.cli.test_hostile_values import BASE, OPTIONS, TYPED  # noqa: E402
from tests.helpers.command import run  # noqa: E402
from tests.helpers.hostile import VALUES, places, put  # noqa: E402

SLOWEST_S = 10.0
PROGRAM = b"""G21 G90 G17 G94 G54
T1 M6
S13200 M3
G0 X40 Y40 Z5
G1 Z-0.3 F190
G1 X60
G2 X70 Y50 I0 J10
G0 Z12
M5
M30
"""
COMMANDS: dict[str, tuple[list[str], list[str]]] = {
    "settings": (
        ["--machine", "gantry-800w", "--material", "al-6082-t6", "--cutter", "flat-6mm-1f"],
        ["--rpm", "--feed", "--ap", "--ae", "--stickout", "--drop", "--cut", "--bore", "--segment",
         "--thickness", "--job"],
    ),
    "check": (["p.nc", "--job", "job.yaml"], ["--cell", "--profile", "--accept", "--units", "--workers", "--floor"]),
    "correct": (["p.nc", "-o", "new.nc", "--force", "--job", "job.yaml"], ["--cell", "--limit", "--profile"]),
    "lift": (["p.nc", "-o", "air.nc", "--force", "--by", "15"], ["--by", "--profile"]),
    "restart": (["p.nc", "--job", "job.yaml"], ["--line"]),
    "screws": (["p.nc", "--job", "job.yaml"], ["--cell"]),
}  # fmt: skip


class Sweep:
    """Tries, one after the other, and what came of them."""

    def __init__(self, seed: int, only: list[str]) -> None:
        self.only = only
        self.rng, self.told, self.slowest = random.Random(seed), Counter[str](), (0.0, "")
        self.failures: dict[str, str] = {}
        self.last: list[tuple[Any, Any]] = []
        self.jobs = [
            yaml.safe_load((demo_root() / name / "job.yaml").read_text(encoding="utf-8"))
            for name in ("sensor_plate", "window", "box")
        ]
        self.tooling = make_tooling(
            load_machine("gantry-800w"), load_material("al-6082-t6"), load_cutter("flat-6mm-1f")
        )
        judged = CutRequest("slot", axial_depth_mm=0.4, feed_mm_min=300.0, speed_rpm=12000.0)
        answer = advise(self.tooling, judged)
        self.advice = json.loads(json.dumps(advice_data(answer, bare_shares(answer))))
        Path("p.nc").write_bytes(PROGRAM)
        Path("job.yaml").write_text(yaml.safe_dump(self.jobs[0]), encoding="utf-8")
        self.log = Log("rows.db")
        self.log.add_many([cut(shares={"deflection": 0.8}) for _ in range(3)])

    def damaged(self, data: Any) -> Any:
        """The data with one or two hostile values."""
        self.last = []
        for _ in range(self.rng.choice((1, 1, 2))):
            self.last.append((self.rng.choice(list(places(data))), self.rng.choice(VALUES)))
            data = put(data, *self.last[-1])
        return data

    def row(self) -> str:
        entry = with_uid(cut(shares={"deflection": 0.9, "chip_low": 0.6}))
        row = insert_row(1000, entry)
        for _ in range(self.rng.choice((1, 1, 2))):
            value = self.rng.choice(VALUES)
            plain = (
                value is None or isinstance(value, (str, float)) or (isinstance(value, int) and value < 2**63)
            )
            row[1 + self.rng.randrange(len(COLUMNS))] = value if plain else json.dumps(value)
        row[-1] = seal_of(dict(zip(("number", *COLUMNS), row[:-2], strict=True)))
        connection = self.log.connection
        connection.execute("PRAGMA ignore_check_constraints = ON")
        connection.execute("BEGIN")
        try:
            with contextlib.suppress(Exception):  # what the database does not take needs no reading
                connection.execute(INSERT, row)
            self.log.left_out.clear()
            self.log.find(Query(limit=-1))
            learned = learned_margins("shed gantry", log=self.log)
            similar_cuts(self.log, PlannedCut.of(cut()), 10)
            verify_log(self.log)
            for margin in learned.by_kind.values():
                assert margin.advised == margin.advised, "a margin that is no number"
            return "left out" if self.log.left_out else "read"
        finally:
            connection.execute("ROLLBACK")

    def job(self) -> str:
        data = self.damaged(self.rng.choice(self.jobs))
        setup = build_setup(parse_job(yaml.safe_dump(data, allow_unicode=True)), Path("job.yaml"), None)
        if self.rng.random() < 0.3:
            look_over(PROGRAM, "p.nc", setup, CheckOptions(cell_mm=1.0))
            return "checked"
        return "read"

    def table(self) -> str:
        kind, name = self.rng.choice(
            (("materials", "al-6082-t6"), ("cutters", "flat-6mm-1f"), ("machines", "gantry-800w"))
        )
        data = yaml.safe_load((data_root() / kind / f"{name}.yaml").read_text(encoding="utf-8"))
        path = Path("materials") / kind / f"{name}.yaml"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(yaml.safe_dump(self.damaged(data), allow_unicode=True), encoding="utf-8")
        try:
            checked = check_table_file(path, start=Path.cwd())
            if not checked.ok:
                assert all(str(error).strip() for error in checked.errors), "an error without a text"
                return "refused"
            tooling = make_tooling(
                load_machine("gantry-800w"), load_material("al-6082-t6"), load_cutter("flat-6mm-1f")
            )
            answer = advise(tooling, CutRequest("slot", axial_depth_mm=0.3))
            told = json.dumps(advice_data(answer, bare_shares(answer)))
            assert "NaN" not in told and "Infinity" not in told, "an advice with a number that is none"
            return "advised"
        finally:
            path.unlink()

    def report(self) -> str:
        fields = fill.from_settings(self.damaged(self.advice))
        entry_from({"when": cut().when, "outcome": "good", **fields, **fill.from_tables(fields)})
        return "read"

    def command(self) -> str:
        if self.rng.random() < 0.6:
            name = self.rng.choice(list(BASE))
            words, options, base = ["log", name], OPTIONS[name], BASE[name]
        else:
            name = self.rng.choice(list(COMMANDS))
            base, options = COMMANDS[name]
            words = [name]
        option = self.rng.choice(options)
        typed = [*words, *base, *([option] if option else []), self.rng.choice(TYPED)]
        ended = run(typed, Path.cwd())
        assert ended.returncode in (0, 1, 2), f"{typed}: {ended.stderr[:300]}"
        assert "\x1b" not in ended.stdout + ended.stderr, f"{typed}: a raw escape"
        assert ended.returncode != 2 or ended.stderr.strip(), f"{typed}: exit 2 without a word"
        return f"exit {ended.returncode}"

    def step(self) -> None:
        """One more try."""
        kinds: dict[str, tuple[Callable[[], str], int]] = {
            "row": (self.row, 30), "job": (self.job, 30), "table": (self.table, 12), "report": (self.report, 16),
            "command": (self.command, 12),
        }  # fmt: skip
        kinds = {name: kinds[name] for name in self.only} if self.only else kinds
        (name,) = self.rng.choices(list(kinds), [weight for _, weight in kinds.values()])
        self.last, started = [], time.process_time()
        try:
            came = kinds[name][0]()
        except MillcalcError as error:
            came = "one line" if str(error).strip() else "an error without a text"
        except Exception as error:  # any other is a find
            frame = traceback.extract_tb(error.__traceback__)[-1]
            self.fail(
                name, f"{type(error).__name__} at {Path(frame.filename).name}:{frame.lineno}", str(error)
            )
            came = "FAILED"
        took = time.process_time() - started
        if took > self.slowest[0]:
            self.slowest = (took, f"{name}: {came}")
        if took > SLOWEST_S:
            self.fail(name, f"took {took:.0f} s", came)
        self.told[f"{name}: {came}"] += 1

    def fail(self, name: str, kind: str, text: str) -> None:
        """Show a failure, once a kind."""
        if f"{name} {kind}" not in self.failures:
            self.failures[f"{name} {kind}"] = text
            print(f"FAILS {name}: {kind}: {text[:300]} {self.last}", flush=True)


def main() -> int:
    """Run; exit code 1 when anything failed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=10_000)
    parser.add_argument("--seconds", type=float, default=600.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", nargs="*", default=[], help="of row, job, table, report, command")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        here = Path.cwd()
        os.chdir(folder)
        try:
            os.environ["XDG_CONFIG_HOME"] = os.environ["APPDATA"] = folder
            os.environ["MILLCALC_LOG"] = str(Path(folder) / "cuts.db")
            started, sweep = time.perf_counter(), Sweep(chosen.seed, chosen.only)
            while sum(sweep.told.values()) < chosen.count and time.perf_counter() - started < chosen.seconds:
                sweep.step()
            sweep.log.close()
        finally:
            os.chdir(here)
    print(
        f"{sum(sweep.told.values())} tries in {time.perf_counter() - started:.0f} s, slowest {sweep.slowest}"
    )
    for name, number in sorted(sweep.told.items()):
        print(f"  {name:24s} {number}")
    return 1 if sweep.failures else 0


if __name__ == "__main__":
    sys.exit(main())
