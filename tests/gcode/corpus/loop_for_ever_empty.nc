#1=1
o10 while [#1 gt 0]
  #1=[#1+1]
o10 endwhile
M2
