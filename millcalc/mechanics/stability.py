"""Depth at which self-excited vibration (chatter) begins, for one mode: Tlusty's closed minimum.

Valid at every speed, so it is the careful limit; ``lobes`` has the solution over speed with its pockets.
"""

from __future__ import annotations

import numpy as np

from millcalc.mechanics._arrays import FloatArray, Numbers, Result, between, positive, result, whole
from millcalc.mechanics.linear_edge import check_arc
from millcalc.mechanics.lobes import ChatterCut as ChatterCut
from millcalc.mechanics.lobes import conservative_limit_mm as conservative_limit_mm
from millcalc.mechanics.lobes import limit_at_speed_mm as limit_at_speed_mm
from millcalc.mechanics.lobes import lobes as lobes
from millcalc.mechanics.lobes import pocket_speeds_rpm as pocket_speeds_rpm
from millcalc.mechanics.modes import VibrationMode as VibrationMode


def mean_teeth(flutes: Numbers, entry_rad: Numbers, exit_rad: Numbers) -> Result:
    """Give the average number of teeth in the cut between two angles.

    flutes: Number of teeth N [-].
    entry_rad, exit_rad: Entry and exit angle, 0 to pi [rad].
    Returns: N (exit - entry) / (2 pi) [-].
    Raises ValueError: If an argument is not finite or out of range.

    >>> mean_teeth(1, 0.0, np.pi)
    0.5

    Source: T. L. Schmitz, K. S. Smith, Machining Dynamics (from memory).
    """
    entry, leave = check_arc(entry_rad, exit_rad)
    return result(whole("flutes", flutes) * (leave - entry) / (2.0 * np.pi))


def limit_depth_mm(
    specific_force_n_mm2: Numbers,
    stiffness_n_um: Numbers,
    damping_ratio: Numbers,
    teeth_in_cut: Numbers,
    directional_factor: Numbers = 1.0,
) -> Result:
    """Give the depth below which one mode does not chatter at any speed: 2 k zeta (1 + zeta) / (Ks mu N*).

    specific_force_n_mm2: Cutting coefficient Ks [N/mm2].
    stiffness_n_um: Stiffness k of the mode [N/um].
    damping_ratio: Damping ratio zeta [-].
    teeth_in_cut: Average number of teeth in the cut N* [-].
    directional_factor: Share mu of the force and chip that fall on the mode, at most 1 [-].
    Returns: Depth ap at the bottom of all pockets [mm].
    Raises ValueError: If an argument is not finite or out of range.

    Note: Exact minimum of the real part of a one-mode response, at sqrt(1 + 2 zeta) times its natural
      frequency. Process damping at low speed, which helps, is left out. With guessed stiffness and damping
      the figure ranks cuts; it does not promise a depth.

    >>> round(limit_depth_mm(750.0, 1.0, 0.03, 0.5), 3)
    0.165

    Source: J. Tlusty, Manufacturing Processes and Equipment; T. L. Schmitz, K. S. Smith, Machining Dynamics
      (from memory).
    """
    damping = between("damping_ratio", damping_ratio, 0.0, 0.99, open_low=True)
    top = 2000.0 * positive("stiffness_n_um", stiffness_n_um) * damping * (1.0 + damping)
    factor = between("directional_factor", directional_factor, 0.0, 1.0, open_low=True)
    teeth = positive("teeth_in_cut", teeth_in_cut)
    return result(top / (positive("specific_force_n_mm2", specific_force_n_mm2) * factor * teeth))


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
