"""Tuning numbers of cli: name, value, unit, reason, source."""

from __future__ import annotations

from typing import Final

# What a kitchen scale and a calliper may be off when the person does not say [g], [mm]. Estimates.
ALLOY_SCALE_ERROR_G: Final = 1.0
ALLOY_CALLIPER_ERROR_MM: Final = 0.1
