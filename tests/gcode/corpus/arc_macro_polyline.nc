(ellipse 60 x 40 for the funnel mouth, 72 chords, by macro)
#10=30 #11=20
#12=0
G21 G90 G17 G94 M3 S14000
G0 Z3
G0 X#10 Y0
G1 Z-1 F150
o1 while [#12 lt 360]
  #12=[#12+5]
  G1 X[#10*cos[#12]] Y[#11*sin[#12]] F700
o1 endwhile
G0 Z3
M5
M2
