"""Tuning numbers of job: name, value, unit, reason, source."""

from __future__ import annotations

from typing import Final

# Distance to keep from a screw or clamp whose position was measured [mm]: a calliper or a drilled mark puts
# it within a few tenths, the cutter's run-out and the frame's give add as much. Common practice, no source.
MARGIN_MEASURED_MM: Final = 1.0
# The same when the position was judged by eye [mm]: placing by hand is off by 1-2 mm. Common practice, no source.
MARGIN_GUESSED_MM: Final = 3.0
# Largest length, place or offset that a job may name [mm]: 100 m, far beyond any bench. Estimate.
LARGEST_LENGTH_MM: Final = 1e5
# Largest area [mm2]: the square of that length. Estimate.
LARGEST_AREA_MM2: Final = 1e10
# Largest holding force [N]: a thousand tonnes' weight, far beyond any vice. Estimate.
LARGEST_FORCE_N: Final = 1e7
# Largest strength or pressure [N/mm2]: beyond any solid. Estimate.
LARGEST_STRESS_N_MM2: Final = 1e5
# Largest density of what holds the screws [kg/m3]: beyond the densest metal, 22,600. From memory.
LARGEST_DENSITY_KG_M3: Final = 3e4
# Largest spindle speed [rev/min]: beyond any spindle. Estimate.
LARGEST_SPEED_RPM: Final = 1e6
# Smallest size other than zero, in the unit of its field [-]: a millionth; below it lies rounding, or a slip. Estimate.
SMALLEST_NUMBER: Final = 1e-6
# Most screws, clamps or other entries in one list of a job [-]: each is looked at from every motion. Estimate.
MOST_ENTRIES: Final = 1000
