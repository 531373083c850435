"""Tuning numbers of holding: name, value, unit, reason, source."""

from __future__ import annotations

from typing import Final

# Screws from which a proposal for the sheet itself starts [-]: one a corner. Common practice, no source.
SCREWS_LEAST: Final = 4
# Screws a proposal goes up to in the sheet, and in a piece that comes loose [-]; beyond, hold it otherwise. Estimate.
SCREWS_MOST: Final = 24
SCREWS_MOST_IN_PIECE: Final = 4
# Places looked at on the coarse grid, and points along the cuts that are to be near a screw [-]; more tell nothing.
SCREWS_COARSE_PLACES: Final = 2500
SCREWS_CUT_POINTS: Final = 400
# Room beyond the margin that a proposed place is worth moving for [mm], and how many mm farther from the cut a
# screw may then stand for each mm of it [-]. Estimate.
SCREWS_SPARE_WISHED_MM: Final = 5.0
SCREWS_SPARE_WORTH: Final = 1.2
# Share of the stock's thickness below which cut-down material parts two regions [-]: tabs and skins are thinner.
# Estimate.
SCREWS_THIN_SHARE: Final = 0.5
# Span from which a thin plate is to be held closer, in thicknesses, and thickness from which it no longer matters
# [mm]: as SCREW-09 judges, from F L^3 / (48 E I). Estimate.
SCREWS_SPAN_PER_THICKNESS: Final = 25.0
SCREWS_THIN_PLATE_MM: Final = 4.0
# A screw that is moved is moved no further than this [mm]; then another place is better. Estimate.
SCREWS_MOVE_MOST_MM: Final = 150.0
# Clamp that is looked for where none is described: width along the edge, reach over the stock, height above it
# [mm]; and how far it stands out beside the stock [mm]. Estimate.
SCREWS_CLAMP_MM: Final = (20.0, 10.0, 15.0)
SCREWS_CLAMP_OUTSIDE_MM: Final = 30.0
# Extent of a piece from which it gets two screws, so that it cannot turn about one [mm]. Estimate.
SCREWS_TWO_FROM_MM: Final = 40.0
# Overlap of a clamp with the stock that a move leaves it, so that it still holds [mm]. Estimate.
SCREWS_CLAMP_GRIP_MM: Final = 5.0
# Pieces that are looked at one by one [-]; the largest of more.
SCREWS_PIECES: Final = 60
# Thread length taken where none is given: the board less this [mm], and at most this [mm]. Estimate.
SCREWS_ABOVE_METAL_MM: Final = 2.0
SCREWS_THREAD_MOST_MM: Final = 20.0
