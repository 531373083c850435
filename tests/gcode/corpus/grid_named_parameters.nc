#<columns>=4
#<rows>=3
#<pitch>=15.5
#<depth>=-6.5
g21 g90 g17 g94
m3 s9000
g0 z4
#<row>=0
o200 while [#<row> lt #<rows>]
  #<col>=0
  o210 while [#<col> lt #<columns>]
    g0 x[#<col>*#<pitch>] y[#<row>*#<pitch>]
    g1 z#<depth> f140
    g0 z4
    #<col>=[#<col>+1]
  o210 endwhile
  #<row>=[#<row>+1]
o200 endwhile
m5
m2
