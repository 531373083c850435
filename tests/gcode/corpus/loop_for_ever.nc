G21 G90 G17 G94
G0 X0 Y0 Z5
o10 while [1]
  G0 X10
  G0 X0
o10 endwhile
M2
