(-------------------------)
(     OPERATION 1: FACE   )
(-------------------------)
G21 G90 G17 G94
M3 S9000
G0 X0 Y0 Z5
( *** OPERATION 2: BORE *** )
G1 Z-1 F100
G0 Z5
( <<< END >>> )
M2
