"""New copies of a program: raised for an air cut, begun again after a stop, with feeds and speeds corrected.

Takes a :class:`~millcalc.rewrite.desk.Desk` (the program's bytes, the job, and how to read and to simulate); gives
the bytes of the copy together with what was changed and what was checked. Nothing is guessed: what cannot be
rewritten with certainty is refused with its line. Every copy is read again and compared with the original motion by
motion before it is handed over. May import gcode, job, tables, mechanics, advise, stock, preflight; prints nothing.
"""
