G21 G90 G17 G94
; Grundplatte für die Wetterstation
G0 X0 Y0 Z3 ; über der Fläche
M2
