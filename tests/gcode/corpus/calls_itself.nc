o5 sub
  G91 G0 X1
  o5 call
o5 endsub
G21 G90 G17 G94
G0 X0 Y0 Z5
o5 call
M2
