(G28 REMOVED 2024-03-01, SEE NOTE; IF Z<0 THEN STOP!)
G21 G90 G17 G94
G0 X0 Y0 Z5 ; <b>not html</b> >> quoted? {x: 1}
M2
