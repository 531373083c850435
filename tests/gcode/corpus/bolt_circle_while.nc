(bolt circle by hand-written macro)
#1=6 (holes)
#2=40 (pitch circle diameter)
#3=50 #4=30 (centre)
#5=0
G21 G90 G17 G94
M3 S7000
G0 Z5
o100 while [#5 lt #1]
  #6=[#5*360/#1]
  G0 X[#3+#2/2*cos[#6]] Y[#4+#2/2*sin[#6]]
  G1 Z-7 F150
  G0 Z5
  #5=[#5+1]
o100 endwhile
M5
M2
