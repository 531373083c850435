"""Lines that run again give, to the last bit, what the plain reader gives; and endless loops are refused soon."""

from __future__ import annotations

from dataclasses import fields

import pytest

from millcalc.gcode.again import Again
from millcalc.gcode.formulas import NotPlain, values_of
from millcalc.gcode.options import ReadOptions
from millcalc.gcode.parameters import Parameters
from millcalc.gcode.program import Program
from millcalc.gcode.reader import read_program

HEAD = "G21 G90 G17 G94\nG0 X0 Y0 Z5\nF200 S9000 M3\n"
LOOP = "#1=0\no1 while [#1 lt 20]\n#1=[#1+1]\n{}\no1 endwhile\n"
PROGRAMS = {
    "while": ("#1=0\no1 while [#1 lt 30]\n#1=[#1+1]\nG1 X[#1*2] Y[-#1]\no1 endwhile\n"),
    "named": (
        "#<a>=0\n"
        "#<_g>=2\n"
        "o1 repeat [20]\n"
        "#<a>=[#<a>+#<_g>]\n"
        "G1X#<a>Y[sin[#<a>*10]]F[100+#<a>]\n"
        "o1 endrepeat\n"
    ),
    "if": (
        "#1=0\n"
        "o1 while [#1 lt 30]\n"
        "#1=[#1+1]\n"
        "o2 if [#1 mod 3 eq 0]\n"
        "G0 Z5\n"
        "o2 elseif [#1 mod 3 eq 1]\n"
        "G1 Z-1\n"
        "o2 else\n"
        "G1 Z-2 (c [x])\n"
        "o2 endif\n"
        "G1 X[#1] (hello)\n"
        "o1 endwhile\n"
    ),
    "arcs": (
        "#1=0\n"
        "o1 while [#1 lt 30]\n"
        "#1=[#1+1]\n"
        "G2 X[#1] Y0 I[0.5] J0\n"
        "G3 X[#1+1] Y0 R5\n"
        "X[#1+2] Y1 I1 J1\n"
        "o1 endwhile\n"
    ),
    "inc": ("#1=0\nG91\no1 while [#1 lt 30]\n#1=[#1+1]\nG1 X0.1 Y[#1/10]\nG0 Z[1-#1]\no1 endwhile\nG90\n"),
    "modes": (
        "#1=0\n"
        "o1 while [#1 lt 30]\n"
        "#1=[#1+1]\n"
        "G91 G1 X0.1\n"
        "G90 Y2\n"
        "G20 X1\n"
        "G21 X2\n"
        "G93 G1 X3 F[#1]\n"
        "G94 F300 X4\n"
        "G4 P0.1\n"
        "M5\n"
        "M3 S[1000*#1]\n"
        "T[#1] M6\n"
        "G54 X1\n"
        "G55 X2\n"
        "G92 X1\n"
        "G0 X5\n"
        "G92.1\n"
        "G41 D1\n"
        "G1 X9\n"
        "G40\n"
        "G1 X8\n"
        "o1 endwhile\n"
    ),
    "cyc": (
        "#1=0\n"
        "o1 while [#1 lt 30]\n"
        "#1=[#1+1]\n"
        "G81 X[#1] Y1 Z-2 R1\n"
        "X[#1+1]\n"
        "G80\n"
        "G83 X[#1] Y1 Z-2 R1 Q0.5\n"
        "G1 X5\n"
        "o1 endwhile\n"
    ),
    "err": (
        "#1=0\n"
        "o1 while [#1 lt 30]\n"
        "#1=[#1+1]\n"
        "G1 X[1/[#1-7]]\n"
        "G1 X[sqrt[10-#1]]\n"
        "G1 Y#[#1]\n"
        "G1 Y#99\n"
        "#[#1+100]=3\n"
        "G1 F[15-#1] X1\n"
        "G1 X[#1*5000]\n"
        "o1 endwhile\n"
    ),
    "m98": (
        "M98 P100 L5\n"
        "#1=1\n"
        "o7 repeat [6]\n"
        "M98 P100\n"
        "o7 endrepeat\n"
        "M30\n"
        "O100\n"
        "G1 X[#1] \n"
        "G1 Y2\n"
        "#1=[#1+1]\n"
        "M99\n"
    ),
    "call": (
        "o200 sub\n"
        "G1 X[#1] Y[#2]\n"
        "#<l>=[#1*2]\n"
        "o3 if [#1 gt 3]\n"
        "o200 return [#1]\n"
        "o3 endif\n"
        "G0 Z[#<l>]\n"
        "o200 endsub [9]\n"
        "#10=0\n"
        "o1 while [#10 lt 20]\n"
        "#10=[#10+1]\n"
        "o200 call [#10] [3]\n"
        "G1 X[#<_value>]\n"
        "o1 endwhile\n"
    ),
    "do": (
        "#1=0\n"
        "o1 do\n"
        "#1=[#1+1]\n"
        "o2 if [#1 eq 5]\n"
        "o1 continue\n"
        "o2 endif\n"
        "o3 if [#1 gt 20]\n"
        "o1 break\n"
        "o3 endif\n"
        "G1 X#1\n"
        "o1 while [#1 lt 50]\n"
    ),
    "nan": ("#1=0\no1 while [#1 lt 20]\n#1=[#1+1]\nG1 X[#5221+#1] Y#5420\nG1 X#1\no1 endwhile\n"),
    "nums": (
        "#1=0\n"
        "o1 while [#1 lt 20]\n"
        "N10 #1=[#1+1]\n"
        "N20 G01 X + 1 . 5 Y-.5 Z+2. F 100\n"
        "g1x[ # 1 ]y[ 2 ** 3 ** 1.1 ]\n"
        "X[-[#1]] Y[+#1]\n"
        "X-[#1] Y-#1\n"
        "X[round[#1/2]+fix[#1/3]+fup[#1/3]+abs[-1]+acos[0]+asin[1]+atan[1]/[2]+exp[0.1]+ln[2]+tan[3]]\n"
        "x[1 and 0 or 1 xor 1]\n"
        "x[[#1 ge 3]*[#1 le 9]+[#1 ne 4]]\n"
        "o1 endwhile\n"
    ),
    "forever": ("o1 while [1]\nG1 X1\nG1 X2\no1 endwhile\n"),
    "forever2": ("#1=0\no1 while [1]\n#1=[#1+1]\nG1 X[#1 mod 10]\no1 endwhile\n"),
    "reset": ("o1 while [1]\n#1=0\no2 while [#1 lt 5]\n#1=[#1+1]\no2 endwhile\no1 endwhile\n"),
    "ends": ("#1=0\no1 while [#1 lt 20]\n#1=[#1+1]\nG1 X#1\no2 if [#1 eq 9]\nM30\no2 endif\no1 endwhile\n"),
    "m2": ("#1=0\no1 while [#1 lt 9]\n#1=[#1+1]\no1 endwhile\nM2\n"),
    "rot": ("#1=0\no1 while [#1 lt 9]\n#1=[#1+1]\nG68 X0 Y0 R10\nG1 X#1\nG69\nG1 Y#1\no1 endwhile\n"),
    "g53": ("#1=0\no1 while [#1 lt 9]\n#1=[#1+1]\nG53 G0 Z0\nG28\nG1 X#1\nG0 Z5\no1 endwhile\n"),
    "slash": ("#1=0\no1 while [#1 lt 9]\n#1=[#1+1]\n/G1 X#1\nG1 Y#1 ; c\n%\no1 endwhile\n"),
}


def _difference(one: Program, two: Program) -> str:
    if one.findings != two.findings or one.complete != two.complete:
        return "findings"
    if repr((one.events, one.frames, one.modes_seen)) != repr((two.events, two.frames, two.modes_seen)):
        return "events"
    for column in fields(one.motions):
        mine, other = getattr(one.motions, column.name), getattr(two.motions, column.name)
        if mine.tobytes() != other.tobytes():
            return column.name
    return ""


@pytest.mark.parametrize(
    "options", [ReadOptions(), ReadOptions(force_fast=True), ReadOptions(max_blocks=300)]
)
@pytest.mark.parametrize("name", PROGRAMS)
def test_kept_lines_change_nothing(name: str, options: ReadOptions, monkeypatch: pytest.MonkeyPatch) -> None:
    if name == "forever2" and options.max_blocks > 300:
        options = ReadOptions(max_blocks=3000, force_fast=options.force_fast)
    for head in (HEAD, ""):
        data = (head + PROGRAMS[name] + "G0 Z5\nM30\n").encode()
        kept = read_program(data, options=options)
        with monkeypatch.context() as patch:
            patch.setattr(Again, "keep", lambda *_: None)
            read = read_program(data, options=options)
        assert not _difference(kept, read)


def test_lines_are_kept_at_all(monkeypatch: pytest.MonkeyPatch) -> None:
    ran = []
    run = Again.run
    monkeypatch.setattr(Again, "run", lambda self, line: ran.append(line) or run(self, line))
    read_program((HEAD + PROGRAMS["while"] + "M30\n").encode())
    assert len(ran) > 100


def test_nested_loops_without_end_are_refused_within_the_blocks() -> None:
    text = HEAD + "#1=0\no1 while [1]\n#2=0\no2 while [#2 lt 10]\n#2=[#2+1]\nG1 X[#1+#2]\no2 endwhile\n"
    text += "#1=[#1+0.001]\no1 endwhile\nM30\n"
    program = read_program(text.encode(), options=ReadOptions(max_blocks=20_000))
    assert [finding.code for finding in program.findings if finding.severity.word == "stop"] == ["FLOW-02"]


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("G1 X[1+2*3] Y-[2**3]", (7.0, -8.0)),
        ("N5 x #3 y[#<my name>/4]", (5.0, 2.0)),
        ("#7=[10 mod 4] #<b>=#[1+2] (c [#9])", (7, 2.0, "b", 5.0)),
        ("o9 call [1][atan[1]/[1]]", (1.0, 45.0)),
    ],
)
def test_values_by_hand(text: str, values: tuple[object, ...]) -> None:
    parameters = Parameters(numbered={3: 5.0}, local={"myname": 8.0})
    assert values_of(text, parameters)() == pytest.approx(values)


@pytest.mark.parametrize("text", ["X[1", "X--1", "X#5220", "X[exists[#1]]", "X1.2.3", "G[1]", "X[1 foo 2]"])
def test_what_is_out_of_the_ordinary_is_left_to_the_plain_reader(text: str) -> None:
    with pytest.raises((NotPlain, KeyError)):
        values_of(text, Parameters())
