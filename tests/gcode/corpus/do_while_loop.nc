#7=0
G21 G90 G17 G94 M3 S9000
G0 X0 Y0 Z2
o70 do
  #7=[#7+1]
  G1 X[#7*10] F200
o70 while [#7 lt 3]
M5
M2
