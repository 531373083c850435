"""Holes in a row are drilled together, and come out as if each line had been read by itself."""

from __future__ import annotations

import dataclasses
import random

import numpy as np
import pytest

from millcalc.gcode import ReadOptions, read_program
from millcalc.gcode.hole_rows import HoleRows
from millcalc.gcode.program import Program

HEAD = "G21 G90 G17 F300\nM3 S9000\nG0 X0 Y0 Z5\n"
CYCLES = (
    "G81 X1 Y1 Z-2 R1",
    "G99 G81 X1 Y1 Z-2 R1",
    "G98 G82 X1 Y1 Z-2 R1 P0.5",
    "G99 G83 X1 Y1 Z-4 R1 Q1",
    "G73 X1 Y1 Z-4 R1 Q1.5",
    "G85 X1 Y1 Z-2 R1",
    "G89 X1 Y1 Z-2 R1 P1",
    "G86 X1 Y1 Z-2 R1 P1",
    "G81 X1 Y1 Z-2 R6",
    "G83 X1 Y1 Z-400 R1 Q0.01",
    "G91 G81 X1 Y1 Z-2 R1",
    "G55 G20 G81 X1 Y1 Z-0.1 R0.1",
)


def _same(program: str, **more: int) -> Program:
    """The program as read together and line by line, compared to the last bit."""
    data = program.encode()
    quick, slow = (
        read_program(data, options=ReadOptions(force_slow=one, **more))  # type: ignore[arg-type]
        for one in (False, True)
    )
    for field in dataclasses.fields(slow.motions):
        one, two = (np.asarray(getattr(read.motions, field.name)) for read in (quick, slow))
        assert one.dtype == two.dtype and one.tobytes() == two.tobytes(), field.name
    assert (quick.events, quick.findings, quick.complete) == (slow.events, slow.findings, slow.complete)
    return quick


def _line(draw: random.Random) -> str:
    x, y = (f"{draw.uniform(0, 99):.{draw.choice((0, 1, 3))}f}" for _ in range(2))
    usual = (f"X{x} Y{y}",) * 12 + (
        f"X{x}",
        f"Y{y}",
        f"N10 X{x} Y{y}",
        f"X-{x} Y{y}",
        f"X{x} Y-{y}",
        f"Y{y} X{x}",
    )
    rare = ("X4 Y4", "X4 Y4", "X5 Y4 (here)", "X5 Y5 Z-3", "X5 Y6 L2", "x7 y7", "X 8 Y 8", "X3000000 Y1", "G0 X1 Y1",
            "G81 X3 Y3", "X123456789012 Y1", "X1.2.3 Y4", "X+5 Y5", "X--5 Y5", "S8000", "G98", "#1=4", "X#1 Y2", "",
            "X.5 Y5.", "X-0 Y0", "X5Y5", "X5E3 Y5", "T2", "M5")  # fmt: skip
    return draw.choice(rare) if draw.random() < 0.08 else draw.choice(usual)


@pytest.mark.parametrize("cycle", CYCLES)
def test_holes_in_a_row_are_those_of_each_line_alone(cycle: str) -> None:
    for seed in range(6):
        draw = random.Random(f"{cycle}{seed}")
        lines = [f"X{k} Y{k % 7}" for k in range(40)] + [_line(draw) for _ in range(150)]
        end = draw.choice(("\n", "\r\n"))
        _same(HEAD.replace("\n", end) + cycle + end + end.join(lines) + f"{end}G80{end}M30{end}")


@pytest.mark.parametrize("most", [30, 31, 32, 33, 34, 57])
def test_reading_stops_at_the_same_motion(most: int) -> None:
    holes = "\n".join(f"X{k} Y{k % 7}" for k in range(100))
    program = _same(f"{HEAD}G81 X1 Y1 Z-2 R1\n{holes}\nG80\nM30\n", max_motions=most)
    assert len(program.motions) == most


def test_a_program_that_ends_in_holes() -> None:
    holes = "\n".join(f"X{k} Y{k % 7}" for k in range(50))
    assert len(_same(f"{HEAD}G81 X1 Y1 Z-2 R1\n{holes}").motions) > 150


def test_a_long_row_is_taken_together(monkeypatch: pytest.MonkeyPatch) -> None:
    taken: list[int] = []
    run = HoleRows.run
    monkeypatch.setattr(
        HoleRows,
        "run",
        lambda *given: taken.append(found := run(*given)) or found,  # type: ignore[func-returns-value]
    )
    holes = "\n".join(f"X{k % 300} Y{k % 7}" for k in range(25_000))
    program = read_program(f"{HEAD}G81 X1 Y1 Z-2 R1\n{holes}\nG80\nM30\n".encode())
    assert len(program.motions) == 4 * 25_001 + 1
    assert max(taken) == 10_000 and sum(taken) > 24_900
