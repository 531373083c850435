#1=1
G21 G90 G17 G94 M3 S9000
G0 Z5
o1 while [#1 le 6]
  G[53+#1] G0 X0 Y0
  G1 Z-1 F100
  G0 Z5
  #1=[#1+1]
o1 endwhile
G54
M2
