(feed 50% slower than usual)
G21 G90 G17 G94
G0 X0 Y0 Z5 ; 100 %
M2
