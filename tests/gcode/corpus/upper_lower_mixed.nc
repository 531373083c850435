g21 G90 g17 G94
m3 S9000
G0 x0 Y0 z3
(Comment In Mixed Case) g1 Z-1 f100
x5Y5
G0z3
M5
m2
