10:41:07 start
G21 G90 G17 G94
ok
G0 X0 Y0 Z3
ok
error: 2
M2
