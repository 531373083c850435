"""Depth at which self-excited vibration (chatter) begins, for one mode: Tlusty's closed minimum.

Valid at every speed, so it is the careful limit; ``lobes`` has the solution over speed with its pockets.
"""

from __future__ import annotations

import numpy as np

from millcalc.mechanics._arrays import FloatArray, positive, whole
from millcalc.mechanics.lobes import ChatterCut as ChatterCut
from millcalc.mechanics.lobes import conservative_limit_mm as conservative_limit_mm
from millcalc.mechanics.lobes import limit_at_speed_mm as limit_at_speed_mm
from millcalc.mechanics.lobes import lobes as lobes
from millcalc.mechanics.modes import VibrationMode as VibrationMode


def best_speeds_rpm(frequency_hz: float, flutes: int, lowest_rpm: float, highest_rpm: float) -> FloatArray:
    """Give the speeds in a range at which the teeth fall in step with a chatter frequency.

    frequency_hz: Chatter frequency, e.g. measured with a microphone [Hz].
    flutes: Number of teeth z [-].
    lowest_rpm, highest_rpm: Range of the spindle [rev/min].
    Returns: Speeds 60 f / (z k) for k = 1, 2, ..., fastest first; may be empty [rev/min].
    Raises ValueError: If an argument is not finite or out of range.

    Note: The true pockets lie slightly below, near the natural frequency, which is a little lower than the
      frequency heard.

    >>> best_speeds_rpm(950.0, 1, 12000.0, 30000.0).tolist()
    [28500.0, 19000.0, 14250.0]

    Source: T. L. Schmitz, K. S. Smith, Machining Dynamics (from memory).
    """
    low = float(positive("lowest_rpm", lowest_rpm))
    high = float(positive("highest_rpm", highest_rpm))
    if high < low:
        raise ValueError("highest_rpm must not be below lowest_rpm")
    first = 60.0 * float(positive("frequency_hz", frequency_hz)) / int(whole("flutes", flutes))
    slowest, fastest = (
        int(np.floor(first / low * (1 + 1e-12))),
        max(int(np.ceil(first / high * (1 - 1e-12))), 1),
    )
    return np.asarray(first / np.arange(fastest, slowest + 1), dtype=np.float64)
