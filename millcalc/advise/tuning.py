"""Tuning numbers of advise: name, value, unit, reason, source."""

from __future__ import annotations

from typing import Final

# Radial widths tried for a side cut, as a share of the diameter [-]. Avoid half-immersion and more:
# A tool maker's milling catalogue 2021-22, p. 114.
SIDE_WIDTHS: Final = (0.05, 0.075, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4)
# Radial widths tried for facing [-]. Common practice, no source.
FACE_WIDTHS: Final = (0.3, 0.4, 0.5, 0.6, 0.7, 0.8)
# Smallest gain that is worth naming under "what would buy more" [-]. Estimate.
WORTH_NAMING_GAIN: Final = 1.08
# A pocket is worth using when it allows this many times the depth that is quiet at any speed [-]. Estimate.
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
# Removal that a chip within its band is worth against one of next to nothing [-]: thin chips wear the edge and heat,
# but a cut that only holds with a thin one is still a cut. Estimate.
THIN_CHIP_COSTS: Final = 0.15
# Weight of a cause the answer does not point at [-]. Estimate.
ADJUST_OTHER_WEIGHT: Final = 0.3
# Evidence below which the numbers speak against an answer, which then weighs no more than the others [-]. Estimate.
ADJUST_CONTRADICTED: Final = 0.2
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
# Thickness of the scrap at most [mm]: more is a slip of the unit. Estimate.
STRIP_THICKEST_MM: Final = 1000.0
# Travel height above the highest screw or the stock [mm]. Common practice, no source.
STRIP_TRAVEL_MM: Final = 8.0
# Counted marks beside a slot: depth at most, way of the tick, and wall left between two [mm]; share of the feed an
# axis reaches on that way [-], so that it is held for most of it. Estimates.
STRIP_MARK_DEPTH_MM: Final = 0.2
STRIP_MARK_LENGTH_MM: Final = 2.5
STRIP_MARK_GAP_MM: Final = 1.5
STRIP_MARK_FEED_SHARE: Final = 0.5
# Depth of the last step over that of the first cut [-]: a strip finds out a little at a time; the next one starts from
# what this one has shown. Common practice, no source.
STRIP_BEYOND: Final = 1.5
# Share of the depth given back where no gentler step or no harder one that ran stands behind the best one [-].
# Common practice, no source: back by a fifth from where it got worse.
PROOF_BACK: Final = 0.2
# How far an alloy's density may lie from its row's by composition [-]. Estimate.
ALLOY_DENSITY_SPREAD: Final = 0.01
# Below this density a metal counts as light: between aluminium and titanium [kg/m3]. From memory.
ALLOY_LIGHT_KG_M3: Final = 4000.0
