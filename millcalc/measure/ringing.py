"""The ringing after each tap: where it is in a recording, its spectrum, frequency and decay.

Source of half-power bandwidth and logarithmic decrement: D. J. Inman, Engineering Vibration (from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from millcalc.errors import InputError

Array = NDArray[np.float64]


def ringing_pieces(rate_hz: int, signal: Array, low_hz: float, high_hz: float, name: str) -> list[Array]:
    """Ringing after each blow, from 1 swing of the highest frequency on to the noise or the next blow.

    rate_hz: Samples a second [Hz].
    signal: Samples [-].
    low_hz, high_hz: Band to look in [Hz].
    name: Name of the recording for error texts.
    Returns: Samples of each ringing, behind a band-pass.
    Raises InputError: If the recording is too short, no blow stands above the noise, or nothing rings.
    """
    from scipy.signal import butter, sosfiltfilt

    padding = 3 * (2 * 4 + 1)
    if len(signal) < max(padding + 1, int(0.1 * rate_hz)):
        raise InputError(f"{len(signal) / rate_hz:.2f} s of sound", "at least a tenth of a second", file=name)
    filtered = sosfiltfilt(butter(4, (low_hz, high_hz), "bandpass", fs=rate_hz, output="sos"), signal)
    block = max(int(0.005 * rate_hz), int(rate_hz / low_hz / 2), 1)
    count = len(filtered) // block
    level = np.sqrt(np.mean(filtered[: count * block].reshape(count, block) ** 2, axis=1))
    quiet = float(np.quantile(level, 0.2))
    if level.max() < 4.0 * quiet:
        raise InputError(
            "no tap above the noise",
            "taps at least four times louder than the background",
            "record nearer, in a quiet room, spindle off",
            file=name,
        )
    starts = _blows(level, max(0.25 * float(level.max()), 4.0 * quiet))
    pieces = []
    for start, following in zip(starts, [*starts[1:], count], strict=True):
        around = filtered[start * block : min((start + 3) * block, len(filtered))]
        blow = start * block + int(np.argmax(np.abs(around)))
        begin = blow + max(int(rate_hz / high_hz), 1)
        end = _sunk(level, start, following, quiet) * block
        if end - begin > max(0.01 * rate_hz, 3 * rate_hz / high_hz):
            pieces.append(np.asarray(filtered[begin:end]))
    if not pieces:
        raise InputError("blows without ringing after them", "taps that ring", file=name)
    return pieces


def _blows(level: Array, threshold: float) -> list[int]:
    """Blocks in which the level rises over the threshold, after it had sunk well below it."""
    starts: list[int] = []
    armed = True
    for index, value in enumerate(level):
        if armed and value >= threshold:
            starts.append(index)
            armed = False
        elif value < 0.3 * threshold:
            armed = True
    return starts


def _sunk(level: Array, start: int, following: int, quiet: float) -> int:
    """Block in which the ringing has sunk into the noise; the next blow where it does not."""
    tail = level[start:following]
    sunk = np.flatnonzero(tail < max(1.5 * quiet, 0.01 * float(tail.max())))
    return start + int(sunk[0]) if len(sunk) else following


def added_spectrum(rate_hz: int, pieces: list[Array]) -> tuple[Array, Array]:
    """Power of all pieces, each counted alike.

    rate_hz: Samples a second [Hz].
    pieces: Ringing of each tap.
    Returns: power: In each step [-]. frequency_hz: Of each step [Hz].
    """
    size = 1 << int(np.ceil(np.log2(8 * max(len(piece) for piece in pieces))))
    total = np.zeros(size // 2 + 1)
    for piece in pieces:
        total += np.abs(np.fft.rfft(piece, size)) ** 2 / float(piece @ piece)
    return total, np.asarray(np.fft.rfftfreq(size, 1.0 / rate_hz), dtype=np.float64)


def vertex(spectrum: Array, peak: int) -> float:
    """Top of the parabola through a peak and its neighbours.

    spectrum: Power in each step [-].
    peak: Its highest step [-].
    Returns: In steps of the spectrum [-].
    """
    if not 0 < peak < len(spectrum) - 1:
        return float(peak)
    left, middle, right = np.log(np.maximum(spectrum[peak - 1 : peak + 2], 1e-300))
    bend = left - 2 * middle + right
    return float(peak + (0.5 * (left - right) / bend if bend < 0 else 0.0))


def half_power_damping(frequency_hz: Array, spectrum: Array, peak: int, middle_hz: float) -> float:
    """Damping ratio from the width of a peak at half its power, (f2 - f1) / (2 f).

    frequency_hz: Of each step [Hz].
    spectrum: Power in each step [-].
    peak: Highest step [-].
    middle_hz: Frequency of the peak [Hz].
    Returns: Damping ratio [-].
    """
    half = spectrum[peak] / 2.0
    left, right = peak, peak
    while left > 0 and spectrum[left] > half:
        left -= 1
    while right < len(spectrum) - 1 and spectrum[right] > half:
        right += 1
    step = frequency_hz[1]
    rise = max(spectrum[left + 1] - spectrum[left], 1e-300)
    fall = max(spectrum[right - 1] - spectrum[right], 1e-300)
    low = frequency_hz[left] + step * (half - spectrum[left]) / rise
    high = frequency_hz[right] - step * (half - spectrum[right]) / fall
    return float((high - low) / (2.0 * middle_hz))


def decay(rate_hz: int, piece: Array, middle_hz: float) -> tuple[float, float] | None:
    """Frequency and damping of one ringing from the slope of the logarithm of its envelope, slope / (2 pi f).

    rate_hz: Samples a second [Hz].
    piece: The ringing [-].
    middle_hz: Frequency to look at [Hz].
    Returns: Frequency [Hz] and damping ratio [-]; None when it is too short or does not fade.
    """
    from scipy.signal import butter, hilbert, sosfilt

    if len(piece) < 4 * rate_hz / middle_hz:
        return None
    band = (0.6 * middle_hz, min(1.6 * middle_hz, 0.49 * rate_hz))
    # forwards on the reversed ringing: the filter's own ringing falls before the blow, not into the decay
    backwards = sosfilt(butter(2, band, "bandpass", fs=rate_hz, output="sos"), piece[::-1])[::-1]
    analytic = hilbert(backwards)
    envelope = np.abs(analytic)
    swing = rate_hz / middle_hz
    first, last = int(1.0 * swing), len(piece) - int(1.0 * swing)
    usable = np.arange(first, max(last, first))
    if len(usable) < 2 * swing:
        return None
    start = float(np.max(envelope[usable[: max(int(swing), 1)]]))
    above = np.flatnonzero(envelope[usable] < start * 10 ** (-25 / 20))
    usable = usable[: int(above[0])] if len(above) else usable
    if len(usable) < 2 * swing:
        return None
    seconds = usable / rate_hz
    slope = np.polyfit(seconds, np.log(np.maximum(envelope[usable], 1e-300)), 1)[0]
    turns = np.polyfit(seconds, np.unwrap(np.angle(analytic[usable])), 1)[0]
    hertz = float(turns) / (2 * np.pi)
    if slope >= 0 or hertz <= 0:
        return None
    ratio = float(-slope) / (2 * np.pi * hertz)
    return hertz, ratio / float(np.sqrt(1.0 + ratio**2))


def other_peaks_hz(
    frequency_hz: Array, spectrum: Array, inside: NDArray[np.bool_], middle_hz: float
) -> tuple[float, ...]:
    """Further peaks at least a 250th as strong, a tenth away from the first.

    frequency_hz: Of each step [Hz].
    spectrum: Power in each step [-].
    inside: Steps to look at [-].
    middle_hz: Frequency of the first peak [Hz].
    Returns: At most four, strongest first [Hz].
    """
    from scipy.signal import find_peaks

    peaks, _ = find_peaks(np.where(inside, spectrum, 0.0), height=0.004 * float(spectrum[inside].max()))
    order = peaks[np.argsort(-spectrum[peaks])]
    found: list[float] = []
    for index in order:
        value = float(frequency_hz[index])
        if all(abs(value - known) > 0.1 * known for known in (middle_hz, *found)):
            found.append(value)
    return tuple(found[:4])
