"""Natural frequency and damping from the recording of a tap."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.errors import InputError
from millcalc.measure import tuning
from millcalc.measure.ringing import (
    added_spectrum,
    decay,
    half_power_damping,
    other_peaks_hz,
    ringing_pieces,
    vertex,
)
from millcalc.measure.tones import near_mains

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Tap:
    """What a tap recording shows.

    frequency_hz: Natural frequency of the strongest mode in the band [Hz].
    frequency_sd_hz: Spread over the taps, at least the resolution of the recording [Hz].
    damping_half_power: Damping ratio from the width of the peak at half its power [-].
    damping_decrement: Damping ratio from the decay of the ringing [-].
    damping_ratio: The one to use: of the decay, which does not depend on the length of the recording [-].
    taps: Taps found [-].
    others_hz: Further peaks, strongest first [Hz].
    doubts: What the person should know.
    """

    frequency_hz: float
    frequency_sd_hz: float
    damping_half_power: float
    damping_decrement: float
    damping_ratio: float
    taps: int
    others_hz: tuple[float, ...]
    doubts: tuple[str, ...]


def tap_from_signal(
    rate_hz: int, signal: Array, low_hz: float = 15.0, high_hz: float = 6000.0, name: str = "recording"
) -> Tap:
    """Find the strongest mode of tapped ringing.

    rate_hz: Samples a second [Hz].
    signal: Samples [-].
    low_hz, high_hz: Band to look in [Hz].
    name: Name of the recording for error texts.
    Returns: Frequency and damping by two methods.
    Raises InputError: Without a tap, with an overdriven recording, or with nothing that rings in the band.

    Note: Each tap is cut out from just after the blow to where it has sunk into the noise; spectra of the
      pieces (zero-padded, no taper, since the ringing ends by itself) are added up. Half-power width: zeta
      = (f2 - f1) / (2 f). Decrement: slope of the logarithm of the envelope behind a band-pass, zeta =
      slope / (2 pi f). A microphone hears velocity or pressure, not movement; frequency and damping are the
      same.

    Source: Half-power bandwidth and logarithmic decrement: D. J. Inman, Engineering Vibration (from
      memory).
    """
    high_hz = min(high_hz, 0.45 * rate_hz)
    if not 0 < low_hz < high_hz:
        raise InputError(
            f"a band of {low_hz:g} to {high_hz:g} Hz", f"within 0 to {0.45 * rate_hz:.0f} Hz", file=name
        )
    signal = np.asarray(signal, float) - float(np.mean(signal))
    doubts = _overdriven(signal, name)
    pieces = ringing_pieces(rate_hz, signal, low_hz, high_hz, name)
    spectrum, frequency = added_spectrum(rate_hz, pieces)
    inside = (frequency >= low_hz) & (frequency <= high_hz)
    peak = int(np.argmax(np.where(inside, spectrum, -1.0)))
    middle = vertex(spectrum, peak) * frequency[1]
    half = half_power_damping(frequency, spectrum, peak, middle)
    each_hz, decrement = _decays(rate_hz, pieces, middle, name)
    spread = float(np.std(each_hz, ddof=1)) if len(each_hz) > 1 else 0.0
    resolution = rate_hz / max(len(piece) for piece in pieces) / 4.0
    return Tap(
        middle,
        max(spread, min(resolution, 0.02 * middle)),
        half,
        decrement,
        decrement,
        len(pieces),
        other_peaks_hz(frequency, spectrum, inside, middle),
        (*doubts, *_doubts(middle, half, decrement, len(pieces))),
    )


def _overdriven(signal: Array, name: str) -> list[str]:
    """Whether the loudest samples are cut off, in words.

    Raises InputError: If there is no sound at all.
    """
    loudest = float(np.max(np.abs(signal), initial=0.0))
    if loudest <= 0:
        raise InputError("silence", "taps", "check the microphone", file=name)
    if np.mean(np.abs(signal) > 0.995 * loudest) <= 0.002:
        return []
    return ["the recording is overdriven (flat tops): damping is doubtful; tap softer, or further away"]


def _decays(rate_hz: int, pieces: list[Array], middle_hz: float, name: str) -> tuple[list[float], float]:
    """Frequency of each ringing [Hz], and the middle of their damping ratios [-].

    Raises InputError: If none rings on, or the damping is none of a machine.
    """
    found = [one for one in (decay(rate_hz, piece, middle_hz) for piece in pieces) if one is not None]
    if not found:
        raise InputError(
            f"a peak at {middle_hz:.0f} Hz that does not ring on",
            "ringing that fades over several swings",
            "tap with something harder, record nearer, or name the band with --band",
            file=name,
        )
    low, high = tuning.DAMPING_BELIEVED
    damping = float(np.median([ratio for _, ratio in found]))
    if not low <= damping <= high:
        raise InputError(
            f"damping {damping:.3g}",
            f"{low:g} to {high:g}",
            "what was recorded is no tap: a hum, or a single thud",
            file=name,
        )
    return [hertz for hertz, _ in found], damping


def _doubts(middle_hz: float, half: float, decrement: float, taps: int) -> list[str]:
    doubts = []
    if max(half, decrement) > tuning.DAMPING_AGREES * min(half, decrement):
        doubts.append(
            f"the two ways to find damping disagree ({half:.3f} and {decrement:.3f}): two modes lie close "
            "together or the room echoes; tap at another place or direction"
        )
    if near_mains(middle_hz):
        doubts.append(
            f"{middle_hz:.1f} Hz is where the mains hum: switch the spindle's supply off and repeat"
        )
    if taps < 3:
        doubts.append(f"{taps} tap only: five show whether they agree")
    return doubts
