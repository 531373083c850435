G21 (metric) G90 (absolute) G17 G94
G0 (fast) X0 (left) Y0 (front) Z3 (up)
(before) G0 X5 (after)
G0 X(ten)10
M2
