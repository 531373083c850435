"""Tuning numbers of cutlog: name, value, unit, reason, source."""

from __future__ import annotations

from typing import Final

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
# Chance that a cut fails when it stands exactly at a limit [-]: the definition of the learned limit.
LEARN_FAILURE_AT_LIMIT: Final = 0.10
# Spread from cut to cut of ln(share) at which a cut fails, as the scale of a logistic curve [-]; the standard
# deviation is 1.81 times this: about 27 %, from batch, sharpness and clamping. It is not known of any shop, so
# each log weighs these values itself, by how well each explains its cuts. Before any cut they are even in their
# logarithm, as for any unknown scale, and reach beyond the shops that are expected (0.08 to 0.30) on both sides: what
# is weighed at the end of a scale is drawn inward. The two ends weigh alike, and more, so that the interval holds about
# as often whatever the scatter is (a prior that matches probabilities: Welch and Peers, J. R. Statist. Soc. B 25(2),
# 1963, 318-329, from memory). Estimate, looked at over the simulated shops of benchmarks/shops.py.
LEARN_SCATTERS: Final = (0.04, 0.057, 0.08, 0.11, 0.15, 0.21, 0.30, 0.42)
LEARN_SCATTER_WEIGHTS: Final = (0.25, 1 / 12, 1 / 12, 1 / 12, 1 / 12, 1 / 12, 1 / 12, 0.25)
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
# Telling cuts of one limit below which nothing is raised [-]; a failure lowers at once. Estimate.
LEARN_LEAST_CUTS: Final = 5
# Share from which a good cut tells anything about a limit [-]. Estimate.
LEARN_TELLING_SHARE: Final = 0.5
# How sure it must be that the real limit lies higher before the margin is raised [-], and how sure that it
# lies lower before the margin is lowered. Safety: a failure costs more than a slow cut.
LEARN_SURE_TO_RAISE: Final = 0.97
LEARN_SURE_TO_LOWER: Final = 0.50
# Largest margin [-], and how far it may go beyond the largest share that went well [-]. Safety.
LEARN_LARGEST_MARGIN: Final = 1.5
LEARN_STEP_BEYOND_TRIED: Final = 1.15
# Share of a computed limit below which a failure forbids any raise of it and asks to measure [-]. Safety.
LEARN_FAILED_FAR_BELOW: Final = 0.5
# Failures that far below of one limit from which its numbers are not advised with any more [-], where they are also
# more than LEARN_FAILURE_AT_LIMIT of the cuts that went as far: one may be a slip, two bad luck. Safety.
LEARN_REFUSE_FAILURES: Final = 3
# Share of the posterior that the shown interval holds [-].
LEARN_INTERVAL: Final = 0.90
# Newest cuts that are learned from [-]; older ones have faded, and the advice must stay quick. Estimate.
LEARN_MOST_CUTS: Final = 300
# Share of the minutes at which earlier cutters of the kind ended, from which to warn [-]. Common practice,
# no source.
WEAR_WARN_SHARE: Final = 0.8
# Ended cutters of the kind needed before there is a record to warn against [-]. Estimate.
WEAR_LEAST_RECORDS: Final = 1
