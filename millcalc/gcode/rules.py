"""The table of rules that the compiled reader works by, made from a profile."""

from __future__ import annotations

import numpy as np

from millcalc.gcode.profiles import Profile
from millcalc.gcode.state import (
    G_ARC_DISTANCE,
    G_DISTANCE,
    G_FEED_MODE,
    G_MOTION,
    G_NOTHING,
    G_PATH,
    G_PLANE,
    G_UNITS,
    M_COOLANT,
    M_SPINDLE,
    R_ARC_END,
    R_BARE,
    R_COMMENT_CAP,
    R_FOREIGN,
    R_GCLASS,
    R_GSEEN,
    R_HALF_ARCS,
    R_IDLE_CENTRE,
    R_LOWER,
    R_MAX_LINE,
    R_MCLASS,
    R_NUMBER_DIGITS,
    R_REALTIME,
    R_ROTARY,
    R_SEMICOLON,
    R_TAB,
    RULES_SIZE,
    SEEN_BITS,
    Rules,
)
from millcalc.gcode.tuning import MAX_COMMENT_EVENTS, MAX_LINE_BYTES

_CLASSES = {
    G_MOTION: (0, 10, 20, 30), G_PLANE: (170, 180, 190), G_UNITS: (200, 210), G_DISTANCE: (900, 910),
    G_ARC_DISTANCE: (901, 911), G_FEED_MODE: (930, 940, 950), G_NOTHING: (400,), G_PATH: (610, 611, 640),
}  # fmt: skip


def suits_kernel(profile: Profile) -> bool:
    """Whether the compiled reader may be used for a profile.

    profile: The profile.
    Returns: False when the profile limits something the compiled reader does not look at.
    """
    return (
        not profile.decimals
        and set("FSXYZIJKR") <= set(profile.letters)
        and "arc radius" not in profile.refuse
    )


def kernel_rules(profile: Profile) -> Rules:
    """Rules of a profile as numbers.

    profile: The profile.
    Returns: The rules, counts at zero.
    """
    rules = np.zeros(RULES_SIZE, np.int64)
    rules[R_MAX_LINE] = profile.max_line or MAX_LINE_BYTES + 2
    rules[R_NUMBER_DIGITS] = profile.number_digits
    rules[R_LOWER] = profile.lower_case
    rules[R_TAB] = profile.tabs
    rules[R_SEMICOLON] = profile.semicolon_comments
    rules[R_FOREIGN] = profile.foreign_in_comments
    rules[R_REALTIME] = profile.realtime_in_comments
    rules[R_BARE] = profile.bare_motion
    rules[R_ARC_END] = profile.arc_end_required
    rules[R_COMMENT_CAP] = MAX_COMMENT_EVENTS
    rules[R_HALF_ARCS] = profile.half_arcs_by_radius
    rules[R_IDLE_CENTRE] = profile.idle_centre_words
    rules[R_ROTARY] = set("ABC") <= set(profile.letters)
    rules[R_GSEEN : R_GSEEN + 1000] = -1
    for kind, codes in _CLASSES.items():
        for code in codes:
            if profile.accepts_g(code):
                rules[R_GCLASS + code] = kind
    for code, bit in SEEN_BITS.items():
        rules[R_GSEEN + code] = bit
    if profile.m_words >= 2:
        for code in (3, 4, 5, 7, 8, 9):
            if profile.accepts_m(code):
                rules[R_MCLASS + code] = M_SPINDLE if code <= 5 else M_COOLANT
    return rules
