"""Tuning numbers of stock: name, value, unit, reason, source."""

from __future__ import annotations

from typing import Final

# Cells across the smallest cutter [-]: a width is then known to about an eightieth of the diameter (root mean
# square) and to a sixteenth in the worst direction (measured, tests/stock/test_convergence.py).
REMOVAL_CELLS_PER_DIAMETER: Final = 32
# Finest default cell [mm]: finer than a hobby machine's own error. Estimate.
REMOVAL_SMALLEST_CELL_MM: Final = 0.02
# Memory the grid may take [byte]; coarser cells beyond. Leaves room for a million motions in 1.5 GB.
REMOVAL_MEMORY_BYTES: Final = 400_000_000
# Travel over which engagement is measured: share of the diameter [-], and at least so many cells [-], so that the
# mean spacing of lateral offsets, cell^2 / travel, is a quarter of a cell or less.
REMOVAL_WINDOW_PER_DIAMETER: Final = 0.125
REMOVAL_WINDOW_CELLS: Final = 4.0
# Material left above the stock bottom that counts as cut through [mm]: holds nothing. Estimate.
REMOVAL_SKIN_MM: Final = 0.02
# Largest number of cells of the field that is handed out [-]; coarser beyond. Pictures need no more.
REMOVAL_FINAL_CELLS: Final = 6_000_000
# Steps handed to the kernels at a time [-]: about a tenth of a second, so that an interrupt is obeyed.
REMOVAL_CHUNK_STEPS: Final = 200_000
# Engagement jumps kept [-]; further ones are counted only.
REMOVAL_JUMPS_KEPT: Final = 20_000
# Pieces below this many cells, or narrower than about this share of the cutter's diameter, are slivers that the
# cell size may have made [-]. Estimate.
REMOVAL_SLIVER_CELLS: Final = 9
REMOVAL_SLIVER_PER_DIAMETER: Final = 0.25
# Loose pieces described in full [-].
REMOVAL_PIECES_KEPT: Final = 200
# A screw holds the plate this far beyond its head or shank [mm]. Estimate.
REMOVAL_HOLD_RING_MM: Final = 1.0
# Webs and walls narrower than this share of the largest cutter's diameter are reported [-], and skins thinner than
# this [mm]. Estimate.
REMOVAL_WEB_PER_DIAMETER: Final = 1.25
REMOVAL_THIN_SKIN_MM: Final = 0.5
# Cells of the search for thin webs [-]; every second or third cell is taken beyond.
REMOVAL_WEB_CELLS: Final = 2_000_000
# Looking again at one motion, for the moment of first contact or of release: most cells around it [-], step along it
# [mm] and most steps [-]: a contact within a quarter of a millimetre on motions up to 256 mm, in some hundredths of a
# second. Estimates.
CONTACT_CELLS: Final = 160_000
CONTACT_STEP_MM: Final = 0.25
CONTACT_STEPS: Final = 1024
