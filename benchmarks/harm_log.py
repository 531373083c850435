"""Kill the writer of the log and damage its file, again and again; nothing acknowledged may be lost or half-believed.

Run ``python benchmarks/harm_log.py [--kills 1000] [--damage 1000] [--large 200] [--seed 1]``. A kill hits a process
that writes, makes the day's backup, brings an old log forward or restores a backup. A damaged file (bytes, pages, its
length, a write-ahead log of its own or of another log) is listed, learned from, verified, written to and recovered.
Counted is what must not be: a lost change, a traceback, a file that reading changed, a write into a file whose
structure verify finds damaged, a recovered log that is not whole or holds what was never written; and the slowest of
each.
"""

from __future__ import annotations

import argparse
import contextlib
import multiprocessing
import os
import random
import shutil
import sqlite3
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from millcalc.cutlog import schema
from millcalc.cutlog.margins import learned_margins
from millcalc.cutlog.models import Entry
from millcalc.cutlog.query import Query
from millcalc.cutlog.recover import recover_log
from millcalc.cutlog.restore import restore_log
from millcalc.cutlog.sound import refuse_damaged, structure_problems
from millcalc.cutlog.store import Log
from millcalc.cutlog.verify import verify_log
from millcalc.errors import LogError, MillcalcError

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests" / "cutlog"))

from cuts import START, cut, days  # noqa: E402  (the tests' own cuts)

HOW = multiprocessing.get_context("fork" if "fork" in multiprocessing.get_all_start_methods() else "spawn")
ROUNDS_A_LOG = 25  # after so many kills a new log is begun, so that looking through it stays quick
State = dict[int, tuple[str, str, bool]]  # uid, notes, removed by number


def write(path: Path, seed: int, said: Connection) -> None:
    """Change a log at random and say each change once it is committed."""
    rng = random.Random(seed)
    with Log(path, who=f"writer {seed}") as log:
        numbers = [one.number for one in log.find(Query(limit=-1))]
        while True:
            kind = rng.choice(("add", "add", "edit", "remove")) if numbers else "add"
            if kind == "add":
                notes = f"{seed} " + "z" * rng.randrange(3000)
                stored = log.add(cut(notes=notes))
                numbers.append(stored.number)
                said.send((stored.number, stored.entry.uid, notes.strip(), False))
            else:
                number = numbers[rng.randrange(len(numbers))]
                old = log.get(number).entry
                notes = f"edited {rng.random()}" if kind == "edit" else old.notes
                if kind == "edit":
                    log.edit(number, {"notes": notes})
                else:
                    log.remove(number)
                    numbers.remove(number)
                said.send((number, old.uid, notes, kind == "remove"))


def bring_forward(path: Path, seed: int, said: Connection) -> None:
    """Open a log of an older version, which brings it forward."""
    Log(path).close()
    said.send("done")


def restore(path: Path, seed: int, said: Connection) -> None:
    """Restore the one, then the other backup, without an end."""
    while True:
        for name in ("one", "two"):
            restore_log(path, path.with_name(name))
            said.send(name)


def older(path: Path, version: int) -> None:
    """A log of an older version with 60 cuts."""
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("BEGIN")
    schema.bring_forward(connection, version)
    columns = "cut_at, machine, cutter, material, outcome, notes" + (", uid" if version > 1 else "")
    for i in range(60):
        row = ["2025-03-01T09:00:00.000000+00:00", "m", "c", "acrylic", "good", f"note {i}", f"{i:032x}"]
        row = row[: 6 + (version > 1)]
        connection.execute(f"INSERT INTO cuts ({columns}) VALUES ({', '.join('?' * len(row))})", row)
    connection.execute("COMMIT")
    connection.close()


def killed(target: Callable[..., None], path: Path, seed: int, after_s: float) -> list[Any]:
    """Start a process, kill it, and give what it had said."""
    ours, theirs = HOW.Pipe(duplex=False)
    process = HOW.Process(target=target, args=(path, seed, theirs), daemon=True)
    process.start()
    theirs.close()
    time.sleep(after_s)
    process.kill()
    process.join()
    heard = []
    with contextlib.suppress(EOFError):
        while ours.poll(0):
            heard.append(ours.recv())
    ours.close()
    return heard


def state_of(path: Path) -> State:
    """What a log holds; nothing when the process that began it was killed first."""
    if not path.exists():
        return {}
    with contextlib.suppress(LogError), Log(path, readonly=True):
        pass  # takes back what a killed process had begun
    if path.stat().st_size == 0:
        return {}
    with Log(path, readonly=True) as log:
        both = [*log.find(Query(limit=-1)), *log.find(Query(limit=-1, removed=True))]
        if verify_log(log).problems:
            raise AssertionError(f"verify: {verify_log(log).problems}")
    return {one.number: (one.entry.uid, one.entry.notes, one.removed) for one in both}


def kill_writer(folder: Path, rng: random.Random, seed: int, known: State, told: Counter[str]) -> State:
    """One kill while changes are written; at times the day's backup must be made first."""
    path = folder / "cuts.db"
    if rng.random() < 0.2:
        for old in folder.glob("*.backup"):
            old.unlink()
    heard = killed(write, path, seed, rng.uniform(0.005, 0.12))
    for number, *rest in heard:
        known[number] = tuple(rest)
        told["changes acknowledged"] += 1
    now = state_of(path)
    unlike = [number for number, value in known.items() if now.get(number) != value]
    more = [number for number in now if number not in known]
    # the last change may have been committed and not yet said
    told["changes lost"] += max(len(unlike) + len(more) - 1, 0)
    for copy in folder.glob("*.backup"):
        state_of(copy)
    return now


def kill_other(folder: Path, rng: random.Random, seed: int, told: Counter[str]) -> None:
    """One kill while an old log is brought forward, or a backup is restored."""
    place = folder / f"other{seed}"
    place.mkdir()
    path = place / "cuts.db"
    if rng.random() < 0.5:
        told["killed while brought forward"] += 1
        older(path, rng.randrange(1, schema.VERSION))
        killed(bring_forward, path, seed, rng.uniform(0.0, 0.06))
        Log(path).close()
        told["changes lost"] += abs(len(state_of(path)) - 60)
    else:
        told["killed while restoring"] += 1
        for name, count in (("one", 3), ("two", 40)):
            with Log(place / name) as log:
                log.add_many([cut(notes=name) for _ in range(count)])
        shutil.copyfile(place / "one", path)
        killed(restore, path, seed, rng.uniform(0.0, 0.12))
        held = {notes for _, notes, _ in state_of(path).values()}
        told["half restored"] += held not in ({"one"}, {"two"})
    shutil.rmtree(place)


def kills(count: int, seed: int) -> Counter[str]:
    """Kill so often."""
    rng, told = random.Random(seed), Counter[str]()
    with tempfile.TemporaryDirectory() as name:
        known: State = {}
        folder = Path(name) / "0"
        for step in range(count):
            if step % ROUNDS_A_LOG == 0:
                folder, known = Path(name) / str(step), {}
                folder.mkdir()
            told["kills"] += 1
            if rng.random() < 0.25:
                kill_other(folder, rng, step, told)
            else:
                known = kill_writer(folder, rng, step, known, told)
    return told


def sound_logs(folder: Path) -> list[tuple[bytes, bytes, dict[int, Entry]]]:
    """Some logs: bytes of the file, of its write-ahead log, and what it holds."""
    made = []
    for count, size in ((1, 10), (12, 3000), (60, 300), (300, 40)):
        path = folder / "whole.db"
        with Log(path) as log:
            log.connection.execute("PRAGMA synchronous = OFF")
            entries = [
                cut(when=START + days(i), notes="n" * size, shares={"power": 0.7}) for i in range(count)
            ]
            log.add_many(entries)
            log.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
            for number in range(1, count, 4):
                log.edit(number, {"feed_mm_min": 600.0})
            known = {one.number: one.entry for one in log.find(Query(limit=-1))}
            wal = path.with_name("whole.db-wal")
            made.append((path.read_bytes(), wal.read_bytes() if wal.exists() else b"", known))
        made.append((path.read_bytes(), b"", known))
        path.unlink()
    return made


def damaged(rng: random.Random, data: bytes, wal: bytes, other_wal: bytes) -> tuple[bytes, bytes]:
    """A file and its write-ahead log, damaged in one way."""
    broken, pages = bytearray(data), len(data) // 4096
    kind = rng.randrange(8)
    page = rng.randrange(pages) * 4096
    if kind == 0:
        for _ in range(rng.choice((1, 2, 10, 100))):
            broken[rng.randrange(len(broken))] ^= 1 << rng.randrange(8)
    elif kind == 1:
        broken[page : page + 4096] = bytes(4096)
    elif kind == 2:
        broken[page : page + 4096] = rng.randbytes(4096)
    elif kind == 3:
        other = rng.randrange(pages) * 4096
        broken[page : page + 4096] = data[other : other + 4096]
    elif kind == 4:
        broken = broken[: rng.choice((1, 16, 100, 511, 4096, rng.randrange(len(data))))]
    elif kind == 5:
        broken[rng.randrange(100)] = rng.randrange(256)
    elif kind == 6:
        wal = other_wal
    elif wal:
        at = rng.randrange(len(wal))
        wal = wal[:at] + bytes([wal[at] ^ 1 << rng.randrange(8)]) + wal[at + 1 :]
    return bytes(broken), wal


class Damage:
    """Damaged files, one after the other, and what came of them."""

    def __init__(self, folder: Path, seed: int) -> None:
        self.folder, self.rng, self.told = folder, random.Random(seed), Counter[str]()
        self.path, self.new = folder / "cuts.db", folder / "new.db"
        self.logs = sound_logs(folder)
        self.slowest_s = 0.0

    def step(self) -> None:
        """One more file."""
        data, wal, known = self.rng.choice(self.logs)
        broken, wal = damaged(self.rng, data, wal, self.rng.choice([one[1] for one in self.logs]))
        for old in self.folder.iterdir():
            old.unlink()
        self.path.write_bytes(broken)
        self.path.with_name("cuts.db-wal").write_bytes(wal)
        started = time.perf_counter()
        found = self.tried("verify", self.verify)
        self.tried("learn", lambda: learned_margins("shed gantry", log=self.path))
        self.told["changed by reading"] += self.path.read_bytes() != broken
        self.tried("recover", lambda: self.recover(known))
        if self.tried("add", self.add) == "added":
            self.told["written into a damaged file"] += found in ("structure", "refused")
            self.told["written beside a bad row"] += found == "row"
            self.told["written into a whole file"] += found == "whole"
        self.slowest_s = max(self.slowest_s, time.perf_counter() - started)

    def tried(self, name: str, action: Callable[[], Any]) -> Any:
        """Its answer; ``refused`` for one clear line; a traceback is counted and shown."""
        try:
            return action()
        except MillcalcError:
            self.told[f"{name}: one line"] += 1
            return "refused"
        except Exception as error:  # any other is a find
            self.told["tracebacks"] += 1
            print(f"FAILS {name}: {type(error).__name__}: {error}", flush=True)
            return None

    def verify(self) -> str:
        with Log(self.path, readonly=True) as log:
            problems = verify_log(log).problems
            log.find(Query(limit=-1))
        if any(text.startswith(("file", "table")) for text in problems):
            return "structure"
        return "row" if problems else "whole"

    def recover(self, known: dict[int, Entry]) -> None:
        done = recover_log(self.path, self.new)
        with Log(self.new, readonly=True) as log:
            problems = verify_log(log, 1000).problems
            self.told["recovered log not whole"] += any(
                text.startswith(("file", "table")) for text in problems
            )
            mended = {int(text.split(":")[0].split()[1]) for text in done.mended}
            for one in log.find(Query(limit=-1)):
                # a write-ahead log that is not its own, or an edit that went with it, may bring an older state
                same = one.entry.uid in {entry.uid for entry in known.values()}
                self.told["entries saved"] += same
                other = same and known[one.number].model_copy(update={"feed_mm_min": one.entry.feed_mm_min})
                self.told["saved otherwise than written"] += bool(
                    same and one.number not in mended and one.entry != other
                )
        self.told["entries there were"] += len(known)

    def add(self) -> str:
        with Log(self.path) as log:
            log.add(cut(notes="one more"))
        return "added"


def large_damage(folder: Path, count: int, entries: int, seed: int) -> None:
    """Damage a log over 1 MB in its place, as another program (new time) or a decaying disk (old time) would.

    Counted is how many of the damages that verify finds in the structure pass the look before a write.
    """
    path, rng, told = folder / "large.db", random.Random(seed), Counter[str]()
    with Log(path) as log:
        log.connection.execute("PRAGMA synchronous = OFF")
        log.add_many([cut(when=START + days(i), notes="n" * rng.randrange(120)) for i in range(entries)])
    with Log(path) as log:
        log.add(cut(notes="as left"))
    data, times = path.read_bytes(), path.stat()
    slowest_s = 0.0
    for _ in range(count):
        broken, _ = damaged(rng, data, b"", b"")
        path.write_bytes(broken)
        kind = rng.choice(("another program", "a decaying disk"))
        if kind == "a decaying disk":
            os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))
        before = time.process_time()
        try:
            refuse_damaged(path)
            passed = True
        except LogError:
            passed = False
        slowest_s = max(slowest_s, time.process_time() - before)
        if broken == data:
            told[f"{kind}: no damage"] += 1
            continue
        try:
            with contextlib.closing(sqlite3.connect(path)) as connection:
                found = bool(structure_problems(connection, 1))
        except sqlite3.Error:
            found = True
        word = "in the structure" if found else "in values only"
        told[f"{kind}: {word}"] += 1
        told[f"{kind}: {word}, passed before a write"] += passed
    path.write_bytes(data)
    print(
        f"{entries} entries, {len(data) / 1e6:.0f} MB:",
        dict(sorted(told.items())),
        f"slowest look {slowest_s:.2f} s",
    )


def main() -> None:
    """All parts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--damage", type=int, default=1000)
    parser.add_argument("--large", type=int, default=200, help="damages of a log over 1 MB")
    parser.add_argument("--entries", type=int, default=10_000, help="of that log")
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    if chosen.large:
        with tempfile.TemporaryDirectory() as name:
            large_damage(Path(name), chosen.large, chosen.entries, chosen.seed)
    if chosen.kills:
        started = time.perf_counter()
        print(dict(kills(chosen.kills, chosen.seed)), f"in {time.perf_counter() - started:.0f} s")
    if chosen.damage:
        with tempfile.TemporaryDirectory() as name:
            started, run = time.perf_counter(), Damage(Path(name), chosen.seed)
            for _ in range(chosen.damage):
                run.step()
            print(f"{chosen.damage} damaged files:", dict(sorted(run.told.items())))
            print(f"slowest {run.slowest_s:.2f} s; in {time.perf_counter() - started:.0f} s")


if __name__ == "__main__":
    main()
