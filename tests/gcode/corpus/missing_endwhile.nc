G21 G90 G17 G94
#1=0
o10 while [#1 lt 3]
  #1=[#1+1]
M2
