G21 G90 G17 G94
G0 X0 Y0 Z3
G1 Z-1 F150 (slow (really) slow)
G0 Z3
M2
