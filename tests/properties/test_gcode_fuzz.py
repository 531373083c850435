"""The reader under anything at all: bytes, damaged programs, and valid programs made from a grammar.

Valid programs are made as a list of operations, written out in many styles, and run by the tiny interpreter
below, which knows nothing of text: it is the independent answer the reader is held against.
"""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from millcalc.gcode.motions import ARC_CCW, ARC_CW, DWELL, LINE, RAPID, MotionTable
from millcalc.gcode.options import ReadOptions
from millcalc.gcode.program import Program
from millcalc.gcode.reader import read_program

CORPUS = sorted((Path(__file__).parents[1] / "gcode" / "corpus").glob("*.nc"))
LONGEST_S = 20.0  # far above what any small text needs; catches hangs, not slowness


def tries(count: int) -> settings:
    """Settings of a property: always the same examples, so that a red test stays red."""
    return settings(
        max_examples=count,
        deadline=None,
        database=None,
        derandomize=True,
        suppress_health_check=[
            HealthCheck.too_slow,
            HealthCheck.data_too_large,
            HealthCheck.large_base_example,
        ],
    )


def read_within(data: bytes, **options: object) -> Program:
    started = time.process_time()
    program = read_program(data, "fuzz.nc", options=ReadOptions(**options))  # type: ignore[arg-type]
    assert time.process_time() - started < LONGEST_S
    return program


def check_whole(program: Program, data: bytes) -> None:
    """What must hold for any input whatever."""
    starts = program.line_starts
    assert starts[0] == 0 and (np.diff(starts) >= 0).all()
    text = program.data
    joined = b"".join(text[a:b] for a, b in zip(starts[:-1].tolist(), starts[1:].tolist(), strict=True))
    assert joined == text
    table = program.motions
    rows = len(table)
    for column in ("end_mm", "line", "feed_mm_min", "flags", "frame"):
        assert len(getattr(table, column)) == rows
    if rows:
        assert table.line.min() >= 1 and table.line.max() <= program.lines
        assert table.frame.max() < len(program.frames)
        assert not np.isinf(table.end_mm).any()
        assert (np.isnan(table.length_mm) | (table.length_mm >= 0)).all()
        assert (table.dwell_s >= 0).all()
    for finding in program.findings:
        assert finding.code and finding.fact
        for span in finding.spans:
            assert 1 <= span.line <= program.lines
            width = int(starts[span.line] - starts[span.line - 1])
            assert (span.start, span.end) == (0, 0) or 1 <= span.start < span.end <= width + 2, (span, width)
    for event in program.events:
        assert 0 <= event.motion <= rows
        assert 0 <= event.line <= program.lines


@tries(150)
@given(st.binary(max_size=300))
def test_any_bytes(data: bytes) -> None:
    check_whole(read_within(data), data)


HEAP = (
    "G0 G1 G2 G3 G17 G18 G20 G21 G38.2 G4 G41 G40 G43 G53 G54 G59.3 G80 G81 G83 G87 G90 G91 G92 G92.1 G93 G94 "
    "G95 G98 G99 G10 L2 L20 L3 M0 M2 M3 M30 M6 M98 M99 P1 P2 Q1 R2 R-5 X1 Y2 Z-3 I4 J-5 K6 F100 S500 T1 H1 D1 A5 "
    "N10 % / ( ) ; [ ] # = #1 #2=3 #<a> o1 o2 sub endsub call while endwhile if else endif return repeat "
    "endrepeat lt gt mod ** * + - sin[30] atan[1]/[2] \n \n \n \r\n \t MSG, . 1 2.5 1e3 , \x00 \xb1 U1 E2"
)
WORDS = st.sampled_from(HEAP.split(" "))


@tries(200)
@given(st.lists(WORDS, max_size=60), st.sampled_from(["", " "]))
def test_any_heap_of_words(words: list[str], between: str) -> None:
    data = between.join(words).encode("latin-1")
    check_whole(read_within(data), data)


@st.composite
def damaged(draw: st.DrawFn) -> bytes:
    data = draw(st.sampled_from(CORPUS)).read_bytes()[:4000]
    for _ in range(draw(st.integers(1, 5))):
        at = draw(st.integers(0, len(data)))
        size = draw(st.integers(1, 40))
        kind = draw(st.sampled_from(["delete", "double", "replace", "insert", "splice", "cut"]))
        if kind == "delete":
            data = data[:at] + data[at + size :]
        elif kind == "double":
            data = data[: at + size] + data[at:]
        elif kind == "replace":
            data = data[:at] + draw(st.binary(min_size=1, max_size=3)) + data[at + 1 :]
        elif kind == "insert":
            data = data[:at] + draw(WORDS).encode("latin-1") + data[at:]
        elif kind == "splice":
            other = draw(st.sampled_from(CORPUS)).read_bytes()[:4000]
            begin = draw(st.integers(0, len(other)))
            data = data[:at] + other[begin : begin + 10 * size] + data[at:]
        else:
            data = data[:at]
    return data


@tries(150)
@given(damaged())
def test_damaged_programs(data: bytes) -> None:
    check_whole(read_within(data), data)


# --- the grammar and the tiny interpreter -----------------------------------------------------------------


@dataclass
class Row:
    """What the interpreter expects of one motion."""

    kind: int
    end: tuple[float, float, float]
    feed: float = math.nan
    rpm: float = math.nan
    spindle: int = 0
    tool: int = -1
    coolant: int = 0
    dwell: float = 0.0
    length: float = 0.0


@dataclass
class Machine:
    """A milling machine that obeys operations; positions in millimetres of the first frame."""

    at: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])
    shift: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])
    scale: float = 1.0
    inch_used: bool = False
    absolute: bool = True
    feed: float = 100.0
    rpm: float = 1000.0
    spindle: int = 0
    tool: int = -1
    coolant: int = 0
    rows: list[Row] = field(default_factory=list)

    def emit(self, kind: int, end: list[float], length: float, dwell: float = 0.0) -> None:
        feed = self.feed if kind in (LINE, ARC_CW, ARC_CCW) else math.nan
        state = (feed, self.rpm, self.spindle, self.tool, self.coolant)
        self.rows.append(Row(kind, (end[0], end[1], end[2]), *state, dwell, length))
        self.at = list(end)

    def target(self, words: dict[str, float]) -> list[float]:
        end = list(self.at)
        for letter, value in words.items():
            axis = "XYZ".index(letter)
            if self.absolute:
                end[axis] = value * self.scale + self.shift[axis]
            else:
                end[axis] += value * self.scale
        return end

    def move(self, kind: int, words: dict[str, float]) -> None:
        end = self.target(words)
        self.emit(kind, end, math.dist(end, self.at))

    def arc(
        self, clockwise: bool, i: float, j: float, quarters: int, rise: float
    ) -> tuple[float, float, float]:
        """Turn by quarters about (i, j); gives the end in the numbers the program writes."""
        x, y = -i, -j
        for _ in range(quarters % 4):
            x, y = (y, -x) if clockwise else (-y, x)
        delta = [i + x, j + y, rise]
        end = [a + d * self.scale for a, d in zip(self.at, delta, strict=True)]
        written = [
            (e - s) / self.scale if self.absolute else d
            for e, s, d in zip(end, self.shift, delta, strict=True)
        ]
        turn = math.hypot(i, j) * self.scale * quarters * math.pi / 2
        self.emit(ARC_CW if clockwise else ARC_CCW, end, math.hypot(turn, rise * self.scale))
        return written[0], written[1], written[2]

    def drill(self, x: float, y: float, retract: float, depth: float, high: bool) -> None:
        """A drilling cycle in absolute mode; `retract` above `depth`."""
        z0 = self.at[2]
        r, bottom = (v * self.scale + self.shift[2] for v in (retract, depth))
        clear = max(z0, r) if high else r
        if z0 < r:
            self.move_to(RAPID, [self.at[0], self.at[1], r])
        end = self.target({"X": x, "Y": y})
        self.move_to(RAPID, [end[0], end[1], self.at[2]])
        self.move_to(RAPID, [end[0], end[1], r])
        self.move_to(LINE, [end[0], end[1], bottom])
        self.move_to(RAPID, [end[0], end[1], clear])

    def move_to(self, kind: int, end: list[float]) -> None:
        self.emit(kind, end, math.dist(end, self.at))


thousandths = st.integers(-99_999, 99_999).map(lambda k: k / 1000)
small = st.integers(1, 20_000).map(lambda k: k / 1000)


class Writer:
    """Writes words in a style: case, blanks, signs, zeros, expressions, comments, line numbers."""

    def __init__(self, draw: st.DrawFn, plain: bool) -> None:
        self.draw, self.plain = draw, plain
        self.gap = draw(st.sampled_from(["", " ", "  ", "\t"]))
        self.lower = draw(st.booleans())
        self.numbered = draw(st.booleans())
        self.lines: list[str] = []
        self.used = 100

    def number(self, value: float) -> str:
        if not self.plain and self.draw(st.integers(0, 9)) == 0:
            half = round(value / 2, 6)
            choice = self.draw(st.integers(0, 2))
            if choice == 0:
                return f"[{half:.6f} + {value - half:.9f}]"
            if choice == 1:
                return f"[[{value:.6f} * 3] / 3]"
            self.used += 1
            self.lines.append(self.finish(f"#{self.used}={value:.6f}"))
            return f"#{self.used}"
        text = f"{value:.3f}"
        style = self.draw(st.integers(0, 4))
        if style == 0 and text.startswith("0."):
            text = text[1:]
        elif style == 1:
            text = text.rstrip("0")
        elif style == 2 and value >= 0:
            text = "+" + text
        elif style == 3:
            text = text + "000"
        elif style == 4 and value == int(value):
            text = str(int(value))
        return text

    def finish(self, text: str) -> str:
        text = text.lower() if self.lower else text
        if self.numbered:
            text = f"N{self.draw(st.integers(0, 99999))} {text}"
        return text

    def block(self, *words: str, comment: bool = True) -> None:
        parts = list(self.draw(st.permutations(words))) if len(words) < 6 else list(words)
        if comment and self.draw(st.integers(0, 7)) == 0:
            parts.insert(self.draw(st.integers(0, len(parts))), "(as drawn)")
        self.lines.append(self.finish(self.gap.join(parts)))


@st.composite
def programs(draw: st.DrawFn, plain: bool = False) -> tuple[str, list[Row]]:
    """A valid program and the motions it makes."""
    writer, machine = Writer(draw, plain), Machine()
    number, block = writer.number, writer.block
    writer.lines.append("G21 G90 G17 G94 G40 G98 F100 S1000")
    writer.lines.append("G0 X0 Y0 Z0")
    machine.rows.append(Row(RAPID, (0.0, 0.0, 0.0), rpm=1000.0))

    def moves() -> None:
        kind = draw(st.sampled_from([RAPID, LINE]))
        letters = draw(st.lists(st.sampled_from("XYZ"), min_size=1, max_size=3, unique=True))
        words = {letter: draw(thousandths) for letter in letters}
        texts = [letter + number(value) for letter, value in words.items()]
        block("G0" if kind == RAPID else draw(st.sampled_from(["G1", "G01"])), *texts)
        machine.move(kind, words)

    def modal_moves() -> None:
        block("G1", "X" + number(x := draw(thousandths)))
        machine.move(LINE, {"X": x})
        for _ in range(draw(st.integers(1, 3))):
            words = {"X": draw(thousandths), "Y": draw(thousandths)}
            block(*(letter + number(value) for letter, value in words.items()))
            machine.move(LINE, words)

    def arcs() -> None:
        # a full turn ends where it starts; nine digits of an inch cannot say that of any millimetre
        most = 3 if machine.absolute and machine.inch_used else 4
        clockwise, quarters = draw(st.booleans()), draw(st.integers(1, most))
        i, j = draw(thousandths), draw(small)
        rise = draw(st.sampled_from([0.0, 0.5, -1.25]))
        x, y, z = machine.arc(clockwise, i, j, quarters, rise)
        words = [f"X{x:.9f}", f"Y{y:.9f}", "I" + number(i), "J" + number(j)]
        if rise:
            words.append(f"Z{z:.9f}")
        block("G2" if clockwise else "G3", *words)

    def distance() -> None:
        machine.absolute = draw(st.booleans())
        block("G90" if machine.absolute else "G91")

    def units() -> None:
        inch = draw(st.booleans())
        machine.scale = 25.4 if inch else 1.0
        machine.inch_used |= inch
        block("G20" if inch else "G21")
        feeds()

    def feeds() -> None:
        value = draw(small) * 10
        machine.feed = round(value, 3) * machine.scale
        block(f"F{value:.3f}")

    def spindle() -> None:
        machine.spindle, word = draw(st.sampled_from([(1, "M3"), (-1, "M4"), (0, "M5")]))
        machine.rpm = float(draw(st.integers(0, 24000)))
        block(word, f"S{machine.rpm:.0f}")

    def coolant() -> None:
        bit, word = draw(st.sampled_from([(1, "M7"), (2, "M8"), (0, "M9")]))
        machine.coolant = machine.coolant | bit if bit else 0
        block(word)

    def tool() -> None:
        machine.tool = draw(st.integers(1, 40))
        machine.spindle = 0
        block(f"T{machine.tool}", "M6")

    def dwell() -> None:
        seconds = draw(small)
        block("G4", "P" + number(seconds))
        machine.emit(DWELL, machine.at, 0.0, seconds)

    def shift() -> None:
        if draw(st.booleans()):
            block("G92.1")
            machine.shift = [0.0, 0.0, 0.0]
            return
        axis = draw(st.sampled_from([0, 1, 2]))
        value = draw(thousandths)
        block("G92", "XYZ"[axis] + number(value))
        machine.shift[axis] = machine.at[axis] - value * machine.scale

    def drill() -> None:
        if not machine.absolute:
            return
        x, y, depth = draw(thousandths), draw(thousandths), draw(thousandths)
        retract = depth + draw(small)
        high = draw(st.booleans())
        words = ["X" + number(x), "Y" + number(y), f"Z{depth:.3f}", f"R{retract:.3f}"]
        block("G81", "G98" if high else "G99", *words)
        machine.drill(x, y, round(retract, 3), depth, high)
        block("G80")

    steps: list[Callable[[], None]] = [
        moves,
        modal_moves,
        arcs,
        distance,
        units,
        feeds,
        spindle,
        coolant,
        tool,
        dwell,
        shift,
        drill,
    ]
    for step in draw(st.lists(st.sampled_from(steps), min_size=1, max_size=15)):
        step()
    writer.lines.append("M2")
    end = draw(st.sampled_from(["\n", "\r\n"]))
    return end.join(writer.lines) + end, machine.rows


def compare(table: MotionTable, rows: list[Row]) -> None:
    """Moves of no length are left out on both sides: whether they make a row is the reader's choice."""
    kept = [
        n
        for n in range(len(table))
        if n == 0 or table.kind[n] not in (RAPID, LINE) or table.length_mm[n] > 1e-9
    ]
    wanted = [
        row for n, row in enumerate(rows) if n == 0 or row.kind not in (RAPID, LINE) or row.length > 1e-9
    ]
    assert table.kind[kept].tolist() == [row.kind for row in wanted]
    near = {"rtol": 1e-9, "atol": 1e-7}
    np.testing.assert_allclose(table.end_mm[kept], [row.end for row in wanted], **near)
    np.testing.assert_allclose(table.feed_mm_min[kept][1:], [row.feed for row in wanted][1:], **near)
    np.testing.assert_allclose(table.spindle_rpm[kept], [row.rpm for row in wanted])
    np.testing.assert_allclose(table.dwell_s[kept], [row.dwell for row in wanted])
    np.testing.assert_allclose(table.length_mm[kept][1:], [row.length for row in wanted][1:], **near)
    known = table.spindle_dir[kept] != 2
    assert (table.spindle_dir[kept][known] == np.array([row.spindle for row in wanted])[known]).all()
    assert table.tool[kept].tolist() == [row.tool for row in wanted]
    assert table.coolant[kept].tolist() == [row.coolant for row in wanted]


@pytest.mark.parametrize("profile", ["any", "rs274-ngc"])
def test_grammar_made_programs(profile: str) -> None:
    @tries(100)
    @given(programs())
    def inner(made: tuple[str, list[Row]]) -> None:
        text, rows = made
        program = read_within(text.encode(), profile=profile)
        assert not program.findings, (program.findings, text)
        compare(program.motions, rows)

    inner()


def same_motions(one: MotionTable, two: MotionTable, columns: str) -> None:
    for column in columns.split():
        np.testing.assert_allclose(
            getattr(one, column), getattr(two, column), rtol=1e-9, atol=1e-7, err_msg=column
        )


SHAPE = "kind start_mm end_mm centre_mm sweep_rad length_mm feed_mm_min spindle_rpm tool dwell_s plane"


@st.composite
def thousandth_paths(draw: st.DrawFn) -> tuple[str, str]:
    """A program in inches by thousandths, and the same in millimetres, where 0.001 inch is 0.0254 mm."""
    inch, metric = ["G20 G90 G17 G94 M3 S9000"], ["G21 G90 G17 G94 M3 S9000"]
    x = y = 0

    def both(template: str, *values: int) -> None:
        inch.append(template.format(*map(inches, values)))
        metric.append(template.format(*map(millimetres, values)))

    def inches(v: int) -> str:
        return f"{'-' if v < 0 else ''}{abs(v) // 1000}.{abs(v) % 1000:03d}"

    def millimetres(v: int) -> str:
        ten_thousandths = abs(v) * 254
        return f"{'-' if v < 0 else ''}{ten_thousandths // 10_000}.{ten_thousandths % 10_000:04d}"

    both("G0 X{} Y{} Z{}", 0, 0, draw(st.integers(-5000, 5000)))
    both("F{}", draw(st.integers(1000, 90_000)))
    for _ in range(draw(st.integers(1, 12))):
        if draw(st.booleans()):
            x, y = draw(st.integers(-9999, 9999)), draw(st.integers(-9999, 9999))
            both("G1 X{} Y{}", x, y)
        else:
            i, j = draw(st.integers(-5000, 5000)), draw(st.integers(1, 5000))
            ahead = draw(st.sampled_from([(2 * i, 2 * j), (i - j, j + i), (i + j, j - i), (0, 0)]))
            x, y = x + ahead[0], y + ahead[1]
            both(draw(st.sampled_from(["G2", "G3"])) + " X{} Y{} I{} J{}", x, y, i, j)
    for lines in (inch, metric):
        lines.append("M2")
    return "\n".join(inch) + "\n", "\n".join(metric) + "\n"


@tries(60)
@given(thousandth_paths())
def test_inch_program_and_its_metric_twin(made: tuple[str, str]) -> None:
    one, two = (read_within(text.encode()) for text in made)
    assert not one.findings and not two.findings, (one.findings, two.findings, made)
    same_motions(one.motions, two.motions, SHAPE + " line")


@tries(60)
@given(programs(plain=True), st.integers(0, 2**16))
def test_a_program_split_into_subprograms_and_called_is_the_same(
    made: tuple[str, list[Row]], seed: int
) -> None:
    lines = made[0].replace("\r\n", "\n").splitlines()
    body = lines[:-1]
    cuts = sorted({(seed >> shift) % (len(body) + 1) for shift in (0, 4, 8)} | {0, len(body)})
    pieces = [body[a:b] for a, b in itertools.pairwise(cuts)]
    text: list[str] = []
    for number, piece in enumerate(pieces, 1):
        text += [f"o{number} sub", *piece, f"o{number} endsub"]
    text += [f"o{number} call" for number in range(1, len(pieces) + 1)] + ["M2"]
    whole, split = read_within(made[0].encode()), read_within("\n".join(text).encode() + b"\n")
    assert not split.findings, (split.findings, text)
    same_motions(whole.motions, split.motions, SHAPE + " spindle_dir coolant feed_mode")


@tries(60)
@given(programs(plain=True), st.sampled_from([b"\r\n", b"\r"]))
def test_line_ends_change_nothing(made: tuple[str, list[Row]], end: bytes) -> None:
    lines = made[0].replace("\r\n", "\n").encode()
    one, two = read_within(lines), read_within(lines.replace(b"\n", end))
    assert [f.code for f in one.findings] == [f.code for f in two.findings]
    for column in SHAPE.split():
        np.testing.assert_array_equal(getattr(one.motions, column), getattr(two.motions, column), column)
