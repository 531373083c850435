"""Tuning numbers of rewrite: name, value, unit, reason, source."""

from __future__ import annotations

from typing import Final

# An air cut passes this far above the highest thing on the bed [mm]. Common practice, no source.
LIFT_CLEARANCE_MM: Final = 2.0
# Largest height a program is raised by [mm]: more than any router's Z axis; beyond it is a slip of the pen. Estimate.
LIFT_MOST_MM: Final = 500.0
# A corrected feed that would rise for less path than this stays low [mm]: a light machine needs about as much to
# speed up and slow down again (v squared = a s at 1000 mm/min and 100 mm/s2: 2.8 mm). Estimate.
SMOOTH_MM: Final = 3.0
# Feeds by engagement go in steps of this ratio [-], so that small changes of engagement change nothing. Estimate.
FEED_LADDER: Final = 1.12
# A corrected feed keeps this share of a force-type limit free [-], for the rounding between two cells. Estimate.
CORRECT_RESERVE: Final = 0.995
# A restart begins at least this far back on the open path, in cutter diameters and in mm, whichever is more.
# Common practice, no source.
RESTART_BACK_DIAMETERS: Final = 1.0
RESTART_BACK_MM: Final = 2.0
# ... and no further than this [mm]. Estimate.
RESTART_BACK_MOST_MM: Final = 150.0
# Ramp angle of a re-entry where the material is not known [deg]: what aluminium takes. Common practice, no source.
RESTART_RAMP_DEG: Final = 2.0
# A re-entry goes down at rapid to this far above where its ramp begins [mm]. Common practice, no source.
RESTART_NEAR_MM: Final = 1.0
