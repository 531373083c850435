;--- box lid, 9 mm birch ---
G21 ; metric
G90 ; absolute (not incremental)
G17 G94;plane and feed mode
M3 S16000
G0 X0 Y0 Z3 ; start
G1 Z-1 F300 (plunge) ; slowly
G1 X10 ; ( an open bracket after a semicolon is only text
G0 Z3
M5
M2
; end of file
