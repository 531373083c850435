(dowel pattern for the box corners; change the three numbers below)
#101=180 (length)
#102=120 (width)
#103=9   (edge distance)
G21 G90 G17 G94
T4 M6
M3 S10000
G0 Z5
G0 X#103 Y#103
G1 Z-12 F200
G0 Z5
X[#101-#103]
G1 Z-12
G0 Z5
Y[#102-#103]
G1 Z-12
G0 Z5
X#103
G1 Z-12
G0 Z5
M5
M30
