(M10 thread in the mast clamp, thread mill 7.5 mm, pitch 1.5, climbing upwards)
G21 G90 G17 G94
M3 S6000
G0 X0 Y0 Z5
G1 Z-9 F500
G3 X1.25 Y0 I0.625 J0 F120
G3 X1.25 Y0 Z-7.5 I-1.25 J0
G3 X1.25 Y0 Z-6 I-1.25 J0
G3 X0 Y0 I-0.625 J0
G0 Z5
M5
M2
