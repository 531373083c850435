// plate
# plate
' plate
G21 G90 G17 G94 // metric
G0 X0 Y0 Z3 # up
M2
