(====================================================================================================)
(  WEATHER STATION - SENSOR MOUNTING PLATE, REVISION C                                                )
(  material: aluminium sheet 6 mm, film on the lower face stays on                                    )
(  cutter 1: 3.175 mm single flute up-cut; cutter 2: 90 degree spotting bit                           )
(  X0 Y0 is the lower left corner, Z0 is the top face; keep the clamps 15 mm away from X60 Y0          )
(  G1 X999 in a comment is only text; so is M30, % and #1=5                                           )
(====================================================================================================)

G21 G90 G17 G94
S15000 M3
G0 X5 Y5 Z5 (MSG, check that the film is on)
G1 Z-0.2 F150
G0 Z5
M5
M30
