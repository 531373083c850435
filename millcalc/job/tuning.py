"""Tuning numbers of job: name, value, unit, reason, source."""

from __future__ import annotations

from typing import Final

# Distance to keep from a screw or clamp whose position was measured [mm]: a calliper or a drilled mark puts
# it within a few tenths, the cutter's run-out and the frame's give add as much. Common practice, no source.
MARGIN_MEASURED_MM: Final = 1.0
# The same when the position was judged by eye [mm]: placing by hand is off by 1-2 mm. Common practice, no source.
MARGIN_GUESSED_MM: Final = 3.0
