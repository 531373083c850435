#1=2
G21 G90 G17 G94 M3 S9000
G0 X0 Y0 Z2
o50 if [#1 eq 1]
  G0 X10
o50 elseif [#1 eq 2]
  G0 X20
o50 else
  G0 X30
o50 endif
o60 if [#1 gt 5]
  G0 Y50
o60 endif
G1 Z-1 F90
G0 Z2
M5
M2
