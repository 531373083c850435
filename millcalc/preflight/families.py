"""Every module of rules; importing this registers them all."""

from __future__ import annotations

from importlib import import_module

MODULES = (
    "bed_rules",
    "cutter_rules",
    "depth_rules",
    "fastening_rules",
    "feed_rules",
    "force_rules",
    "holder_rules",
    "loose_rules",
    "mode_rules",
    "plunge_rules",
    "rapid_rules",
    "screw_rules",
    "speed_rules",
    "spindle_rules",
    "stock_rules",
    "time_rules",
    "tool_rules",
    "travel_rules",
    "width_rules",
    "zero_rules",
)

for _name in MODULES:
    import_module(f"millcalc.preflight.{_name}")
