"""What fuzzing and attacks on the reader have found, pinned: each input once failed, hung or was passed over.

The expectations are *pinned* or follow from the language; each says what was wrong.
"""

from __future__ import annotations

import time

import numpy as np
import pytest

from millcalc.gcode.options import ReadOptions
from millcalc.gcode.program import Program
from millcalc.gcode.reader import read_program

START = b"G21 G90 G17 G94\nG0 X0 Y0 Z5\n"

TWINS = [
    pytest.param(b" ", id="white space only: one path called it no program"),
    pytest.param(b"ath\n\n\ndrn\n\npri", id="prose: one path called it no program"),
    pytest.param(b"\n%\nG0Y0", id="blank line before the opening percent line"),
    pytest.param(b"G3X8R8", id="arc from an unknown start"),
    pytest.param(b"G94\n;" + b"[" * 400 + b"\nG0 X1\n", id="brackets in a comment: one path counted them"),
    pytest.param(
        START + b"G83 X1 Z-1 R1 Q1 F100\nG0 Y0 Z5\nG83 X3 Z-2\n",
        id="a cycle that a plain line ended kept its numbers: without its Q the next one broke the reader",
    ),
]


@pytest.mark.parametrize("data", TWINS)
def test_both_paths_say_the_same(data: bytes) -> None:
    plain = read_program(data, options=ReadOptions(force_slow=True))
    fast = read_program(data, options=ReadOptions(force_fast=True))
    assert [(f.code, f.spans) for f in plain.findings] == [(f.code, f.spans) for f in fast.findings]
    for column in plain.motions.__dataclass_fields__:
        np.testing.assert_array_equal(getattr(plain.motions, column), getattr(fast.motions, column), column)


@pytest.mark.parametrize("road", ["force_slow", "force_fast"])
def test_a_cycle_keeps_nothing_past_a_plain_move_but_its_retract_level(road: str) -> None:
    text = START + b"G83 X1 Z-1 R1 Q1 F100\nG0 Y0 Z5\nG83 X3 Z-2\nG0 Z5\nG81 X4 Z-1\nG0 Z5\nM2\n"
    program = read_program(text, options=ReadOptions(**{road: True}))
    assert [(f.code, f.line, f.fact) for f in program.findings] == [
        ("CYCLE-07", 5, "G83 has no peck depth Q")
    ]
    lowest = {line: float(program.motions.end_mm[program.motions.line == line, 2].min()) for line in (3, 7)}
    assert lowest == {3: -1.0, 7: -1.0}


def quick(data: bytes, seconds: float) -> Program:
    started = time.process_time()
    program = read_program(data)
    assert time.process_time() - started < seconds
    return program


def test_a_line_number_before_a_setting() -> None:
    """Once refused as a bad line number; section 3.3 of NISTIR 6556 allows it."""
    program = read_program(START + b"N10 #101=5\nN20#102=6\nN30 G0 X#101 Y#102\nM2\n")
    assert not program.findings
    assert program.motions.end_mm[-1].tolist() == [5.0, 6.0, 5.0]


def test_an_endless_loop_that_changes_nothing_is_proved() -> None:
    """Once ran for half a minute until a limit struck."""
    program = quick(START + b"o1 while [1]\nG0 X1\nG0 X0\no1 endwhile\nM2\n", 5.0)
    assert [f.code.split("-")[0] for f in program.findings] == ["FLOW"]
    assert program.findings[0].line in (3, 6)
    assert not program.complete


@pytest.mark.parametrize(
    "opening",
    ["o1 while [1 lt 0]", "o1 if [1]", "o1 sub", "o1 repeat [2]", "o1 do"],
)
def test_what_is_opened_and_never_closed(opening: str) -> None:
    """Once passed without a word."""
    program = read_program(START + opening.encode() + b"\nG0 X1\nM2\n")
    assert any(f.code.startswith("FLOW") and f.line == 3 for f in program.findings), program.findings


def test_rulers_in_comments_are_no_brackets() -> None:
    """Once refused as too many brackets in one line."""
    rulers = b"(" + b"#" * 400 + b")\n;" + b"[" * 400 + b"\nG0 X1 ;" + b"=#" * 400 + b"\nM2\n"
    program = read_program(START + rulers)
    assert not program.findings
    assert program.motions.end_mm[-1, 0] == 1.0


def test_pecks_beyond_count_are_reported() -> None:
    """Once drilled without a peck and without a word."""
    program = read_program(START + b"M3 S100 F100\nG83 X1 Y1 Z-100 R1 Q0.000001\nG80\nM2\n")
    assert any(f.line == 4 for f in program.findings)


BIG = [
    pytest.param(b"".join(b"o%d if [1]\n" % n for n in range(1, 5000)), id="branches never closed"),
    pytest.param(
        b"".join(b"o%d sub\nG0 X1\no%d endsub\n" % (n, n) for n in range(1, 3000))
        + b"".join(b"o%d call\n" % n for n in range(1, 3000)),
        id="thousands of subprograms",
    ),
    pytest.param(b"G777\n" * 20_000, id="an unknown code again and again"),
    pytest.param(b"G1 X1O F100\n" * 20_000, id="a bad number again and again"),
    pytest.param(b"G0 X" + b"[" * 60_000 + b"1" + b"]" * 60_000 + b"\n", id="brackets in brackets"),
    pytest.param(b"G0 X" + b"#" * 30_000 + b"1\n", id="parameters of parameters"),
    pytest.param(b"G0 X" + b"sin[" * 15_000 + b"1" + b"]" * 15_000 + b"\n", id="functions of functions"),
    pytest.param(b"G1 X1" + b" " * 5_000_000 + b"\n", id="blanks without end"),
    pytest.param(b"(" + b"a" * 5_000_000 + b")\n", id="a comment without end"),
    pytest.param(b"\n" * 2_000_000, id="nothing but line ends"),
    pytest.param(b"M98 P1 L999999999\nM2\nO1\nM99\n", id="a subprogram a thousand million times"),
]


@pytest.mark.parametrize("body", BIG)
def test_large_and_absurd_texts_end_soon(body: bytes) -> None:
    """Once took minutes, or might recurse without end; ten times what they need now."""
    quick(START + body + b"M2\n", 15.0)


@pytest.mark.parametrize(
    "line",
    [b"G0 X[9**9**9**9]", b"#1=[10**308]\n#1=[#1*10]\nG0 X#1", b"G0 X" + b"9" * 400, b"G0 X[exp[9999]]"],
    ids=["tower of powers", "product", "digits", "exponential"],
)
def test_numbers_beyond_the_arithmetic_are_reported(line: bytes) -> None:
    program = read_program(START + line + b"\nM2\n")
    assert any((f.line or 0) >= 3 for f in program.findings)
    assert not np.isinf(program.motions.end_mm).any()
