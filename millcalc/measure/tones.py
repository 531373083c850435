"""Pitches that are not the machine's own."""

from __future__ import annotations

from millcalc.measure import tuning


def near_mains(pitch_hz: float) -> bool:
    """Whether a pitch may be the hum of the mains instead: 50 or 60 Hz, or twice that.

    pitch_hz: What was heard [Hz].
    Returns: Whether it lies that near to a hum.

    >>> near_mains(101.0), near_mains(102.0)
    (True, False)
    """
    return any(abs(pitch_hz - hum) < tuning.NEAR_MAINS_HZ for hum in tuning.MAINS_HZ)
