"""Pinned: every motion, event and finding that short programs are read as, one program a form of the language.

Our own answers; they catch change only. After a change that is meant, run ``python -m tests.pinned.test_reading``,
read every line that differs, and only then keep the new file.
"""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from millcalc.gcode.options import ReadOptions
from millcalc.gcode.program import Program
from millcalc.gcode.reader import read_program

FILE = Path(__file__).with_name("reading.json")
HEAD = "G21 G90 G17 G94 F100 S1000 M3\nG0 X0 Y0 Z5\n"
KNOWN = ReadOptions(
    profile="rs274-ngc",
    work_offsets_mm={54: (100.0, 50.0, -30.0), 55: (300.0, 60.0, -40.0), 59.1: (1.0, 2.0, 3.0)},
    home_mm=(0.0, 0.0, 0.0),
    second_home_mm=(10.0, 20.0, -5.0),
    tool_lengths_mm={0: 7.0, 1: 0.0, 2: 12.5},
    tool_diameters_mm={1: 6.0, 2: 3.0},
)
# after HEAD, in the profile of the standard; the offsets of KNOWN
BODIES = (
    "G2 X10 Y0 I5 J0", "G3 X10 Y0 I5 J0", "G2 X0 Y0 I5", "G2 X0 Y0 I5 P3", "G3 X10 Y0 I5 J0 P2 Z-3",
    "G3 X10 Y10 R10", "G2 X10 Y10 R-10", "G2 X10 Y0 R5", "G2 X10 Y0 R5.0003", "G2 X10 Y0 R4.9985",
    "G2 X10 Y0 R4", "G2 X10 Y0 R0", "G2 X0 Y0 R5", "G2 X0.5 Y0 R-10", "G18 G2 X10 Z5 I5 K0",
    "G18 G3 X10 Z5 R-7 Y2", "G19 G3 Y10 Z5 J5 K0 P2", "G19 G2 Y6 Z9 R6 X1", "G91 G2 X10 Y0 I5 J0\nX10 Y0 I5 J0",
    "G90.1\nG2 X10 Y0 I5 J0", "G20\nG2 X1 Y0 I0.5 J0", "G20\nG2 X1 Y0 I0.5003 J0", "G2 X10.004 Y0 I5 J0",
    "G2 X10.02 Y0 I5 J0", "G2 X60.04 Y0 I30 J0", "G2 X10 Y0 I0 J0", "G2 X10 Y0", "G2 X10 Y0 K5",
    "G2 X10 Y0 I5 R5", "G2 X0 Y0 I5 P1.5", "G2 I5 P0", "G1 X20 Y20\nG2 X30 Y20 I25 J20",
    "G90.1\nG1 X20 Y20\nG2 X30 Y20 I5 J0", "G93 G2 X10 Y0 I5 J0 F4", "G95 G1 X10 F0.1\nS2000 X20",
    "G81 X10 Y10 Z-3 R1\nX20\nG80 G0 Z5", "G98 G81 X10 Y10 Z-3 R1\nY20",
    "G99 G81 X10 Y10 Z-3 R1\nY20\nG80\nG0 X0", "G82 X10 Y10 Z-3 R1 P0.5\nX20 P0",
    "G99 G83 X10 Y10 Z-4 R1 Q2\nX20", "G98 G83 X1 Y1 Z-3 R2 Q1.5", "G84 X10 Z-3 R1", "G85 X10 Z-3 R1",
    "G86 X10 Z-3 R1 P0.2", "G87 X10 Y9 Z-3 R1 I0.5 J0.25 K0.5", "G91 G87 X10 Y9 Z-3 R-1 I0.5 J0.25 K0.5",
    "G18 G87 X10 Z9 Y-3 R1 I0.5 K0.25 J0.5", "G88 X10 Z-3 R1 P0.1", "G89 X10 Z-3 R1 P0.1",
    "G91 G81 X5 Y0 Z-3 R-4 L3", "G81 X5 Y5 Z-3 R1 L2", "G81 X5 Y5 Z3 R1", "G20\nG81 X1 Y1 Z-0.1 R0.1",
    "G91 G99 G81 X5 Z-3 R-4 L3\nG80", "G18 G81 X5 Z5 Y-3 R1", "G19 G81 Y5 Z3 X-3 R1",
    "G0 Z-2\nG81 X5 Y5 Z-3 R1", "G83 X5 Y5 Z-300 R1 Q0.001", "G81 X5 Y5 Z-3 R1\nG1 X9\nG81 X1",
    "G92 X5 Y5 Z1\nG81 X10 Y10 Z-3 R1", "G55 G0 X0 Y0 Z0\nG54 G0 X1", "G59.1 G0 X0 Y0 Z0", "G56 G0 X0 Y0 Z0",
    "G53 G0 Z0", "G20\nG53 G0 X10 Y1", "G28", "G28 Z9", "G91 G28 Z0\nG90", "G30 X3 Y3",
    "G92 X10 Y20\nG0 X10 Y25\nG92.1\nG0 X1", "G92 X10\nG92.2\nG0 X11\nG92.3\nG0 X11",
    "G10 L2 P2 X110 Y50 Z-30\nG55 G0 X0 Y0 Z0", "G20\nG10 L2 P1 X1\nG0 X0", "G92 X10\nG55 G0 X10 Y0 Z0",
    "G43 H2\nG0 Z5\nG49\nG0 Z5", "G43 H1\nG0 Z4",
    "G43 H2\nG0 Z5\nG43 H0\nG0 Z5", "G43 H7\nG0 Z4",
    "G0 X#5161 Y#5182 Z#5183", "G55\nG0 X#5220 Y#5221 Z#5243", "G92 X3 Y4 Z5\nG0 X#5211 Y#5212 Z#5213",
    "G91 G92 X7\nG90 G0 X8",
    "G1 X10 Y10 Z-1\nG91 X1 Y-1\nG90 X0", "G20 G1 X1 F10\nG21 X1", "G93 G1 X10 F2\nX30 F4\nG94 X0 F50",
    "G4 P1.5", "G38.2 Z-5", "M4 S500 G1 X1\nM5 G1 X2\nM3 G1 X3", "T2 M6\nG1 X1", "M7 G1 X1\nM8 G1 X2\nM9 G1 X3",
    "M0\nM1\nM60\nG1 X1", "M2\nG1 X9", "G41 D1 G1 X10\nY10\nX0\nG40 X-9",
    "G42 D2 G1 X10\nG2 X20 Y0 I5 J0\nG40 G1 X30", "G61 G1 X1\nG64 G1 X2", "M49\nM48", "G1 X10 A90", "G1", "X5",
    "G80 X5", "G1 X10 F0", "S-5", "T-1", "G0 X1 G1 Y1",
    "G81 X5 Y5 Z3 R1\nG80\nG1 X9", "G81 X5 Y5 Z3 R1\nG80\nG1 Y9 Z2", "G92 X5\nG92 X0\nG0 X1",
    "G57 G0 X0\nG58 G0 X1\nG59 G0 X2\nG59.2 G0 X3\nG59.3 G0 X4", "G10 L2 P8 X7\nG59.2 G0 X3",
    "G0 X1 G1 Y1 F0\nG1 X5 Y5", "G0 X1 G1 Y1 F-7\nG1 X5 Y5", "G91 G0 X1 G1 Y1\nX5 Y5", "T3 M6 G0 X1 G1 Y1\nG1 X5",
    "M3 M4", "#1=5 #2=[#1*2]\nG1 X#1 Y#2",
    "G1 X[sin[30]*10] Y[sqrt[16]] Z[round[-1.5]]", "G1 X[7 mod 4] Y[2**3] Z[atan[1]/[1]]",
    "G1 X[1 and 0] Y[1 xor 1] Z[fup[1.2]]", "G1 X[acos[2]]", "G1 X[1/0]",
    "G1 X[fix[-1.2]] Y[abs[-3]] Z[exp[0]+ln[1]]", "G1 X200000", "G0 X1 Y1 Z1\nG0 X1 Y1 Z1",
)  # fmt: skip
# in a profile of its own; the whole text
PROGRAMS = (
    ("any", "G0 X1\nG1 Y1 F10\n"), ("any", "%\nO1\nG21 G90 M3 S1\nG1 X1 F9\nM30\n%\nG1 X9\n"),
    ("any", HEAD + "G73 G99 X1 Y1 Z-4 R1 Q1.5\n"), ("any", HEAD + "G98 G73 X1 Y1 Z-1 R1 Q3\nX2\n"),
    ("any", HEAD + "G52 X10 Y10\nG0 X1 Y1\nG52 X0 Y0\nG0 Z6\n"),
    ("any", HEAD + "G0 X7\nG10 L20 P1 X0\nG0 X1\n"), ("any", HEAD + "G38.3 Z-5\nG43.1 Z3\nG0 Z1\n"),
    ("any", HEAD + "G68 X0 Y0 R45\nG1 X10\nG69\nG1 X1 Y2\n"), ("any", HEAD + "G51 P2\nG1 X10\nG50\nG1 X1 Y2 Z3\n"),
    ("any", HEAD + "G51.1 X0\nG1 X10\nG50.1\nG1 X1 Y2\n"), ("any", HEAD + "G16\nG1 X10 Y45\nG15\nG1 X1 Y2\n"),
    ("any", HEAD + "G10 L2 P1 R30\nG1 X1\n"), ("any", HEAD + "G0 X3 Y4\nG28.1\nG0 X9\nG28 Z8\nG30.1\nG30\n"),
    ("any", HEAD + "#1=0\no1 repeat [3]\n#1=[#1+1]\nG18 G81 X#1 Z#1 Y-3 R1\nX[#1+9]\no1 endrepeat\nG80\n"),
    ("any", HEAD + "#1=0\nG99 G81 X0 Y0 Z-3 R1\no1 repeat [3]\n#1=[#1+1]\nX#1 Y[2*#1]\no1 endrepeat\nG80\n"),
    ("any", HEAD + "#1=0\nG18 G99 G81 X0 Z0 Y-3 R1\no1 repeat [3]\n#1=[#1+1]\nX#1\no1 endrepeat\nG80\n"),
    ("any", HEAD + "#1=0\nG1\no1 repeat [3]\n#1=[#1+1]\nX#1 Y[-2*#1] F[100*#1]\no1 endrepeat\n"),
    ("any", HEAD + "#1=0\nG1\no1 repeat [3]\n#1=[#1-50000]\nX#1\no1 endrepeat\n"),
    ("any", HEAD + "G5\nG11\nG12\nG13\nG22\nG29\nG31\nG33\nG44\nG65\nG66\nG67\nG70\nG71\nG72\nG74\nG76\n"),
    ("any", HEAD + "M10\nM11\nM13\nM14\nM47\nM82\nM84\nM104\nM106\nM107\nM109\nM140\nM77\nM19\nM50\n"),
    ("any", HEAD + "G0 X3\nG92 Y7\nG0 X4 Y#5420 Z#5421\nG38.2 Z-4\nG0 X#5061 Y#5063\n"),
    ("any", HEAD + "G0 X5\nG10 L20 P0 X0 Z1\nG0 X1\n"), ("any", HEAD + "G92 X3\nG52 X1\nG55 G0 X0\nG92.1\nG0 X0\n"),
    ("any", HEAD + "G96 S100 G1 X10\nG97 S900 G1 X0\n"),
    ("any", HEAD + "o1 sub\nG1 X#1\no1 endsub\no1 call [5]\no1 call [6]\nM2\n"),
    ("any", HEAD + "#1=0\no1 while [#1 lt 3]\n#1=[#1+1]\nG1 Y#1\no1 endwhile\nM2\n"),
    ("any", HEAD + "M98 P7 L2\nM30\nO7\nG91 G1 X1\nG90\nM99\n"),
    ("ms-dwell-firmware", HEAD + "G4 P500\nG4 S2\nG2 X10 Y0 I5 J0\n"),
    ("small-motion-firmware", HEAD + "G4 P0.5\nG81 X1 Y1 Z-1 R1\nM6 T1\n"),
    ("small-motion-firmware", HEAD + "G38.2 Z-5 F50\nG2 X0 Y0 I5\nG53 G0 Z0\nG92 X0\n"),
    ("subprogram-mill", HEAD + "M98 P70002\nM30\nO2\nG1 X1\nM99\n"),
    ("labelled-flow-mill", HEAD + "#1=0\nN10 #1=[#1+1]\nG1 X#1\nIF [#1 LT 3] GOTO 10\nM30\n"),
    ("subprogram-mill", HEAD + "G83 X1 Y1 Z-4 R1 Q2 L2\nG65 P2 A1\n"),
    ("any", "G21 G91 G1 X1 F100\nX1\nG28 G91 Z0\n"), ("any", HEAD + "/G1 X5\nG1 Y5\n"),
    ("any", HEAD + "G1 X1 F200000\nG1 X150000\n"),
)  # fmt: skip
KINDS = ("rapid", "line", "cw", "ccw", "dwell", "probe")


def _g(value: float) -> str:
    return "?" if math.isnan(value) else f"{value if abs(value) > 5e-10 else 0.0:.6g}"


def told(program: Program, after: int) -> list[str]:
    """Motions, events and findings after a line, one each; a motion's state where it differs from the one before."""
    lines, table, before = [], program.motions, ""
    for row in range(min(len(table), 60)):
        text = f"{KINDS[table.kind[row]]} to {' '.join(map(_g, table.end_mm[row]))}, {_g(table.length_mm[row])} mm"
        if table.is_arc[row]:
            centre = " ".join(map(_g, table.centre_mm[row]))
            text += f" about {centre} by {_g(math.degrees(table.sweep_rad[row]))} deg in {table.plane[row]}"
        if table.dwell_s[row]:
            text += f" for {_g(table.dwell_s[row])} s"
        state = (
            f"; F {_g(table.feed_mm_min[row])} S {_g(table.spindle_rpm[row])} dir {table.spindle_dir[row]}"
        )
        state += f" G{table.feed_mode[row]} T {table.tool[row]} cool {table.coolant[row]}"
        state += (
            f" {program.frames[table.frame[row]].name} depth {table.call_depth[row]} flags {table.flags[row]}"
        )
        if table.line[row] > after:
            lines.append(f"{table.line[row]}: {text}{state if state != before else ''}")
        before = state
    lines.append(f"{len(table)} motions")
    for event in (one for one in program.events if one.line > after):
        lines.append(f"event {event.line}: {event.kind} {_g(event.value)} {event.text} before {event.motion}")
    for frame in program.frames[1:]:
        known = "known" if frame.known else "unknown"
        lines.append(f"frame {frame.name} {' '.join(map(_g, frame.shift_mm))} {known}")
    for one in program.findings:
        spans = " ".join(f"{span.line}:{span.start}-{span.end}" for span in one.spans[:3])
        limit = "nothing" if one.limit is None else _g(one.limit)
        numbers = "" if one.measured is None else f" ({_g(one.measured)} against {limit} {one.unit})"
        lines.append(f"{one.severity.word} {one.code} at {spans}: {one.fact}{numbers}")
        lines.append(f"  {one.action}; {one.found} / {one.expected}")
    return lines


def answer(text: str, options: ReadOptions) -> list[str]:
    """What a program is read as; the lines of HEAD are left out."""
    return told(read_program(text.encode(), options=options), 2 if text.startswith(HEAD) else 0)


def asked() -> dict[str, tuple[str, ReadOptions]]:
    """Every program by a name, with the way it is read."""
    found = {body.replace("\n", " / "): (HEAD + body + "\nM2\n", KNOWN) for body in BODIES}
    for profile, text in PROGRAMS:
        name = f"{profile}: " + text.replace(HEAD, "").strip().replace("\n", " / ")
        found[name] = (text, ReadOptions(profile=profile))
    return found


PARTS = 8


@pytest.mark.parametrize("part", range(PARTS))
def test_read_as_it_was_looked_at(part: int) -> None:
    kept, everything = json.loads(FILE.read_text(encoding="utf-8")), asked()
    assert set(kept) == set(everything)
    for name, (text, options) in list(everything.items())[part::PARTS]:
        assert answer(text, options) == kept[name], name


if __name__ == "__main__":
    answers = {name: answer(*how) for name, how in asked().items()}
    FILE.write_text(json.dumps(answers, indent=1) + "\n", encoding="utf-8", newline="\n")
