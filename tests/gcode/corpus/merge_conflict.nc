G21 G90 G17 G94
M3 S9000
G0 X0 Y0 Z3
<<<<<<< HEAD
G1 Z-1 F150
=======
G1 Z-2 F120
>>>>>>> deeper-pass
G1 X10
G0 Z3
M5
M2
