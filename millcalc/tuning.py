"""Every tuning number: name, value, unit, reason, source. Grouped by the stage that uses it."""

from __future__ import annotations

from typing import Final

# --- advise ---------------------------------------------------------------------------------------

# Share of a limit that a proven cut may use [-]: all of it.
PROVEN_BUDGET: Final = 1.0
# Largest share of the rubbing limit (smallest chip / chip) a setting may use [-]; keeps the chip a little
# above the floor when the feed falls short. Common practice, no source.
RUBBING_BUDGET: Final = 0.9
# Bending stress a carbide cutter may see at its root [N/mm2]: about a quarter to a third of the transverse
# rupture strength of micrograin carbide (3500-4200 N/mm2, from memory). Estimate: tension and notch factors.
CARBIDE_STRESS_N_MM2: Final = 1000.0
# The same for high-speed steel [N/mm2]: a quarter of its rupture strength (2400-4800, Kalpakjian table 22.1,
# from memory). Estimate.
HSS_STRESS_N_MM2: Final = 700.0
# Young's modulus [N/mm2]: 10 % Co micrograin carbide 580-600 GPa, HSS 200-220 GPa. From memory.
CARBIDE_YOUNGS_N_MM2: Final = 590_000.0
HSS_YOUNGS_N_MM2: Final = 210_000.0
# Share of an axis's stalling push that cutting may use [-]: half ("deepest safety 50 %"); with the first-cut
# budget this becomes about a third. Common practice, no source.
THRUST_SHARE: Final = 0.5
# Damping ratio of the cutter and spindle mode when none was measured [-]: structures 0.02-0.05, tools
# 0.01-0.03. Source: from memory, Altintas, Manufacturing Automation.
DEFAULT_DAMPING: Final = 0.03
# Moving mass assumed when no frame mode is known [kg]; gives 50 Hz at 1 N/um. Estimate.
DEFAULT_MOVING_MASS_KG: Final = 10.0
# Ratio of radial to tangential and axial to tangential force where no milling coefficients were published [-]
# (Kre/Kte 0.8-1, Krc/Ktc 0.16-0.5, Kac/Ktc 0.29-0.43 in aluminium). Derived from the same paper, table 5.
RADIAL_RATIO: Final = 0.4
AXIAL_RATIO: Final = 0.3
# Length of path between corners that the feed should be reachable on when the person gives none [mm]: the
# straight parts of a small plate. Estimate.
DEFAULT_SEGMENT_MM: Final = 10.0
# Smallest depth worth advising [mm]; below it a hobby machine's own height error decides. Estimate.
SMALLEST_DEPTH_MM: Final = 0.05
# Radial widths tried for a side cut, as a share of the diameter [-]. Avoid half-immersion and more:
# Dormer Pramet milling catalogue, p. 114.
SIDE_WIDTHS: Final = (0.05, 0.075, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4)
# Radial widths tried for facing [-]. Common practice, no source.
FACE_WIDTHS: Final = (0.3, 0.4, 0.5, 0.6, 0.7, 0.8)
# Clearance between collet face and stock top that the stickout must leave [mm]. Common practice, no source.
STICKOUT_CLEARANCE_MM: Final = 2.0
# Default stickout when none is given: flute length plus this [mm]; flutes must stay out of the collet.
# Common practice, no source.
STICKOUT_PAST_FLUTES_MM: Final = 2.0
# Chip-room limit of a straight plunge or peck with an end mill [diameters]. Dormer Pramet catalogue, p. 210.
PLUNGE_STROKE_PER_DIAMETER: Final = 0.5
# Feed while ramping or milling a helix, as a share of the normal feed [-]. Kyocera catalogue 2021-22, p. 908.
RAMP_FEED_SHARE: Final = 0.5
# Smallest gain that is worth naming under "what would buy more" [-]. Estimate.
WORTH_NAMING_GAIN: Final = 1.08

# --- cutlog: likeness of cuts ---------------------------------------------------------------------

# Two cuts are one unit of dissimilarity apart when this quantity alone differs by this factor [-]. Chosen so
# that one unit is about the smallest difference after which a machinist would no longer call it "the same
# cut". All of them: estimate.
SIMILAR_DIAMETER_FACTOR: Final = 1.25
SIMILAR_FLUTES_FACTOR: Final = 1.5
SIMILAR_FORCE_FACTOR: Final = 1.4  # specific cutting force of the material
SIMILAR_COMPLIANCE_FACTOR: Final = 2.0  # cutter compliance, stickout^3 / diameter^4
SIMILAR_DEPTH_FACTOR: Final = 1.5
SIMILAR_WIDTH_FACTOR: Final = 1.6
SIMILAR_CHIP_FACTOR: Final = 1.5
# Units added (in squares) where a name differs although the numbers may agree [-]. Estimate.
SIMILAR_OTHER_MATERIAL: Final = 0.5
SIMILAR_OTHER_COOLING: Final = 0.6
SIMILAR_OTHER_OPERATION: Final = 0.5
SIMILAR_OTHER_MACHINE: Final = 1.0
SIMILAR_SOMEBODY: Final = 1.0
# Units counted for a quantity that the past cut does not state [-]. Estimate.
SIMILAR_UNKNOWN: Final = 1.0
# Distances up to which a past cut is called nearly the same, close, related [-]; beyond, it is not shown.
SIMILAR_SAME: Final = 0.7
SIMILAR_CLOSE: Final = 1.5
SIMILAR_RELATED: Final = 3.0
# Newest cuts looked at in one cell of the search grid, so that a log of one cut repeated a million times still
# answers at once [-]. Estimate.
SIMILAR_PER_CELL: Final = 500

# --- cutlog: learning -----------------------------------------------------------------------------

# Chance that a cut fails when it stands exactly at a limit [-]: the definition of the learned limit.
LEARN_FAILURE_AT_LIMIT: Final = 0.10
# Spread from cut to cut of ln(share) at which a cut fails, as the scale of a logistic curve [-]; the standard
# deviation is 1.81 times this: about 27 %, from batch, sharpness and clamping. It is not known of any shop, so
# it is averaged over a log-normal spread: values, and the weight of each before any cut. Estimate.
LEARN_SCATTERS: Final = (0.08, 0.11, 0.15, 0.21, 0.30)
LEARN_SCATTER_WEIGHTS: Final = (0.11, 0.24, 0.30, 0.24, 0.11)
# Width in ln(share) of the band in which a cut is called acceptable rather than good [-]: 20 %. Estimate.
LEARN_ACCEPTABLE_BAND: Final = 0.18
# Chance that an outcome has nothing to do with the limit, or was noted wrongly [-]. Estimate.
LEARN_MISTAKE: Final = 0.02
# Standard deviation of ln(real limit / computed limit) before any cut is logged [-]. Deflection: the machine
# tables' stiffness spread of 1.5. The others: estimates; chatter follows from damping, hardly ever known.
LEARN_PRIOR_SD: Final = {
    "deflection": 0.405,
    "power": 0.26,
    "thrust": 0.34,
    "chatter": 0.60,
    "chip_high": 0.34,
    "chip_low": 0.405,
    "hold_down": 0.47,
}
# Standard deviation of ln(measured wall error / computed deflection) of one cut [-]: wear, backlash, run-out
# and the calliper add to bending. Estimate.
LEARN_SIZE_SD: Final = 0.5
# Smallest wall error that a calliper tells from nothing [mm]: half of 0.02 mm. Common practice, no source.
LEARN_SIZE_STEP_MM: Final = 0.01
# Time after which a good cut counts half, and a failure counts half [day]: belts stretch and screws wear, but
# a failure is remembered longer. Estimate.
LEARN_HALF_LIFE_DAYS: Final = 365.0
LEARN_FAILURE_HALF_LIFE_DAYS: Final = 1095.0
# Telling cuts of one limit below which nothing is changed [-]. Estimate.
LEARN_LEAST_CUTS: Final = 5
# Share from which a good cut tells anything about a limit [-]. Estimate.
LEARN_TELLING_SHARE: Final = 0.5
# How sure it must be that the real limit lies higher before the margin is raised [-], and how sure that it
# lies lower before the margin is lowered. Safety: a failure costs more than a slow cut.
LEARN_SURE_TO_RAISE: Final = 0.90
LEARN_SURE_TO_LOWER: Final = 0.50
# Bounds of a margin [-], and how far it may go beyond the largest share that went well [-]. Safety.
LEARN_LARGEST_MARGIN: Final = 1.5
LEARN_SMALLEST_MARGIN: Final = 0.4
LEARN_STEP_BEYOND_TRIED: Final = 1.15
# Share of the posterior that the shown interval holds [-].
LEARN_INTERVAL: Final = 0.90
# Newest cuts that are learned from [-]; older ones have faded, and the advice must stay quick. Estimate.
LEARN_MOST_CUTS: Final = 300

# --- cutlog: cutter wear --------------------------------------------------------------------------

# Share of the minutes at which earlier cutters of the kind ended, from which to warn [-]. Common practice,
# no source.
WEAR_WARN_SHARE: Final = 0.8
# Ended cutters of the kind needed before there is a record to warn against [-]. Estimate.
WEAR_LEAST_RECORDS: Final = 1

# --- reading programs (gcode) ------------------------------------------------------------------------------
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

# --- job ------------------------------------------------------------------------------------------

# Distance to keep from a screw or clamp whose position was measured [mm]: a calliper or a drilled mark puts
# it within a few tenths, the cutter's run-out and the frame's give add as much. Common practice, no source.
MARGIN_MEASURED_MM: Final = 1.0
# The same when the position was judged by eye [mm]: placing by hand is off by 1-2 mm. Common practice, no source.
MARGIN_GUESSED_MM: Final = 3.0

# --- preflight ------------------------------------------------------------------------------------

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

# --- stock: the removal simulation -------------------------------------------------------------------

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
# How far the frame may be lifted by a drill's thrust [mm]: it falls back by as much at breakthrough and the
# drill grabs. Estimate.
DRILL_SPRING_MM: Final = 0.3
# Height above the stock top that is proposed for travel [mm]. Common practice, no source.
TRAVEL_ABOVE_MM: Final = 3.0
# Smallest gap of a rapid above the stock [mm]; unevenness is added. Common practice, no source.
TRAVEL_GAP_MM: Final = 1.0
# Share of the feed length above the stock that is worth a note [-]. Estimate.
AIR_SHARE: Final = 0.3
# Chip thicknesses the Kienzle fits of metals were made for [mm] (0.05-1; the thin end is what we mill).
# Sandvik Coromant, specific cutting force; range from memory.
KIENZLE_FIT_MM: Final = (0.05, 0.2)
# Factor by which the Kienzle value exceeds milling coefficients in aluminium [-]: 1.6-1.9 between 0.02 and
# 0.1 mm chip for 6082-T6, derived from kc1.1 = 800, mc = 0.25 against table 5 of Chin. J. Mech. Eng. 2021.
KIENZLE_EXCESS: Final = 1.7
# Overshoot of a frame whose load comes on at once [-]: 1 + exp(-pi zeta / sqrt(1 - zeta^2)) for zeta = 0.03.
# Closed form of a suddenly loaded oscillator.
SUDDEN_LOAD: Final = 1.91
# A depth step this many times the usual one stands out [-]. Estimate.
UNEVEN_STEP: Final = 1.6
# A last slice thinner than this rubs [mm]. Common practice, no source.
THIN_SLICE_MM: Final = 0.1
# Depth of a full-width slot in diameters from which chips are likely to pack [-]. Common practice, no source.
NARROW_SLOT_METAL: Final = 1.5
NARROW_SLOT_OTHER: Final = 2.0
# Cells of the search for thin webs [-]; every second or third cell is taken beyond.
REMOVAL_WEB_CELLS: Final = 2_000_000
# Share of a screw's ultimate withdrawal load that is counted on under vibration [-]: one fifth. Common practice
# (15 700 / 2850 of the Wood Handbook's ultimate and allowable formulas is 5.5).
WITHDRAWAL_SHARE: Final = 0.2
# Share of the solid-wood withdrawal formula that a board (MDF, particle board) holds [-]. Estimate from the
# face withdrawal class values of ANSI A208.2 (from memory).
PANEL_WITHDRAWAL_SHARE: Final = 0.3
# Friction of plate on board under the screw heads [-]. Estimate: metal on MDF 0.2 to 0.3.
HOLD_FRICTION: Final = 0.25
# Least effective thickness of a tab [mm] in metal and laminate, and in wood, plastic and foam. Common practice.
TAB_THICKNESS_HARD_MM: Final = 0.5
TAB_THICKNESS_SOFT_MM: Final = 1.0
# Safety factor of the tabs' section [-]. Common practice, no source.
TAB_SAFETY: Final = 4.0
# Run time from which staying with the machine is spelt out [s]. Common practice, no source.
LONG_RUN_S: Final = 1200.0
# Cutting slower than this share of the feed marks the place where wood burns and plastic melts [-]. Estimate.
BURN_SHARE: Final = 0.25

# --- advise: uncertainty ---------------------------------------------------------------------------

# Probability with which a first cut shall hold a limit [-]; the reserve follows from it and from what is known
# of machine and material. By what an overrun costs: deflection a wrong size, power and torque a stall, push
# lost steps and the part, strength a flying cutter. Estimate.
FIRST_CUT_CHANCE: Final = {
    "deflection": 0.85,
    "spindle-power": 0.95,
    "spindle-torque": 0.95,
    "axis-thrust": 0.95,
    "cutter-strength": 0.99,
}
# Bounds of a first-cut budget [-]: below the lower one nobody would cut, above 1 there is no reserve. Estimate.
FIRST_CUT_SMALLEST: Final = 0.2
# A published low-high range is read as holding 90 % of cases: +-1.645 standard deviations [-]. Estimate.
RANGE_SIGMAS: Final = 1.645
# Standard deviations of logarithms [-], i.e. about the share by which a quantity may be off. Estimates:
# stiffness that was measured as described in docs/measure.md, when its own spread was not written down
MEASURED_STIFFNESS_SPREAD: Final = 1.15
# stiffness moved to another drop by the drop law, for each unit of ln(drop / stated drop): typical, measured law
DROP_LAW_SD: Final = 0.40
DROP_LAW_SD_MEASURED: Final = 0.10
# bending of the cutter: equivalent diameter 0.8 D is good to 2-3 %, to the fourth power (L. Kops, D. T. Vo 1990)
CUTTER_STIFFNESS_SD: Final = 0.10
# forces of a cutter that is not new: median factor exp(0.1) = 1.1, and its spread
WEAR_LN_MEAN: Final = 0.10
WEAR_LN_SD: Final = 0.10
# axis push and shaft power: class values, and measured ones; Kienzle against milling at thin chips
THRUST_SD: Final = 0.34
POWER_SD: Final = 0.26
PUSH_SD_MEASURED: Final = 0.10
KIENZLE_SD: Final = 0.10
# bending strength of the cutter, and damping where it was not measured (0.01 to 0.06) or was
STRENGTH_SD: Final = 0.25
DAMPING_SD: Final = 0.45
DAMPING_SD_MEASURED: Final = 0.15
# natural frequency of a cutter in its collet that was not tapped: median [Hz] and spread
CUTTER_MODE_HZ: Final = 1500.0
CUTTER_MODE_SD: Final = 0.40
# speed of a dialled spindle under load, of a program-set one
DIAL_SPEED_SD: Final = 0.05
PROGRAM_SPEED_SD: Final = 0.01
# samples of the printed chances [-]: standard error 0.3 % at 90 %
CHANCE_SAMPLES: Final = 10_000

# --- measure ---------------------------------------------------------------------------------------

# Strongest pull that is believed [N]: 50 kg; more is a mistaken unit or harms a light machine. Estimate.
STRONGEST_PULL_N: Final = 500.0
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

# --- stability -------------------------------------------------------------------------------------

# A pocket is worth using when it allows this many times the depth that is safe at any speed [-]. Estimate.
POCKET_GAIN: Final = 1.25
# Error of the natural frequency in a pocket's place [-]: another collet grip, a warm spindle. Estimate.
POCKET_FREQUENCY_ERROR: Final = 0.03
# How far stickout may differ from the one that was tapped [mm] before the mode is another one. Estimate.
POCKET_STICKOUT_MM: Final = 1.0
# Limit depth by the frame's mode over the depth of cut from which the margin is called wide, and fair [-].
# Relative indicator only, see millcalc/advise/lobes.py. Estimate.
FRAME_MARGIN_WIDE: Final = 5.0
FRAME_MARGIN_FAIR: Final = 2.0

# --- alternatives ----------------------------------------------------------------------------------

# Smallest drop that is proposed [mm]: collet nut and cutter take this much below the carriage. Estimate.
SMALLEST_DROP_MM: Final = 25.0

# --- adjust ----------------------------------------------------------------------------------------

# One step of a change at the machine [-]: chip up by a quarter, at most by this to reach the start of the band;
# speed down by 15 %; depth halved, or by 30 %; width, stickout, feed. Common practice, no source.
ADJUST_CHIP_UP: Final = 1.25
ADJUST_CHIP_UP_MOST: Final = 2.0
ADJUST_SPEED_DOWN: Final = 0.85
ADJUST_SPEED_TUNE: Final = 0.88
ADJUST_DEPTH_HALF: Final = 0.5
ADJUST_DEPTH_LESS: Final = 0.7
ADJUST_WIDTH_LESS: Final = 0.6
ADJUST_STICKOUT: Final = 0.75
ADJUST_FEED_LESS: Final = 0.8
# Weight of a cause the answer does not point at [-]. Estimate.
ADJUST_OTHER_WEIGHT: Final = 0.3

# --- rewrite ---------------------------------------------------------------------------------------

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

# --- test strip ------------------------------------------------------------------------------------

# Slots of a ladder, at most and at least [-]; share of the deepest cut that holds every limit, reached in even
# steps [-]; smallest step [mm]. Estimates.
STRIP_SLOTS: Final = (6, 3)
STRIP_DEEPEST: Final = 0.9
STRIP_STEP_MM: Final = 0.05
# Steps are rounded down to this [mm], so that all are alike. Estimate.
STRIP_ROUND_MM: Final = 0.005
# Depth of a chip ladder as a share of the same [-]: chips are judged, not depth. Estimate.
STRIP_CHIP_DEPTH: Final = 0.5
# Length of the first slot, and how much longer each next one is, so that they can be told apart [mm]; wall left
# between slots [mm]. Estimate.
STRIP_LENGTH_MM: Final = 22.0
STRIP_LONGER_MM: Final = 4.0
STRIP_WALL_MM: Final = 5.0
# Distance of the strip from the edges of the scrap [mm]: room for a screw or clamp. Estimate.
STRIP_BORDER_MM: Final = 12.0
# Travel height above the highest screw or the stock [mm]. Common practice, no source.
STRIP_TRAVEL_MM: Final = 8.0
# Counted marks beside a slot: depth at most, way of the tick, and wall left between two [mm]; share of the feed an
# axis reaches on that way [-], so that it is held for most of it. Estimates.
STRIP_MARK_DEPTH_MM: Final = 0.2
STRIP_MARK_LENGTH_MM: Final = 2.5
STRIP_MARK_GAP_MM: Final = 1.5
STRIP_MARK_FEED_SHARE: Final = 0.5
# Share of the depth given back where no gentler step or no harder one that ran stands behind the best one [-].
# Common practice, no source: back by a fifth from where it got worse.
PROOF_BACK: Final = 0.2

# --- unknown alloy ---------------------------------------------------------------------------------

# What a kitchen scale and a calliper may be off when the person does not say [g], [mm]. Estimates.
ALLOY_SCALE_ERROR_G: Final = 1.0
ALLOY_CALLIPER_ERROR_MM: Final = 0.1
# How far an alloy's density may lie from its row's by composition [-]. Estimate.
ALLOY_DENSITY_SPREAD: Final = 0.01
# Below this density a metal counts as light: between aluminium and titanium [kg/m3]. From memory.
ALLOY_LIGHT_KG_M3: Final = 4000.0

# --- holding ---------------------------------------------------------------------------------------

# Distance to keep between holder, spindle body or shoe and a screw or clamp [mm]: as SCREW-02 and SCREW-03 judge.
# Common practice, no source.
SCREWS_HOLDER_MARGIN_MM: Final = 1.0
# A screw's head lies this far inside the stock's edge [mm]. Common practice, no source.
SCREWS_EDGE_MM: Final = 1.0
# Room between the heads of two screws, and between a head and a clamp, for driver and fingers [mm]. Estimate.
SCREWS_APART_MM: Final = 4.0
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

# --- formats, many programs, compare ----------------------------------------------------------------

# Motions written to a table at a time [-]: about 100 MB of working memory. Estimate.
TABLE_CHUNK_ROWS: Final = 50_000
# File name endings taken for programs in a folder. Common practice, no source.
PROGRAM_ENDINGS: Final = (".nc", ".ngc", ".gcode", ".gc", ".g", ".cnc", ".tap", ".ncc", ".din", ".eia")
# Programs taken from folders at once, at most [-]: more is a slip in the folder's name. Estimate.
MOST_PROGRAMS: Final = 2000
# A program of this size [byte] takes about a second to check, smaller ones hardly less; a new process takes as long to
# begin as this many of them [-]. Estimates from the demo jobs: 1.5 s a program, 4 s a process.
SMALL_PROGRAM_BYTES: Final = 50_000
SMALL_PROGRAMS_A_PROCESS: Final = 4
# Two programs' motions closer than this are the same [mm]: finer than any router steps. Estimate.
COMPARE_SAME_MM: Final = 1e-3
# Two feeds or speeds closer than this share are the same [-]: rounding of an inch program. Estimate.
COMPARE_SAME_SHARE: Final = 1e-3
# Pairs of motions that are compared one with every other in a stretch that differs, at most [-]; a longer stretch
# without a common landmark counts as replaced. Estimate: a second of work.
COMPARE_PAIRS: Final = 250_000
# Stretches that differ and are kept, at most [-]; more are counted. Estimate.
COMPARE_STRETCHES: Final = 1000
# Heights of what is left of two cuts closer than this are the same [mm]: below the error of the cells. Estimate.
COMPARE_HEIGHT_MM: Final = 0.02
# Extent of a piece from which it gets two screws, so that it cannot turn about one [mm]. Estimate.
SCREWS_TWO_FROM_MM: Final = 40.0
# Overlap of a clamp with the stock that a move leaves it, so that it still holds [mm]. Estimate.
SCREWS_CLAMP_GRIP_MM: Final = 5.0
# Pieces that are looked at one by one [-]; the largest of more.
SCREWS_PIECES: Final = 60
# Thread length taken where none is given: the board less this [mm], and at most this [mm]. Estimate.
SCREWS_ABOVE_METAL_MM: Final = 2.0
SCREWS_THREAD_MOST_MM: Final = 20.0
