#1=0
G21 G90 G17 G94 M3 S14000
G0 X0 Y0 Z3
o1 while [#1 lt 10]
  #1=[#1+1]
  o2 if [#1 eq 3]
    o1 continue
  o2 endif
  o3 if [#1 eq 6]
    o1 break
  o3 endif
  G0 X[#1*10]
o1 endwhile
M2
