"""Depth at which chatter begins over spindle speed: the zero-order solution of Altintas and Budak.

Modes along the feed and across it; the limit has pockets at speeds where the teeth fall in step with a mode.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.mechanics._arrays import (
    FloatArray,
    Numbers,
    Result,
    not_negative,
    positive,
    result,
    whole,
)
from millcalc.mechanics.linear_edge import check_arc
from millcalc.mechanics.modes import VibrationMode

ComplexArray = NDArray[np.complex128]


def response_mm_n(frequency_hz: FloatArray, modes: Sequence[VibrationMode]) -> ComplexArray:
    """Give the vibration at the tip for a unit force, summed over modes.

    frequency_hz: Frequencies [Hz].
    modes: Modes of one direction; none for a rigid direction.
    Returns: Frequency response [mm/N].
    Raises ValueError: If a frequency is not finite or negative.

    >>> static = response_mm_n(np.array([0.0]), [VibrationMode(900.0, 0.02, 2.0)])
    >>> round(float(static[0].real), 6)
    0.0005

    Source: Damped oscillator; Y. Altintas, Manufacturing Automation, 2nd ed., chapter 3 (from memory).
    """
    frequency = not_negative("frequency_hz", frequency_hz)
    total = np.zeros(frequency.shape, dtype=np.complex128)
    for mode in modes:
        ratio = frequency / mode.frequency_hz
        total += 1e-3 / mode.stiffness_n_um / (1.0 - ratio**2 + 2j * mode.damping_ratio * ratio)
    return total


def directional_matrix(radial_ratio: float, entry_rad: float, exit_rad: float) -> FloatArray:
    """Give the mean directional factors of a milling cut.

    radial_ratio: Radial over tangential cutting coefficient Kr [-].
    entry_rad, exit_rad: Entry and exit angle, 0 to pi [rad].
    Returns: [[axx, axy], [ayx, ayy]], x along the feed [-]. (shape (2, 2))
    Raises ValueError: If an argument is not finite or out of range.

    >>> directional_matrix(0.0, 0.0, np.pi).round(3).tolist()
    [[0.0, -3.142], [3.142, 0.0]]

    Source: Y. Altintas, E. Budak, CIRP Annals 44/1 (1995) 357 (from memory, re-derived in the tests).
    """
    kr = float(not_negative("radial_ratio", radial_ratio))
    entry, leave = (float(angle) for angle in check_arc(entry_rad, exit_rad))

    def over(angle: float) -> FloatArray:
        sine, cosine = np.sin(2.0 * angle), np.cos(2.0 * angle)
        return 0.5 * np.array(
            [
                [cosine - 2.0 * kr * angle + kr * sine, -sine - 2.0 * angle + kr * cosine],
                [-sine + 2.0 * angle + kr * cosine, -cosine - 2.0 * kr * angle - kr * sine],
            ]
        )

    return over(leave) - over(entry)


@dataclass(frozen=True, slots=True)
class ChatterCut:
    """A milling cut as the zero-order chatter solution needs it.

    tangential_n_mm2: Tangential cutting coefficient Ktc [N/mm2].
    radial_ratio: Krc over Ktc [-].
    flutes: Number of teeth N [-].
    entry_rad, exit_rad: Entry and exit angle, 0 to pi [rad].
    modes_x, modes_y: Modes along the feed and across it; empty for a rigid direction.
    """

    tangential_n_mm2: float
    radial_ratio: float
    flutes: int
    entry_rad: float
    exit_rad: float
    modes_x: tuple[VibrationMode, ...] = ()
    modes_y: tuple[VibrationMode, ...] = ()

    def __post_init__(self) -> None:
        positive("tangential_n_mm2", self.tangential_n_mm2)
        not_negative("radial_ratio", self.radial_ratio)
        whole("flutes", self.flutes)
        check_arc(self.entry_rad, self.exit_rad)
        if not self.exit_rad > self.entry_rad:
            raise ValueError("exit_rad must come after entry_rad")
        if not (self.modes_x or self.modes_y):
            raise ValueError("modes_x or modes_y must hold at least one mode")


_GRID_POINTS = 600  # [-] frequencies round each mode, spread evenly over its resonance and its flanks


def _frequencies(cut: ChatterCut) -> FloatArray:
    """Frequencies that matter: dense near each mode, up to four times its frequency."""
    parts = []
    for mode in (*cut.modes_x, *cut.modes_y):
        spread = np.sinh(np.linspace(-6.0, 6.0, _GRID_POINTS)) / np.sinh(6.0)
        offset = np.where(spread < 0, 0.7 * spread, 3.0 * spread)
        parts.append(mode.frequency_hz * (1.0 + offset))
    rising = np.sort(np.concatenate(parts))  # numpy's ``unique`` imports its masked arrays
    return rising[np.concatenate(([True], rising[1:] != rising[:-1]))]


def chatter_depths_mm(cut: ChatterCut, frequency_hz: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Give the depths at which a cut vibrates at each frequency, and the phase between waves.

    cut: The cut and its modes.
    frequency_hz: Chatter frequencies [Hz]. (shape (n,))
    Returns: depth_mm: Limit depth of the two solutions; NaN where a solution needs no positive depth [mm].
      (shape (2, n)) phase_rad: Phase from one wave to the next, 0 to 2 pi [rad]. (shape (2, n))
    Raises ValueError: If a frequency is not finite or negative.

    Note: The two solutions are the eigenvalues of the oriented response; a rigid direction makes one of
      them void.

    Source: Y. Altintas, E. Budak, CIRP Annals 44/1 (1995) 357 (from memory).
    """
    matrix = directional_matrix(cut.radial_ratio, cut.entry_rad, cut.exit_rad)
    gx = response_mm_n(frequency_hz, cut.modes_x)
    gy = response_mm_n(frequency_hz, cut.modes_y)
    trace = matrix[0, 0] * gx + matrix[1, 1] * gy
    product = gx * gy * (matrix[0, 0] * matrix[1, 1] - matrix[0, 1] * matrix[1, 0])
    root = np.sqrt(trace**2 / 4.0 - product)
    # follow each solution from frequency to frequency across the cut of the square root
    root[1:] *= np.cumprod(np.where((root[1:] * root[:-1].conj()).real < 0.0, -1.0, 1.0))
    eigen = np.stack([trace / 2.0 + root, trace / 2.0 - root])
    size = np.abs(eigen).max(axis=0)
    void = np.abs(eigen) <= 1e-9 * np.where(size > 0, size, 1.0)
    value = -1.0 / np.where(void, 1.0, eigen)
    real, imaginary = value.real, value.imag
    with np.errstate(divide="ignore", invalid="ignore"):
        depth = -2.0 * np.pi * np.abs(value) ** 2 / (real * cut.flutes * cut.tangential_n_mm2)
        phase = np.mod(np.pi - 2.0 * np.arctan(imaginary / real), 2.0 * np.pi)
    return np.where(void | ~(depth > 0), np.nan, depth), np.where(void, np.nan, phase)


def conservative_limit_mm(cut: ChatterCut) -> float:
    """Give the depth below which a cut does not chatter at any speed.

    cut: The cut and its modes.
    Returns: Lowest limit depth over all frequencies; infinite when none is positive [mm].
    Raises ValueError: If a frequency of the modes is not finite.

    >>> mode = VibrationMode(922.0, 0.011, 1.34)
    >>> round(conservative_limit_mm(ChatterCut(600.0, 200.0 / 600.0, 2, 0.0, np.pi, (mode,), (mode,))), 3)
    0.048

    Source: Y. Altintas, E. Budak, CIRP Annals 44/1 (1995) 357 (from memory).
    """
    depth, _ = chatter_depths_mm(cut, _frequencies(cut))
    return float(np.nanmin(depth)) if np.isfinite(depth).any() else float("inf")


def limit_at_speed_mm(cut: ChatterCut, speed_rpm: Numbers) -> Result:
    """Give the depth at which a cut begins to chatter at a spindle speed.

    cut: The cut and its modes.
    speed_rpm: Spindle speeds [rev/min].
    Returns: Limit depth; infinite where no frequency fits [mm].
    Raises ValueError: If a speed is not finite or not positive.

    Note: At each speed the frequencies are sought at which the waves left by two following teeth have the
      phase of the limit; the lowest depth counts. Mean directional factors only: for very small radial
      widths a second kind of chatter (period doubling) is not found, and at low speed process damping,
      which helps, is left out.

    >>> mode = VibrationMode(922.0, 0.011, 1.34)
    >>> cut = ChatterCut(600.0, 200.0 / 600.0, 2, 0.0, np.pi, (mode,), (mode,))
    >>> limit_at_speed_mm(cut, 27000.0) > 5 * limit_at_speed_mm(cut, 20000.0)
    True

    Source: Y. Altintas, E. Budak, CIRP Annals 44/1 (1995) 357 (from memory).
    """
    speeds = positive("speed_rpm", speed_rpm)
    frequency = _frequencies(cut)
    depth, phase = chatter_depths_mm(cut, frequency)
    limits = np.full(speeds.size, np.inf)
    turns = phase / (2.0 * np.pi)
    drift = np.diff(turns, axis=1)
    drift -= np.round(drift)
    for place, speed in enumerate(np.ravel(speeds)):
        waves = frequency * 60.0 / (cut.flutes * float(speed))
        for branch in range(2):
            # waves between two teeth minus the phase of the limit: a whole number where a frequency fits
            gap, rise = waves - turns[branch], np.diff(waves) - drift[branch]
            limits[place] = min(limits[place], _lowest(gap[:-1], rise, depth[branch]))
    return result(limits.reshape(speeds.shape))


def _lowest(start: FloatArray, rise: FloatArray, depth: FloatArray) -> float:
    """Lowest depth where a quantity that goes from `start` by `rise` passes a whole number."""
    low, high = np.minimum(start, start + rise), np.maximum(start, start + rise)
    whole_number = np.ceil(low)
    with np.errstate(divide="ignore", invalid="ignore"):
        crosses = (whole_number <= high) & (rise != 0.0)
        share = np.where(crosses, (whole_number - start) / rise, np.nan)
        found = depth[:-1] + share * (depth[1:] - depth[:-1])
    return float(np.nanmin(found)) if np.isfinite(found).any() else float("inf")


def lobes(
    cut: ChatterCut, lowest_rpm: float, highest_rpm: float, points: int = 400
) -> tuple[FloatArray, FloatArray]:
    """Give the limit depth over a range of speeds, for a picture of the pockets.

    cut: The cut and its modes.
    lowest_rpm, highest_rpm: Range of speeds [rev/min].
    points: Number of speeds, evenly spread [-].
    Returns: speed_rpm: Spindle speeds [rev/min]. (shape (points,)) depth_mm: Limit depth at each; infinite
      where no frequency fits [mm]. (shape (points,))
    Raises ValueError: If an argument is not finite or out of range.

    >>> mode = VibrationMode(922.0, 0.011, 1.34)
    >>> speeds, depths = lobes(ChatterCut(600.0, 1 / 3, 2, 0.0, np.pi, (mode,), (mode,)), 5e3, 3e4, 60)
    >>> len(speeds), bool(depths.min() > 0.04)
    (60, True)

    Source: See :func:`limit_at_speed_mm`.
    """
    low = float(positive("lowest_rpm", lowest_rpm))
    high = float(positive("highest_rpm", highest_rpm))
    if high < low:
        raise ValueError("highest_rpm must not be below lowest_rpm")
    speeds = np.linspace(low, high, int(whole("points", points, 2)))
    return speeds, np.asarray(limit_at_speed_mm(cut, speeds))
