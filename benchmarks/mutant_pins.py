"""Edits that must always be noticed: each once passed all tests, or changes what a person does.

What it breaks, the module, text that stands in it once, and what stands there instead.
"""

from __future__ import annotations

PINS: tuple[tuple[str, str, str, str], ...] = (
    ("arcs of several turns: one too many", "gcode/arc_words.py", "math.pi * (turns - 1)", "math.pi * turns"),
    (
        "arcs of several turns: the other way",
        "gcode/arc_words.py",
        "sweep += case.turn",
        "sweep -= case.turn",
    ),
    (
        "G87: backs off into the wall before going down",
        "gcode/cycles.py",
        "self.beside(da, db)\n        self.spindle(0.0)\n        self.across(self.bottom",
        "self.beside(-da, -db)\n        self.spindle(0.0)\n        self.across(self.bottom",
    ),
    (
        "G87: does not come back over the bore",
        "gcode/cycles.py",
        "self.beside(-da, -db)\n        self.spindle(turning)\n        self.across(top",
        "self.beside(da, db)\n        self.spindle(turning)\n        self.across(top",
    ),
    (
        "G87: backs off the other way before it leaves",
        "gcode/cycles.py",
        "self.beside(da, db)\n        self.across(self.clear",
        "self.beside(-da, -db)\n        self.across(self.clear",
    ),
    (
        "G73: backs off downwards",
        "gcode/cycles.py",
        "if chip_break:\n                self.across(min(level + PECK",
        "if chip_break:\n                self.across(min(level - PECK",
    ),
    (
        "G73: backs off as far as G83",
        "gcode/cycles.py",
        "            if chip_break:",
        "            if not chip_break:",
    ),
    (
        "G73: how far it backs off",
        "gcode/tuning.py",
        "PECK_CLEARANCE_MM: Final = 0.254",
        "PECK_CLEARANCE_MM: Final = 0.381",
    ),
    ("what makes a slot", "preflight/limits.py", "SLOT_SHARE = 0.9 ", "SLOT_SHARE = 0.6 "),
    ("what makes a slot, a little", "preflight/limits.py", "SLOT_SHARE = 0.9 ", "SLOT_SHARE = 0.97 "),
    (
        "a slot taken for a side cut",
        "preflight/uses.py",
        "slot = width >= SLOT_SHARE",
        "slot = width < SLOT_SHARE",
    ),
    (
        "a slot's hold taken for a side cut's",
        "preflight/uses.py",
        "return np.asarray(self.width_mm >= SLOT_SHARE",
        "return np.asarray(self.width_mm < SLOT_SHARE",
    ),
    (
        "plunge share of what goes down",
        "preflight/entry_feed.py",
        "bound.plunge_share * bound",
        "bound.plunge_share / bound",
    ),
    (
        "plunge share taken of a feed",
        "preflight/tuning.py",
        "PLUNGE_SHARE: Final = 0.3",
        "PLUNGE_SHARE: Final = 0.45",
    ),
    (
        "plunge share of the settings",
        "limits/entries.py",
        "plunge_share\n    if tooling.cutter.diameter_mm < _SMALL_CUTTER_MM:\n        return band.low",
        "plunge_share\n    if tooling.cutter.diameter_mm < _SMALL_CUTTER_MM:\n        return band.high",
    ),
    (
        "section of tabs or a skin: their number",
        "preflight/hold_balance.py",
        " * (hold.count or 1)",
        " / (hold.count or 1)",
    ),
    (
        "section of tabs or a skin: thickness",
        "preflight/hold_balance.py",
        "given(hold.length_mm) * given(hold.thickness_mm",
        "given(hold.length_mm) + given(hold.thickness_mm",
    ),
    (
        "section of what a cut removes",
        "preflight/uses.py",
        "ctx.removal.section_mm2[rows] / width",
        "ctx.removal.section_mm2[rows] * width",
    ),
    (
        "margin between holder and screw or clamp",
        "preflight/tuning.py",
        "HOLDER_MARGIN_MM: Final = 1.0",
        "HOLDER_MARGIN_MM: Final = 1.5",
    ),
    (
        "margin of cutter and holder exchanged",
        "preflight/clearances.py",
        'if body == "cutter" else',
        'if body != "cutter" else',
    ),
    (
        "how far a screw should move: too near",
        "preflight/move_screw.py",
        "gap.kept_mm - gap.gap_mm + ring",
        "gap.kept_mm + gap.gap_mm + ring",
    ),
    (
        "how far a screw should move: a grid apart",
        "preflight/move_screw.py",
        "GRID_MM = 0.5 ",
        "GRID_MM = 5.0 ",
    ),
    (
        "how far a screw should move: told",
        "preflight/rules/screw.py",
        "say.mm(gap.kept_mm - gap.gap_mm",
        "say.mm(gap.kept_mm + gap.gap_mm",
    ),
    (
        "section of the tabs of a path",
        "preflight/rules/loose.py",
        "max(0.0, tab.top_mm - bottom_mm - doubt)",
        "max(0.0, tab.top_mm - bottom_mm + doubt)",
    ),
    (
        "reserve of the hold-down",
        "preflight/tuning.py",
        "HOLD_SAFETY: Final = 2.0",
        "HOLD_SAFETY: Final = 1.0",
    ),
    (
        "reserve of screws",
        "preflight/tuning.py",
        "WITHDRAWAL_SAFETY: Final = 5.51",
        "WITHDRAWAL_SAFETY: Final = 4.0",
    ),
    ("reserve of tabs", "preflight/tuning.py", "TAB_SAFETY: Final = 4.0", "TAB_SAFETY: Final = 2.0"),
    (
        "FEED-03 advises a faster feed",
        "preflight/rules/chips.py",
        "feed * aim[at] / value",
        "feed * value / aim[at]",
    ),
    (
        "FEED-04 advises a slower feed",
        "preflight/rules/chips.py",
        "feed * limit / value",
        "feed * value / limit",
    ),
    (
        "FEED-03 points at another word",
        "preflight/rules/chips.py",
        'word="F",\n        compared=(value, limit, "mm"),\n        source=bound.source',
        'word="S",\n        compared=(value, limit, "mm"),\n        source=bound.source',
    ),
    ("PLUNGE-01 points at another word", "preflight/rules/plunge.py", 'word="F",', 'word="Z",'),
)
