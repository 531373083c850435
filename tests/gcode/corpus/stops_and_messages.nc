G21 G90 G17 G94
(MSG, clamp the plate)
M0
M3 S9000
G0 X0 Y0 Z5
( m s g , turn the plate over )
M1
G1 Z-1 F100 M8
M9
G0 Z5 M5
M60
M2
