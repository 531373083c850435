"""Lines that are alike but for their numbers give, to the last bit and column, what reading each of them gives."""

from __future__ import annotations

from dataclasses import fields

import pytest

from millcalc.gcode.again import Again
from millcalc.gcode.options import ReadOptions
from millcalc.gcode.profiles import profile_names
from millcalc.gcode.reader import read_program
from millcalc.gcode.shapes import Shapes

HEAD = "G21 G90 G17 G94\nG0 X0 Y0 Z5\nF200 S9000 M3\n#1=2\n#2=0.5\n#<feed>=120\n"
SUB = "o100 sub\nG0 X#1 Y#2\nG1 Z[-#3] F100\nG0 Z5\no100 endsub\n"
NUMBERS = [
    (3.0, "1.5"), (4.0, ".25"), (5.0, "2."), (6.0, "0"), (7.0, "12"), (8.0, "-3.5"), (9.0, "1.5"), (2.0, "999999"),
    (1.0, "7"), (0.0, "1234567890.5"), (11.0, "1.12345678901"), (12.0, "1.5"), (13.0, "0.1 2"), (14.0, "1.5"),
]  # fmt: skip
LINES = {
    "setting": "#1=[{a}+{b}]",
    "settings": "#1={b} #3=[#1*{a}]",
    "index": "#[{a}+1]=2",
    "machine's": "#5220={b}",
    "move": "G1 X[{a}*#2] Y{b}",
    "plain move": "X{a} Y{b}",
    "feed": "G1 X{a} F{b}",
    "named": "G1 X{a} F[#<feed>+{b}]",
    "name with digits": "#<a1>={b}\n#<a2>={a}\nX#<a1> Y#<a2>",
    "line number": "N{a:.0f}0 G1 X[{a}] Z{b}",
    "long line number": "N1234567890{a:.0f} G1 X[{a}]",
    "comment": "G1 X[{a}] (pass {b})",
    "still comment": "G1 X[{a}] (pass)",
    "message": "(MSG, at {a})",
    "code with blank": "G 1 X[{a}]\nG 0 X[{b}]",
    "code": "G{a:.0f} X[{b}]",
    "arc": "G2 X[{a}] Y0 I[{b}] J0",
    "radius": "G3 X[{a}+1] Y{b} R5",
    "turns": "G2 X0 Y0 I1 J0 P{a}",
    "dwell": "G4 P{b}",
    "tool": "T{a:.0f} M6",
    "speed": "S[{a}*1000] M3",
    "inch": "G20\nX{a}\nG21\nX{b}",
    "incremental": "G91 G1 X0.{a:.0f} Y[{b}]\nG90",
    "hole": "G81 X{a} Y{b} Z-2 R1 F60",
    "holes": "G81 X1 Y1 Z-2 R1 F60\nX{a} Y{b}\nX[{a}*2]\nY{b} Z-{a}\nG80\nG0 Z5",
    "holes in a row": "G99 G83 X1 Y1 Z-2 R1 Q{b}\nX{a} Y3\nX4\nG91 X1\nG90 X{b}\nG80",
    "holes upside down": "G82 X1 Y1 Z-1 R-{a} P0.5\nX{b}\nG80\nG0 Z5",
    "tapping": "G84 X{a} Y1 Z-2 R1\nX{b}\nM4 G84 X2\nG80 M3",
    "zero": "X[{a}/[#1-2]]",
    "unset": "X#9{a:.0f}",
    "call": "o100 call [{a}] [{b}] [2]",
    "wrong call": "o101 call [{a}]",
    "if": "o{a:.0f}1 if [{a} gt 7]\nG1 X{b}\no{a:.0f}1 endif",
    "broken": "X{a} Y{b} Q[",
    "twice": "X{a} X{b}",
    "deleted": "/X[{a}]",
    "functions": "X[sin[{a}]+cos[{b}]] Y[sqrt[{a}]+abs[-{b}]] Z[[{a} mod 3]+atan[{a}]/[{b}]]",
    "compare": "#1=[[{a} gt {b}]+[{a} ge 3]+[{a} lt 5]+[{a} le 7]+[{a} eq 3]+[{a} ne {b}]]\nX[1+#1]",
    "rotary": "A{a} X[{b}]",
    "spaces": "  x [ {a} ]\ty {b}",
    "end": "G1 X[{a}]\nG0 Z{b}",
}


def text_of(line: str, end: str = "\n") -> bytes:
    body = "\n".join(line.format(a=a, b=b) for a, b in NUMBERS * 2)
    return f"{HEAD}{SUB}{body}\nG0 Z5\nM30\n".replace("\n", end).encode()


@pytest.mark.parametrize("name", LINES)
def test_shapes_change_nothing(name: str) -> None:
    for end, profile in (("\n", "any"), ("\r\n", "any"), *(("\n", one) for one in profile_names())):
        data = text_of(LINES[name], end)
        one = read_program(data, options=ReadOptions(force_slow=True, profile=profile))
        for two in (
            read_program(data, options=ReadOptions(profile=profile)),
            read_program(data, options=ReadOptions(force_fast=True, profile=profile)),
        ):
            assert one.findings == two.findings
            assert repr((one.events, one.frames)) == repr((two.events, two.frames))
            assert (one.complete, one.modes_seen) == (two.complete, two.modes_seen)
            for column in fields(one.motions):
                mine, other = getattr(one.motions, column.name), getattr(two.motions, column.name)
                if "plain" in name or column.name not in ("length_mm", "centre_mm", "sweep_rad"):
                    assert mine.tobytes() == other.tobytes(), column.name


def test_a_known_shape_is_not_read_again(monkeypatch: pytest.MonkeyPatch) -> None:
    done = []
    carry_out = Again.carry_out
    monkeypatch.setattr(
        Again, "carry_out", lambda self, *rest: done.append(rest[2]) or carry_out(self, *rest)
    )
    body = "".join(f"#1=[{k}/2]\nG1 X[#1*{k}] Y{k}\n" for k in range(50))
    read_program(f"{HEAD}{body}M30\n".encode())
    assert len(done) == 2 * 50 - 2 * 3  # all but three of either shape


def test_texts_without_alike_lines_keep_few_shapes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("millcalc.gcode.shapes.MOST_SHAPES", 20)
    seen: list[Shapes] = []
    keep = Shapes.keep
    monkeypatch.setattr(Shapes, "keep", lambda self, *rest: seen.append(self) or keep(self, *rest))
    read_program((HEAD + "".join(f"#{k}=[1]\n" * 4 for k in range(1, 100)) + "M30\n").encode())
    assert len(seen[-1]._met) == 20
