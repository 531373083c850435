"""Programs as hands write them: subprograms, loops, increments, cycles, stops."""

from __future__ import annotations

BY_HAND: dict[str, str] = {
    "sub-letter-o": """(row of slots by a subprogram)
O100 sub
  G0 Z5
  G0 X[#1] Y20
  G1 Z-1 F200
  G1 Y60 F700
  G0 Z5
O100 endsub
G21 G90 G17 G94
G0 Z5
M3 S14000
G4 P4
O100 call [20]
O100 call [40]
O100 call [60]
M5
M2
""",
    "loop": """(grid of holes by a loop)
G21 G90 G17 G94
S8000 M3
G4 P4
G0 Z10
#1=0
O101 while [#1 LT 5]
  G0 X[20+10*#1] Y30
  G0 Z1
  G1 Z-3 F150
  G0 Z10
  #1=[#1+1]
O101 endwhile
M5
M30
""",
    "increments": """(teeth of a comb, step by step)
G21 G90
M3 S12000
G0 Z5
G0 X15 Y15
G0 Z1
G91
G1 Z-2 F200
G1 Y30 F600
G0 Z2
G0 X5
G1 Z-2 F200
G1 Y-30 F600
G0 Z2
G90
G0 Z20
M5
M30
""",
    "tapping": """(four threads)
G21 G90 G17 G94
T5 M6
S400 M3
G0 Z10
G0 X20 Y20
G84 X20 Y20 Z-8 R3 F320
X60
Y60
G80
G0 Z20
M5
M30
""",
    "boring-cycles": """%
O0007
N10 G20 G90 G17 G40 G49 G80
N20 T2 M6
N30 S2500 M3
N40 G0 X0.75 Y0.75
N50 G43 H2 Z0.5
N60 G98 G83 Z-0.4 R0.1 Q0.1 F4.
N70 X1.5
N80 Y1.5
N90 G80
N100 G0 Z0.5
N110 M5
N120 G28 G91 Z0.
N130 G90
N140 M30
%
""",
    "two-files-in-one": """(pocket first, then the outline with another cutter)
G21 G90 G17
(cutter 1: 6 mm flat)
M3 S12000
G4 P5
G0 Z10
G0 X30 Y30
G1 Z-1 F250
G1 X60 F900
G1 Y50
G1 X30
G1 Y30
G0 Z10
M5
M0 (fit cutter 2, zero Z again)
M3 S16000
G4 P5
G0 Z10
G0 X20 Y20
G1 Z-0.5 F250
G1 X70 F800
G1 Y60
G1 X20
G1 Y20
G0 Z10
M5
M30
""",
    "short-engraving": """G90
G21
G0 Z3
M3 S10000
G0 X10 Y10
G1 Z-0.2 F300
G1 X40 Y10 F800
G1 X40 Y14
G0 Z3
G0 X0 Y0
M5
M2
""",
    "ramp-pocket-offset": """(pocket in the second place)
G21 G90 G17 G94 G55
S15000 M3
G4 P3
G0 Z6
G0 X10 Y10
G0 Z0.5
G1 X40 Z-1 F400
G1 X10 F800
G1 Y16
G1 X40
G1 Y22
G1 X10
G0 Z6
M9
M5
M30
""",
    "vertical-arcs": """(a groove along XZ arcs)
G21 G90
M3 S14000
G4 P3
G17
G0 Z5
G0 X20 Y30
G1 Z0 F300
G18
G2 X40 Z0 I10 K17.32 F500
G17
G0 Z5
M5
M30
""",
    "feeds-with-dots": """N1 G21
N2 G90
N3 M3 S18000
N4 G0 Z5.0
N5 G0 X12.5 Y7.25
N6 G1 Z-1.0 F333.3
N7 G1 X60.0 F1000.0
N8 G1 Y40.0
N9 G1 Z-2.0 F333.3
N10 G1 X12.5 F1000.0
N11 G1 Y7.25
N12 G0 Z5.0
N13 M5
N14 M30
""",
}
