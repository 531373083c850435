%
(rain gauge funnel flange)
G21 G90 G17 G94
M3 S9000
G0 X0 Y0 Z3
G1 Z-1 F150
X5
G0 Z3
M5
%
