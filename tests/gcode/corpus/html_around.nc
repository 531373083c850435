<!DOCTYPE html>
<html><head><title>plate.nc</title></head>
<body><pre>
G21 G90 G17 G94
M3 S9000
G0 X0 Y0 Z3
G1 Z-1 F150
G0 Z3
M5
M2
</pre></body></html>
