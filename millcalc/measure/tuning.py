"""Tuning numbers of measure: name, value, unit, reason, source."""

from __future__ import annotations

from typing import Final

# Strongest pull that is believed [N]: 50 kg; more is a mistaken unit or harms a light machine. Estimate.
STRONGEST_PULL_N: Final = 500.0
# Largest reading of a dial [mm]: more than any household indicator travels. Estimate.
LARGEST_READING_MM: Final = 100.0
# Step of a cheap dial indicator [mm]. Common practice, no source.
DIAL_RESOLUTION_MM: Final = 0.01
# Chance that a series without a fault has a reading called bad [-], and share of bad ones that spoils a series
# [-]. Estimates.
BAD_READING_CHANCE: Final = 0.01
MOST_BAD_SHARE: Final = 0.25
# Relative standard uncertainty of a slope above which it is not worth writing down [-]. Estimate.
MOST_UNCERTAIN_SLOPE: Final = 0.25
# Error of a luggage scale and of a dial's travel together [-], a calibration the readings cannot show. Estimate.
SCALE_ERROR: Final = 0.03
# Stiffness that a household test can meet [N/um]; outside, a unit is mistaken. Estimate.
STIFFNESS_BELIEVED_N_UM: Final = (0.01, 100.0)
# Share of the measured give that spindle and rod may take before the rest is too uncertain [-]. Estimate.
MOST_NOT_FRAME: Final = 0.7
# Smallest spread that is written for a measured stiffness [-]: it differs over the table. Estimate.
LEAST_MEASURED_SPREAD: Final = 1.05
# Young's modulus of a steel rod [N/mm2]. From memory, handbooks give 200 to 210 GPa.
STEEL_YOUNGS_N_MM2: Final = 205_000.0
# Error of starting and stopping a watch by hand [s]. Common practice, no source.
STOPWATCH_S: Final = 0.2
# Share of true run-out that half the difference of slot widths shows, turning the cutter by quarters [-]:
# between cos 45 deg and 1. Closed form, checked in tests/measure.
SLOT_RUNOUT_SHARE: Final = (0.7071, 1.0)
# Damping ratio a tap can show on a machine [-]; outside, it was no ringing. Estimate.
DAMPING_BELIEVED: Final = (0.001, 0.3)
# Factor between the two estimates of damping that is worth a warning [-]. Estimate.
DAMPING_AGREES: Final = 1.6
# Hum of mains of 50 and 60 Hz: the supply's and, twice that, a transformer's [Hz]. Common practice, no source.
MAINS_HZ: Final = (50.0, 60.0, 100.0, 120.0)
# How near to it a pitch is doubted [Hz]. Estimate.
NEAR_MAINS_HZ: Final = 1.5
