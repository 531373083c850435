--- plate_a.nc
+++ plate_b.nc
@@ -1,5 +1,5 @@
 G21 G90 G17 G94
 G0 X0 Y0 Z3
-G1 Z-1 F100
+G1 Z-2 F80
 G0 Z3
 M2
