(rain	gauge	bracket,	first	side)	 
G21	G90	G17	G94	 
T1	M6	 
S14000	M3	 
G0	Z5	 
G0	X10	Y10	 
G1	Z-1	F200	 
G1	X60	F800	 
G3	X60	Y30	I0	J10	 
G1	X10	 
G3	X10	Y10	I0	J-10	 
G0	Z5	 
M5	 
M30	 
