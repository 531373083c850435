"""Fuzz the G-code reader, led by coverage: ``python benchmarks/fuzz_reader.py --seconds 600 --seed 1``.

Starts from the programs in ``tests/gcode/corpus``, damages and joins them, and keeps every input that makes the
reader run a pair of lines it has not run before, or gives a set of finding codes not seen before. An input fails
when the reader raises anything, takes longer than ``SLOWEST_S``, breaks what must hold for any text, or when the
compiled path and the plain path disagree. A failing input is made smaller, printed and, with ``--save``, written.

Runs on CPython 3.11 or newer with nothing but the project itself; tracing costs about a factor of ten. ``--plain`` does
without it: for a great number of inputs, kept by their finding codes alone. ``--count`` ends after so many.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
import traceback
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any

import numpy as np

import millcalc.gcode
from millcalc.gcode.options import ReadOptions
from millcalc.gcode.program import Program
from millcalc.gcode.reader import read_program

ROOT = Path(__file__).resolve().parents[1]
WATCHED = str(Path(millcalc.gcode.__file__).parent)
SLOWEST_S = 10.0  # of the processor, with tracing; the same input takes about a tenth without
MOST_MOTIONS = 5000  # bounds what a fuzzed loop may make
MOST_JUMPS, MOST_BLOCKS = 300, 5000  # the same for jumps back and blocks
LONGEST = 3000  # bytes of an input; longer ones are cut
TOKENS = """
G0 G1 G2 G3 G4 G9 G10 G15 G16 G17 G18 G19 G20 G21 G28 G28.1 G30 G38.2 G38.4 G40 G41 G42 G43 G43.1 G49 G50 G51 G52 G53
G54 G55 G59.1 G61 G64 G68 G69 G73 G80 G81 G82 G83 G84 G85 G86 G87 G88 G89 G90 G90.1 G91 G91.1 G92 G92.1 G92.2 G92.3
G93 G94 G95 G96 G97 G98 G99 M0 M1 M2 M3 M4 M5 M6 M7 M8 M9 M19 M30 M48 M49 M52 M60 M98 M99 A1 B2 C3 D1 E1 F100 H1 I1 J-1
K1 L2 L20 L0 N10 O1 P1 P0 Q1 R1 R-9 S500 T1 U1 V1 W1 X0 X1.5 Y-2 Z3 % / : ( ) (MSG,a) ; [ ] # = #1 #1=2 #[1+1] ##2
#<a> #<a>=1 #5221 #5400 o1 o<x> sub endsub call while endwhile do if elseif else endif repeat endrepeat break continue
return eq ne lt le gt ge and or xor mod ** * + - / sin[30] cos[1] tan[90] atan[1]/[2] acos[2] sqrt[-1] exp[999] ln[0]
fix[1.5] fup[1.5] round[0.5] abs[-1] exists[#<a>] 1e3 1,5 .5 5. - + . nan inf 999999999999 0.0000001 -0
\\n \\r \\r\\n \\t \\x00 \\xff \\xc3\\xa9 \\xe2\\x88\\x92
\\xef\\xbb\\xbf <<<<<<< ======= >>>>>>> <html> > $H ? ! ~ & @ ' " ` | \\x1a
""".split()  # noqa: SIM905
BYTES = [token.encode("latin-1").decode("unicode_escape").encode("latin-1") for token in TOKENS]


class Coverage:
    """Pairs of lines run one after the other in the watched folder."""

    def __init__(self) -> None:
        self.pairs: set[tuple[int, int, int]] = set()

    def run(self, call: Callable[[], Program]) -> Program:
        """Run a call under the tracer."""
        pairs, watched = self.pairs, WATCHED

        def on_call(frame: FrameType, event: str, _: Any) -> Any:
            code = frame.f_code
            if not code.co_filename.startswith(watched):
                return None
            key, last = hash((code.co_filename, code.co_firstlineno)), 0

            def on_line(frame: FrameType, event: str, _: Any) -> Any:
                nonlocal last
                if event == "line":
                    pairs.add((key, last, frame.f_lineno))
                    last = frame.f_lineno
                return on_line

            return on_line

        sys.settrace(on_call)
        try:
            return call()
        finally:
            sys.settrace(None)


def must_hold(program: Program) -> None:
    """What must hold for any text; raises AssertionError with the reason."""
    starts = program.line_starts
    assert starts[0] == 0 and (np.diff(starts) >= 0).all(), "line starts"
    assert starts[-1] == len(program.data), "line starts do not end with the text"
    table, lines = program.motions, program.lines
    if len(table):
        assert table.line.min() >= 1 and table.line.max() <= lines, "motion lines"
        assert not np.isinf(table.end_mm).any(), "infinite position"
        assert (np.isnan(table.length_mm) | (table.length_mm >= 0)).all(), "negative length"
        assert not (table.feed_mm_min < 0).any(), "negative feed"
        arcs = table.is_arc
        assert not (table.sweep_rad[arcs] == 0).any(), "arc without a sweep"
        assert (table.frame < len(program.frames)).all(), "frame"
    for finding in program.findings:
        assert finding.fact and finding.action, f"finding {finding.code} without fact or action"
        for span in finding.spans:
            assert 1 <= span.line <= lines, f"span line {span} of {finding.code}"
            width = int(starts[span.line] - starts[span.line - 1])
            whole = span.start == 0 and span.end == 0
            assert whole or 1 <= span.start < span.end <= width + 2, (
                f"span {span} of {finding.code}, width {width}"
            )
    for event in program.events:
        assert 0 <= event.motion <= len(table), "event motion"


def must_agree(plain: Program, fast: Program) -> None:
    """The two paths are one language; where a limit cuts reading short, they may stop at different blocks."""
    if not plain.complete and not fast.complete:
        return
    for column in plain.motions.__dataclass_fields__:
        one, two = getattr(plain.motions, column), getattr(fast.motions, column)
        assert one.shape == two.shape, f"paths differ in the number of motions: {len(one)} and {len(two)}"
        if one.dtype.kind == "f":
            assert np.allclose(one, two, rtol=1e-12, atol=1e-12, equal_nan=True), f"paths differ in {column}"
        else:
            assert np.array_equal(one, two), f"paths differ in {column}"
    told = [(f.code, f.spans, f.fact) for f in plain.findings]
    also = [(f.code, f.spans, f.fact) for f in fast.findings]
    assert told == also, f"paths differ in findings: {set(told) ^ set(also)}"


def check(data: bytes, coverage: Coverage | None) -> Program:
    """Read by both paths, hold the result against the rules; raises on any failure."""
    options = {"max_motions": MOST_MOTIONS, "max_jumps": MOST_JUMPS, "max_blocks": MOST_BLOCKS}
    profile = ("any", "any", "rs274-ngc", "small-motion-firmware")[sum(data[:64]) % 4]

    def plain() -> Program:
        return read_program(data, "fuzz.nc", options=ReadOptions(profile=profile, force_slow=True, **options))  # type: ignore[arg-type]

    started = time.process_time()
    program = coverage.run(plain) if coverage else plain()
    took = time.process_time() - started
    assert took < SLOWEST_S, f"took {took:.1f} s"
    must_hold(program)
    fast = read_program(data, "fuzz.nc", options=ReadOptions(profile=profile, force_fast=True, **options))  # type: ignore[arg-type]
    must_agree(program, fast)
    return program


def mutate(rng: random.Random, pool: list[bytes]) -> bytes:
    """One damaged offspring of the pool."""
    data = rng.choice(pool)
    for _ in range(rng.choice((1, 1, 2, 3, 5, 8))):
        at, size = rng.randrange(len(data) + 1), rng.choice((1, 1, 2, 4, 8, 32, 128))
        kind = rng.randrange(9)
        if kind == 0:
            data = data[:at] + data[at + size :]
        elif kind == 1:
            data = data[:at] + data[at : at + size] * rng.choice((2, 3, 20)) + data[at + size :]
        elif kind == 2:
            data = data[:at] + rng.choice(BYTES) + rng.choice((b"", b" ", b"\n")) + data[at:]
        elif kind == 3 and data:
            at %= len(data)
            data = data[:at] + bytes([data[at] ^ (1 << rng.randrange(8))]) + data[at + 1 :]
        elif kind == 4:
            data = data[:at] + rng.randbytes(rng.choice((1, 2, 8))) + data[at:]
        elif kind == 5:
            other = rng.choice(pool)
            begin = rng.randrange(len(other) + 1)
            data = data[:at] + other[begin : begin + 8 * size] + data[at:]
        elif kind == 6:
            lines = data.split(b"\n")
            a, b = rng.randrange(len(lines)), rng.randrange(len(lines))
            lines[a], lines[b] = lines[b], lines[a]
            data = b"\n".join(lines)
        elif kind == 7:
            lines = data.split(b"\n")
            lines.insert(rng.randrange(len(lines) + 1), rng.choice(rng.choice(pool).split(b"\n")))
            data = b"\n".join(lines)
        else:
            data = data[:at]
    return data[:LONGEST]


def fails(data: bytes) -> str:
    """The reason why an input fails, or an empty text."""
    try:
        check(data, None)
    except Exception as error:  # any exception at all is a find
        frame = traceback.extract_tb(error.__traceback__)[-1]
        return f"{type(error).__name__} {str(error)[:160]} at {Path(frame.filename).name}:{frame.lineno}"
    return ""


def kind_of(reason: str) -> str:
    """What two failures of one cause have in common: the exception, the place, the rule broken."""
    return f"{reason.split(':')[0]} {reason.split(' at ')[-1]}"


def smaller(data: bytes, reason: str, seconds: float = 10.0) -> bytes:
    """Greedy reduction that keeps the kind of failure."""
    kind, stop = kind_of(reason), time.perf_counter() + seconds
    size = max(len(data) // 2, 1)
    while size >= 1 and time.perf_counter() < stop:
        at = 0
        while at < len(data) and time.perf_counter() < stop:
            shorter = data[:at] + data[at + size :]
            if kind_of(fails(shorter)) == kind:
                data = shorter
            else:
                at += size
        size //= 2
    return data


class Fuzz:
    """One run: the pool of kept inputs, what they reached, and what failed."""

    def __init__(self, seeds: list[bytes], seed: int, save: Path | None, plain: bool = False) -> None:
        self.rng, self.coverage, self.plain = random.Random(seed), Coverage(), plain
        self.seeds, self.pool, self.save = seeds, list[bytes](), save
        self.code_sets: set[frozenset[str]] = set()
        self.failures: dict[str, bytes] = {}
        self.count = 0
        self.slowest_s, self.slowest = 0.0, b""

    def step(self) -> None:
        """Read one more input."""
        data = self.seeds.pop() if self.seeds else mutate(self.rng, self.pool)
        pairs, codes = len(self.coverage.pairs), frozenset[str]()
        self.count += 1
        started = time.process_time()
        try:
            program = check(data, None if self.plain else self.coverage)
            codes = frozenset(finding.code for finding in program.findings)
        except Exception:  # any exception at all is a find
            self.failed(data)
        took = time.process_time() - started
        if took > self.slowest_s:
            self.slowest_s, self.slowest = took, data
        new_codes = len(codes) <= 3 and codes not in self.code_sets
        if len(self.coverage.pairs) > pairs or new_codes or not self.pool:
            self.code_sets.add(codes)
            self.pool.append(data)

    def failed(self, data: bytes) -> None:
        """Make a failing input smaller and show it, once a kind."""
        reason = fails(data) or "failed under the tracer only"
        kind = kind_of(reason)
        if kind in self.failures:
            return
        self.failures[kind] = data
        small = smaller(data, reason)
        print(f"FAILS {reason}\n      {small!r}", flush=True)
        if self.save:
            self.save.mkdir(parents=True, exist_ok=True)
            (self.save / f"find_{len(self.failures):03d}.nc").write_bytes(small)

    def state(self) -> str:
        """Counts so far, in one line."""
        codes = set().union(*self.code_sets) if self.code_sets else set()
        return (
            f"{self.count} inputs, {len(self.pool)} kept, {len(self.coverage.pairs)} line pairs, {len(codes)} "
            f"finding codes, slowest {self.slowest_s:.1f} s, {len(self.failures)} kinds of failure"
        )


def main() -> int:
    """Run for the given time; exit code 1 when anything failed."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--seconds", type=float, default=600.0)
    parser.add_argument("--count", type=int, default=10**9)
    parser.add_argument("--plain", action="store_true", help="without tracing")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--corpus", type=Path, default=ROOT / "tests" / "gcode" / "corpus")
    parser.add_argument("--save", type=Path, default=None, help="folder for failing inputs")
    arguments = parser.parse_args()
    seeds = [path.read_bytes()[:LONGEST] for path in sorted(arguments.corpus.glob("*.nc"))]
    fuzz = Fuzz(seeds, arguments.seed, arguments.save, arguments.plain)
    fails(seeds[0])  # compiles the kernels
    started = last_told = time.perf_counter()
    while time.perf_counter() - started < arguments.seconds and fuzz.count < arguments.count:
        fuzz.step()
        if time.perf_counter() - last_told > 30:
            last_told = time.perf_counter()
            print(f"{last_told - started:6.0f} s  {fuzz.state()}", flush=True)
    print(f"seed {arguments.seed}: {fuzz.state()}\nslowest: {fuzz.slowest[:400]!r}")
    return 1 if fuzz.failures else 0


if __name__ == "__main__":
    sys.exit(main())
