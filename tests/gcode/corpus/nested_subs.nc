o10 sub
  G1 Z-1 F80
  G0 Z2
o10 endsub
o20 sub
  G0 X#1 Y0
  o10 call
  G0 Y10
  o10 call
o20 endsub
G21 G90 G94 G17
M3 S11000
G0 X0 Y0 Z2
o20 call [5]
o20 call [25]
M5
M2
