G21 G90 G17 G94
G0 X0 Y0 Z3
#1=0
G0 X[10/#1]
G0 X[sqrt[-1]]
G0 X[ln[0]]
G0 X[asin[2]]
G0 X[[-8]**0.5]
G0 X10
M2
