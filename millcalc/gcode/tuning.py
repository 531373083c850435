"""Tuning numbers of gcode: name, value, unit, reason, source."""

from __future__ import annotations

from typing import Final

# [byte]; larger files are refused: memory is about five times the text; estimate.
MAX_PROGRAM_BYTES: Final = 1 << 30
# [byte]; a longer line is reported and not read: no program line is that long; estimate.
MAX_LINE_BYTES: Final = 1 << 16
# [lines]; below this plain Python is quicker than importing the compiled reader; measured.
FAST_FROM_LINES: Final = 3000
# [motions]; about 2.6 GB of table; estimate.
MAX_MOTIONS: Final = 20_000_000
# [pecks of one hole]; more is taken for a slip in Q; estimate.
MAX_PECKS: Final = 10_000
# [calls]; deeper nesting is taken for a program that calls itself; estimate.
MAX_CALL_DEPTH: Final = 50
# [jumps back]; more is taken for a program without end; estimate.
MAX_LOOP_JUMPS: Final = 100_000
# [blocks run more than once]; bounds reading to about a minute; estimate.
MAX_LOOP_BLOCKS: Final = 400_000
# [lines]; after so many lines that are not G-code reading stops and says so; estimate.
MAX_BAD_LINES: Final = 20_000
# [findings]; further ones of the same code are counted only; estimate.
MAX_FINDINGS_PER_CODE: Final = 200
# [events]; comments beyond this are read but not kept as events; estimate.
MAX_COMMENT_EVENTS: Final = 10_000
# [frames]; the column holds one byte.
MAX_FRAMES: Final = 250
# [-]; a decimal this near an integer is that integer; NISTIR 6556 section 3.3.2.1.
INTEGER_TOLERANCE: Final = 0.0001
# [-]; two values of an expression this near are equal; common practice, no source.
EQUAL_TOLERANCE: Final = 1e-6
# [mm]; start and end radius may differ by this; NISTIR 6556 section 3.5.3.2.
ARC_TOLERANCE_MM: Final = 0.002
# [in]; the same in inch mode; NISTIR 6556 section 3.5.3.2.
ARC_TOLERANCE_IN: Final = 0.0002
# [mm]; differences up to this are rounding of short decimals; common practice, no source.
ARC_ROUNDING_MM: Final = 0.005
# [-]; or this share of the radius; common practice, no source.
ARC_ROUNDING_SHARE: Final = 0.001
# [mm]; an arc end this near its start is the start: a full circle; far below any axis step.
ARC_EQUAL_MM: Final = 1e-7
# [mm]; half the last digit of three decimals, to judge an R arc; estimate.
ARC_HALF_ROUNDING_MM: Final = 0.0005
# [mm]; rapid return in G83 and back-off in G73 stop this short of the bottom; from memory.
PECK_CLEARANCE_MM: Final = 0.254
# [mm]; shortest probing distance; NISTIR 6556 section 3.5.9.1.
PROBE_CLEARANCE_MM: Final = 0.254
# Two programs' motions closer than this are the same [mm]: finer than any router steps. Estimate.
COMPARE_SAME_MM: Final = 1e-3
# Two feeds or speeds closer than this share are the same [-]: rounding of an inch program. Estimate.
COMPARE_SAME_SHARE: Final = 1e-3
# Pairs of motions that are compared one with every other in a stretch that differs, at most [-]; a longer stretch
# without a common landmark counts as replaced. Estimate: a second of work.
COMPARE_PAIRS: Final = 250_000
# Stretches that differ and are kept, at most [-]; more are counted. Estimate.
COMPARE_STRETCHES: Final = 1000
# Largest coordinate, radius or arc travel of one block [mm]: 100 m, farther than any machine reaches. Estimate.
FARTHEST_MM: Final = 100_000.0
# [mm]; a shorter way in a cycle is none; rounding of a float at 100 m is finer.
NO_WAY_MM: Final = 1e-12
# Words above this go to the exact reader, which knows the unit [mm or in]: below 100 m in inches too.
FAR_WORD: Final = 3900.0
