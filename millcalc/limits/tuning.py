"""Tuning numbers of limits: name, value, unit, reason, source."""

from __future__ import annotations

from typing import Final

# Depth of the next cut as a share of one that failed with the same machine, material and cutter [-]: one step of a
# ladder back, as a machinist would take it. Common practice, no source.
BELOW_FAILED: Final = 0.75
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
# Clearance between collet face and stock top that the stickout must leave [mm]. Common practice, no source.
STICKOUT_CLEARANCE_MM: Final = 2.0
# Default stickout when none is given: flute length plus this [mm]; flutes must stay out of the collet.
# Common practice, no source.
STICKOUT_PAST_FLUTES_MM: Final = 2.0
# Thinnest cut that is believed [mm]: a tenth of a micrometre. Estimate.
THINNEST_MM: Final = 1e-4
# Shortest stickout and drop that are believed [mm]: below, a unit or a digit is mistaken. Estimate.
SHORTEST_REACH_MM: Final = 1.0
# The same for a pointed cutter [shank diameters]: its cone is short, but nut and screw heads must clear the work.
# Common practice, no source.
POINTED_STICKOUT: Final = 2.5
# Chip-room limit of a straight plunge or peck with an end mill [diameters].
# A tool maker's milling catalogue 2021-22, p. 210.
PLUNGE_STROKE_PER_DIAMETER: Final = 0.5
# Feed while ramping or milling a helix, as a share of the normal feed [-]. A tool maker's catalogue 2021-22, p. 908.
RAMP_FEED_SHARE: Final = 0.5
# How far the frame may be lifted by a drill's thrust [mm]: it falls back by as much at breakthrough and the
# drill grabs. Estimate.
DRILL_SPRING_MM: Final = 0.3
# Chip thicknesses the Kienzle fits of metals were made for [mm] (0.05-1; the thin end is what we mill).
# A tool maker's page on specific cutting force; range from memory.
KIENZLE_FIT_MM: Final = (0.05, 0.2)
# Factor by which the Kienzle value exceeds milling coefficients in aluminium [-]: 1.6-1.9 between 0.02 and
# 0.1 mm chip for 6082-T6, derived from kc1.1 = 800, mc = 0.25 against table 5 of Chin. J. Mech. Eng. 2021.
KIENZLE_EXCESS: Final = 1.7
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
# Half width of the spread of force coefficients about the nominal set of a soft metal [-]: 0.6 to 1.4 times. The
# published sets of 6061, 6082 and 7075 span 0.5 to 1.6 times that of 6082-T6 (Chin. J. Mech. Eng. 2021, table 5).
SOFT_METAL_SPREAD: Final = 0.4
# Width from which on a side cut begins to count as a slot [diameters]: beyond it chips cannot get out. Estimate.
OPEN_WIDTH: Final = 0.75
# Depth over the chatter-free one of spindle and collet from which the hint is a note, and a warning [-]. Estimate.
CHATTER_NOTE: Final = 1.0
CHATTER_WARNING: Final = 2.0
# Waves on the wall shorter than this are damped by the flank that rides on them [mm]. Estimate: land and wear of a
# small cutter are a few tenths of a millimetre; process damping is strong once the wave is only a few times that.
SHORTEST_WAVE_MM: Final = 0.6
# Share of the axis push that a plunge may use is that of any cut. Density of cutting carbide and of high-speed steel
# [kg/m3], for the natural frequency of a cutter. From memory.
CARBIDE_DENSITY_KG_M3: Final = 14_500.0
HSS_DENSITY_KG_M3: Final = 8_100.0
# Depth that facing takes off at most [mm]: a skim that levels, from a light machine. Common practice, no source.
FACE_DEPTH_MM: Final = {
    "metal": 0.5,
    "laminate": 0.5,
    "plastic": 1.0,
    "wood": 2.0,
    "wood panel": 1.0,
    "foam": 5.0,
}
# How far above the speed where a first cut stays a dial mark may lie [-]: its steps are 15 to 30 % apart, and a slower
# one would cost more than the wear of a slightly faster edge. Estimate.
DIAL_SLACK: Final = 1.2
# Depth of a first side cut, narrow as it may be [diameters]: deeper, a wall pushes a slender cutter aside over its
# whole length. Common practice, no source.
FIRST_SIDE_DIAMETERS: Final = 1.5
# Diameter below which a cutter in wood runs with thinner chips than the table's floor [mm]: 1 mm cutters take 0.008 to
# 0.015 mm at a quarter of the rim speed of a 4 mm one. Common practice, no source.
SLENDER_MM: Final = 2.0
