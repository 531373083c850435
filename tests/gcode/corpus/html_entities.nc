G21&nbsp;G90&nbsp;G17&nbsp;G94
G0 X0 Y0 Z3<br>
M2
