"""Tuning numbers of check: name, value, unit, reason, source."""

from __future__ import annotations

from typing import Final

# File name endings taken for programs in a folder. Common practice, no source.
PROGRAM_ENDINGS: Final = (".nc", ".ngc", ".gcode", ".gc", ".g", ".cnc", ".tap", ".ncc", ".din", ".eia")
# Programs taken from folders at once, at most [-]: more is a slip in the folder's name. Estimate.
MOST_PROGRAMS: Final = 2000
# A program of this size [byte] takes about a second to check, smaller ones hardly less; a new process takes as long to
# begin as this many of them [-]. Estimates from the demo jobs: 1.5 s a program, 4 s a process.
SMALL_PROGRAM_BYTES: Final = 50_000
SMALL_PROGRAMS_A_PROCESS: Final = 4
# Longest path below the top of the stock that is simulated [mm]: 20 km are five days at 3 m/min. Estimate.
LONGEST_PATH_MM: Final = 20_000_000.0
# Heights of what is left of two cuts closer than this are the same [mm]: below the error of the cells. Estimate.
COMPARE_HEIGHT_MM: Final = 0.02
