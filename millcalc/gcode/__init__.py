"""The G-code reader: bytes to a motion table, events, work frames and findings.

Takes the bytes of a program and what the job knows beforehand (ReadOptions); gives a Program.  A compiled kernel
reads plain blocks; every other block goes to the plain reader, and both write the same table.  May import
findings, errors, tuning and kernels; knows nothing of jobs, tables or printing.
"""

from millcalc.gcode.options import ReadOptions
from millcalc.gcode.program import Event, Frame, Program
from millcalc.gcode.reader import read_program, read_program_file

__all__ = ["Event", "Frame", "Program", "ReadOptions", "read_program", "read_program_file"]
