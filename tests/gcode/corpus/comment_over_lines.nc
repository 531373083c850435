(this comment
goes over
three lines)
G21 G90 G17 G94
G0 X0 Y0 Z5
M2
