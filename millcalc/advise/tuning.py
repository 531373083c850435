"""Tuning numbers of advise: name, value, unit, reason, source."""

from __future__ import annotations

from typing import Final

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
# How far the frame may be lifted by a drill's thrust [mm]: it falls back by as much at breakthrough and the
# drill grabs. Estimate.
DRILL_SPRING_MM: Final = 0.3
# Chip thicknesses the Kienzle fits of metals were made for [mm] (0.05-1; the thin end is what we mill).
# Sandvik Coromant, specific cutting force; range from memory.
KIENZLE_FIT_MM: Final = (0.05, 0.2)
# Factor by which the Kienzle value exceeds milling coefficients in aluminium [-]: 1.6-1.9 between 0.02 and
# 0.1 mm chip for 6082-T6, derived from kc1.1 = 800, mc = 0.25 against table 5 of Chin. J. Mech. Eng. 2021.
KIENZLE_EXCESS: Final = 1.7
# Overshoot of a frame whose load comes on at once [-]: 1 + exp(-pi zeta / sqrt(1 - zeta^2)) for zeta = 0.03.
# Closed form of a suddenly loaded oscillator.
SUDDEN_LOAD: Final = 1.91
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
# Smallest drop that is proposed [mm]: collet nut and cutter take this much below the carriage. Estimate.
SMALLEST_DROP_MM: Final = 25.0
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
# How far an alloy's density may lie from its row's by composition [-]. Estimate.
ALLOY_DENSITY_SPREAD: Final = 0.01
# Below this density a metal counts as light: between aluminium and titanium [kg/m3]. From memory.
ALLOY_LIGHT_KG_M3: Final = 4000.0
