; level the waste board under the box parts
g21 g90 g17 g94
m3 s16000
g0 z3
g0 x0 y0
g1 z-0.3 f400
g1 x200 f2500
y20
x0
y40
x200
y60
x0
g0 z20
m5
m2
