G21 G90 G17 G94
M117 Turn the plate over
G0 X0 Y0 Z5
M2
