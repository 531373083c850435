o9 sub
  G0 X#1
  o91 if [#1 gt 15]
    o9 return
  o91 endif
  G1 Z-1 F100
  G0 Z3
o9 endsub
G21 G90 G17 G94 M3 S14000
G0 X0 Y0 Z3
o9 call [10]
o9 call [20]
M2
