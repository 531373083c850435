"""Measuring the machine with household tools: the arithmetic of each procedure, and writing the result down.

Takes readings (typed, from CSV, from a recording), gives a result with its uncertainty and the lines for the
person's machine file. Wrong readings are named, never averaged away. ``how`` holds the procedures in words.
May import errors, units, tuning, mechanics and tables; SciPy only inside the functions that need it.
"""
