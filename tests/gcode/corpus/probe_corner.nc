(touch the plate's corner with a 6 mm pin and set G54)
G21 G90 G94 G17
G0 X0 Y0 Z10
G91
G38.2 Z-15 F80
G0 Z2
G0 X-20
G0 Z-6
G38.2 X25 F80
G0 X-2
G90
G10 L20 P1 X-5
M2
