"""Every module of rules; importing this registers them all."""

from millcalc.preflight import (
    bed_rules,
    depth_rules,
    feed_rules,
    force_rules,
    holder_rules,
    loose_rules,
    mode_rules,
    plunge_rules,
    rapid_rules,
    screw_rules,
    spindle_rules,
    stock_rules,
    time_rules,
    tool_rules,
    travel_rules,
    zero_rules,
)

__all__ = [
    "bed_rules",
    "depth_rules",
    "feed_rules",
    "force_rules",
    "holder_rules",
    "loose_rules",
    "mode_rules",
    "plunge_rules",
    "rapid_rules",
    "screw_rules",
    "spindle_rules",
    "stock_rules",
    "time_rules",
    "tool_rules",
    "travel_rules",
    "zero_rules",
]
