"""Tuning numbers of preflight: name, value, unit, reason, source."""

from __future__ import annotations

from typing import Final

# Time a spindle is given to reach its speed when the machine is unknown [s]. Common practice, no source.
SPIN_UP_DEFAULT_S: Final = 3.0
# How far a dial's speed may be off from the S word before it is said [-]. Common practice, no source.
DIAL_TOLERANCE: Final = 0.10
# Rim speed above which a cutter is called fast [m/s]: about 100 mph in woodworking advice. No source.
RIM_SPEED_M_S: Final = 45.0
# A motion runs "below its feed" when its average is under this share of it [-]. Common practice, no source.
REACHED_SHARE: Final = 0.7
# Share of the cutting time below the feed that is worth a finding [-]. Estimate.
SLOW_TIME_SHARE: Final = 0.2
# Share of the cutting length that may rub because the feed is not reached [-]. Estimate.
RUB_LENGTH_SHARE: Final = 0.05
# Turn at which a controller is taken to come to rest [deg]: the careful case, and the quick case (reversal).
# Controllers differ and rarely say; the truth lies between the two. Estimate.
CORNER_REST_STRICT_DEG: Final = 30.0
CORNER_REST_QUICK_DEG: Final = 135.0
# Share of the side feed proposed for a plunge when nothing else is known [-]. Common practice, no source.
PLUNGE_SHARE: Final = 0.3
# Share of the least feed a turn of the drilling table below which a drill is said to rub [-]. Deep holes take
# 0.8 of the band, small drills its lower half; half of it leaves room for both. Estimate.
DRILL_RUBS_SHARE: Final = 0.5
# Height above the stock top that is proposed for travel [mm]. Common practice, no source.
TRAVEL_ABOVE_MM: Final = 3.0
# Height above the highest screw or clamp that is proposed for travel [mm]. Common practice, no source.
TRAVEL_OVER_A_HEAD_MM: Final = 2.0
# Smallest gap of a rapid above the stock [mm]; unevenness is added. Common practice, no source.
TRAVEL_GAP_MM: Final = 1.0
# Distance that shank, nut, spindle body and dust shoe keep from screws and clamps [mm]. Common practice, no source.
HOLDER_MARGIN_MM: Final = 1.0
# A screw's head lies this far inside the stock's edge [mm]. Common practice, no source.
HEAD_EDGE_MM: Final = 1.0
# Room between the heads of two screws, and between a head and a clamp, for driver and fingers [mm]. Estimate.
HEADS_APART_MM: Final = 4.0
# Share of the feed length above the stock that is worth a note [-]. Estimate.
AIR_SHARE: Final = 0.3
# A depth step this many times the usual one stands out [-]. Estimate.
UNEVEN_STEP: Final = 1.6
# A last slice thinner than this rubs [mm]. Common practice, no source.
THIN_SLICE_MM: Final = 0.1
# Depth of a full-width slot in diameters from which chips are likely to pack [-]. Common practice, no source.
NARROW_SLOT_METAL: Final = 1.5
NARROW_SLOT_OTHER: Final = 2.0
# Safety factor on a screw's ultimate withdrawal load [-]: 15 700 / 2850, the ultimate (Wood Handbook, chapter 8) over
# the published allowable load of the same screw, rounded up.
WITHDRAWAL_SAFETY: Final = 5.51
# Share of the solid-wood withdrawal formula that a board (MDF, particle board) holds [-]. Estimate from the
# face withdrawal class values of ANSI A208.2 (from memory).
PANEL_WITHDRAWAL_SHARE: Final = 0.3
# Friction of plate on board under the screw heads [-]. Estimate: metal on MDF 0.2 to 0.3.
HOLD_FRICTION: Final = 0.25
# Friction of work on vacuum plate, jaw or stop where the job gives none [-]. Lower end of what a table of friction
# coefficients (mech.subwiki.org) gives for wood on metal, dry and clean: 0.2 to 0.6; an estimate for other pairs.
PRESSED_FRICTION: Final = 0.2
# Safety factor of tape, vacuum, vice and side clamps [-]: 2 or more is common practice in fixtures, no source.
HOLD_SAFETY: Final = 2.0
# Shear strength of double-sided tape on clean board where the job gives none [N/mm2]. Estimate, no source.
TAPE_SHEAR_N_MM2: Final = 0.05
# Share of a tape's shear that it bears when pulled straight up, for it peels from its edge [-]. Estimate, no source.
TAPE_LIFT_SHARE: Final = 0.25
# Least effective thickness of a tab [mm] in metal and laminate, and in wood, plastic and foam. Common practice.
TAB_THICKNESS_HARD_MM: Final = 0.5
TAB_THICKNESS_SOFT_MM: Final = 1.0
# Safety factor of the tabs' section [-]. Common practice, no source.
TAB_SAFETY: Final = 4.0
# Run time from which staying with the machine is spelt out [s]. Common practice, no source.
LONG_RUN_S: Final = 1200.0
# Cutting slower than this share of the feed marks the place where wood burns and plastic melts [-]. Estimate.
BURN_SHARE: Final = 0.25
# Path below which rubbing is only noted [diameters]: ways in and out are slow by intent. Estimate.
RUBBING_DIAMETERS: Final = 2.0
# Times a limit from which a pass is a stop [-]: half as much again where the cutter snaps or chips pack and weld (its
# strength, and room for chips in metal), twice where it only bends or stalls. Estimate, held against tests/practice.
STOP_FROM: Final = 2.0
STOP_FROM_WHERE_IT_BREAKS: Final = 1.5
# Ramp angle over the table's greatest from which going down is a stop in metal [-]: it is a plunge by then. Estimate.
RAMP_STOP: Final = 3.0
# Share of an axis's usable push from which climb milling against play is a warning [-]: below it the friction of the
# axis and the holding of its motor keep the table from being pulled through the play. Estimate.
CLIMB_PULL_SHARE: Final = 0.25
# Share of the path at depth that lies outside the stock before a wrong zero or turn is suspected [-]; less of it is
# a way in or out beside the stock. Estimate.
ZERO_OUTSIDE_SHARE: Final = 0.25
# Feed above which a word is taken for wrong when the machine is unknown [mm/min]: small gantries end at 3 to 10 m/min,
# large routers at 25. Common practice, no source.
FEED_BEYOND_MM_MIN: Final = 15000.0
# Most cuts for which the pull at the most loaded screw is shown one by one [-]: each takes about 0.1 ms. Estimate.
PULLS_AT_MOST: Final = 20_000
# Motions that are looked at together [-]: as many as keep the memory for a long program small. Estimate.
MOTIONS_AT_ONCE: Final = 200_000
