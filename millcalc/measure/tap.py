"""Natural frequency and damping from the recording of a tap."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from millcalc.errors import InputError
from millcalc.files import refuse_odd
from millcalc.measure import tuning

Array = NDArray[np.float64]
_LONGEST_S = 120.0
_MAINS_HZ = (50.0, 60.0, 100.0, 120.0)


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


def read_wav(path: Path) -> tuple[int, Array]:
    """Read a WAV recording as one channel between -1 and 1.

    path: The recording.
    Returns: rate_hz: Samples a second [Hz]. signal: Samples of the louder channel [-].
    Raises InputError: If it is absent, no WAV file, empty or too long.
    """
    import warnings

    from scipy.io import wavfile

    name = str(path)
    refuse_odd(path)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            rate, data = wavfile.read(path)
    except OSError as error:
        raise InputError(f"no readable file ({error.strerror})", "a WAV recording", file=name) from None
    except Exception as error:
        raise InputError(
            f"a file that is no WAV recording ({error})",
            "WAV, not compressed",
            "let the recorder save WAV instead of MP3, M4A or OGG",
            file=name,
        ) from None
    samples = np.asarray(data)
    if samples.size == 0 or rate <= 0:
        raise InputError("a recording without samples", "a few seconds with taps", file=name)
    if samples.shape[0] > _LONGEST_S * rate:
        raise InputError(
            f"{samples.shape[0] / rate:.0f} s", f"at most {_LONGEST_S:.0f} s", "cut out the taps", file=name
        )
    if np.issubdtype(samples.dtype, np.integer):
        top = float(np.iinfo(samples.dtype).max)
        middle = (top + 1) / 2 if samples.dtype == np.uint8 else 0.0
        signal = (samples.astype(float) - middle) / (top - middle)
    else:
        signal = samples.astype(float)
    if signal.ndim == 2:
        signal = signal[:, int(np.argmax(np.std(signal, axis=0)))]
    if not np.all(np.isfinite(signal)):
        raise InputError("samples that are no numbers", "a sound recording", file=name)
    return int(rate), signal


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
    loudest = float(np.max(np.abs(signal), initial=0.0))
    if loudest <= 0:
        raise InputError("silence", "taps", "check the microphone", file=name)
    doubts = []
    if np.mean(np.abs(signal) > 0.995 * loudest) > 0.002:
        doubts.append(
            "the recording is overdriven (flat tops): damping is doubtful; tap softer, or further away"
        )
    pieces = _pieces(rate_hz, signal, low_hz, high_hz, name)
    spectrum, frequency = _spectrum(rate_hz, pieces)
    inside = (frequency >= low_hz) & (frequency <= high_hz)
    peak = int(np.argmax(np.where(inside, spectrum, -1.0)))
    middle = _vertex(spectrum, peak) * frequency[1]
    half = _half_power(frequency, spectrum, peak, middle)
    each_f, each_z = [], []
    for piece in pieces:
        found = _decrement(rate_hz, piece, middle)
        if found is not None:
            each_f.append(found[0])
            each_z.append(found[1])
    if not each_z:
        raise InputError(
            f"a peak at {middle:.0f} Hz that does not ring on",
            "ringing that fades over several swings",
            "tap with something harder, record nearer, or name the band with --band",
            file=name,
        )
    low, high = tuning.DAMPING_BELIEVED
    decrement = float(np.median(each_z))
    if not low <= decrement <= high:
        raise InputError(
            f"damping {decrement:.3g}",
            f"{low:g} to {high:g}",
            "what was recorded is no tap: a hum, or a single thud",
            file=name,
        )
    if max(half, decrement) > tuning.DAMPING_AGREES * min(half, decrement):
        doubts.append(
            f"the two ways to find damping disagree ({half:.3f} and {decrement:.3f}): two modes lie close "
            "together or the room echoes; tap at another place or direction"
        )
    if any(abs(middle - hum) < 1.5 for hum in _MAINS_HZ):
        doubts.append(f"{middle:.1f} Hz is where the mains hum: switch the spindle's supply off and repeat")
    if len(pieces) < 3:
        doubts.append(f"{len(pieces)} tap only: five show whether they agree")
    spread = float(np.std(each_f, ddof=1)) if len(each_f) > 1 else 0.0
    resolution = rate_hz / max(len(piece) for piece in pieces) / 4.0
    return Tap(
        middle,
        max(spread, min(resolution, 0.02 * middle)),
        half,
        decrement,
        decrement,
        len(pieces),
        _others(frequency, spectrum, inside, middle),
        tuple(doubts),
    )


def _pieces(rate_hz: int, signal: Array, low_hz: float, high_hz: float, name: str) -> list[Array]:
    """Ringing after each blow, from 1 swing of the highest frequency on to the noise or the next blow."""
    from scipy.signal import butter, sosfiltfilt

    padding = 3 * (2 * 4 + 1)
    if len(signal) < max(padding + 1, int(0.1 * rate_hz)):
        raise InputError(f"{len(signal) / rate_hz:.2f} s of sound", "at least a tenth of a second", file=name)
    filtered = sosfiltfilt(butter(4, (low_hz, high_hz), "bandpass", fs=rate_hz, output="sos"), signal)
    block = max(int(0.005 * rate_hz), int(rate_hz / low_hz / 2), 1)
    count = len(filtered) // block
    level = np.sqrt(np.mean(filtered[: count * block].reshape(count, block) ** 2, axis=1))
    quiet = float(np.quantile(level, 0.2))
    threshold = max(0.25 * float(level.max()), 4.0 * quiet)
    if level.max() < 4.0 * quiet:
        raise InputError(
            "no tap above the noise",
            "taps at least four times louder than the background",
            "record nearer, in a quiet room, spindle off",
            file=name,
        )
    starts: list[int] = []
    armed = True
    for index, value in enumerate(level):
        if armed and value >= threshold:
            starts.append(index)
            armed = False
        elif value < 0.3 * threshold:
            armed = True
    pieces = []
    for number, start in enumerate(starts):
        following = starts[number + 1] if number + 1 < len(starts) else count
        around = filtered[start * block : min((start + 3) * block, len(filtered))]
        blow = start * block + int(np.argmax(np.abs(around)))
        begin = blow + max(int(rate_hz / high_hz), 1)
        tail = level[start:following]
        floor = max(1.5 * quiet, 0.01 * float(tail.max()))
        sunk = np.flatnonzero(tail < floor)
        end = (start + int(sunk[0]) if len(sunk) else following) * block
        if end - begin > max(0.01 * rate_hz, 3 * rate_hz / high_hz):
            pieces.append(np.asarray(filtered[begin:end]))
    if not pieces:
        raise InputError("blows without ringing after them", "taps that ring", file=name)
    return pieces


def _spectrum(rate_hz: int, pieces: list[Array]) -> tuple[Array, Array]:
    size = 1 << int(np.ceil(np.log2(8 * max(len(piece) for piece in pieces))))
    total = np.zeros(size // 2 + 1)
    for piece in pieces:
        total += np.abs(np.fft.rfft(piece, size)) ** 2 / float(piece @ piece)
    return total, np.asarray(np.fft.rfftfreq(size, 1.0 / rate_hz), dtype=np.float64)


def _vertex(spectrum: Array, peak: int) -> float:
    """Top of the parabola through the peak and its neighbours, in steps of the spectrum."""
    if not 0 < peak < len(spectrum) - 1:
        return float(peak)
    left, middle, right = np.log(np.maximum(spectrum[peak - 1 : peak + 2], 1e-300))
    bend = left - 2 * middle + right
    return float(peak + (0.5 * (left - right) / bend if bend < 0 else 0.0))


def _half_power(frequency: Array, spectrum: Array, peak: int, middle_hz: float) -> float:
    half = spectrum[peak] / 2.0
    left, right = peak, peak
    while left > 0 and spectrum[left] > half:
        left -= 1
    while right < len(spectrum) - 1 and spectrum[right] > half:
        right += 1
    step = frequency[1]
    low = frequency[left] + step * (half - spectrum[left]) / max(spectrum[left + 1] - spectrum[left], 1e-300)
    high = frequency[right] - step * (half - spectrum[right]) / max(
        spectrum[right - 1] - spectrum[right], 1e-300
    )
    return float((high - low) / (2.0 * middle_hz))


def _decrement(rate_hz: int, piece: Array, middle_hz: float) -> tuple[float, float] | None:
    """Frequency and damping of one ringing from its decay; None when it is too short."""
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


def _others(
    frequency: Array, spectrum: Array, inside: NDArray[np.bool_], middle_hz: float
) -> tuple[float, ...]:
    """Further peaks at least a 250th as strong, a tenth away from the first."""
    from scipy.signal import find_peaks

    peaks, _ = find_peaks(np.where(inside, spectrum, 0.0), height=0.004 * float(spectrum[inside].max()))
    order = peaks[np.argsort(-spectrum[peaks])]
    found: list[float] = []
    for index in order:
        value = float(frequency[index])
        if all(abs(value - known) > 0.1 * known for known in (middle_hz, *found)):
            found.append(value)
    return tuple(found[:4])
