(sensor mounting plate 120 x 80 in 6 mm aluminium)
(zero: lower left corner, top of plate)
G21 G90 G17 G94 G40
T1 M6 (3.175 mm single flute)
S18000 M3
G4 P2
G0 Z5
G0 X-1.5875 Y0
G1 Z0 F200
G1 Y80 Z-1 F450
G1 Y81.5875
X121.5875
Y-1.5875
X-1.5875
Y20
Z-0.5 (tab)
Y26
Z-1
Y81.5875
G0 Z5
M5
M30
