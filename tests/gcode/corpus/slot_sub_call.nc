o<slot> sub
  (#1 x, #2 y, #3 length, #4 depth)
  g0 x#1 y#2
  g1 z#4 f120
  g1 x[#1+#3] f500
  g0 z3
o<slot> endsub
g21 g90 g17 g94 s12000 m3
g0 z3
o<slot> call [10] [5] [30] [-2]
o<slot> call [10] [15] [30] [-2]
o<slot> call [10] [25] [20] [-3]
m5
m30
