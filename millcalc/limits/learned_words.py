"""What the limits are called of which the log learns how far they lie from the computed ones."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

LIMIT_WORDS: Final[Mapping[str, str]] = {
    "deflection": "deflection",
    "power": "spindle power",
    "thrust": "axis push",
    "chatter": "chatter",
    "chip_high": "largest chip",
    "chip_low": "smallest chip",
    "hold_down": "hold-down",
}
