"""A WAV recording as numbers."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from millcalc.errors import InputError
from millcalc.files import refuse_odd

Array = NDArray[np.float64]
_LONGEST_S = 120.0


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
    signal = _one_channel(samples)
    if not np.all(np.isfinite(signal)):
        raise InputError("samples that are no numbers", "a sound recording", file=name)
    return int(rate), signal


def _one_channel(samples: NDArray[Any]) -> Array:
    """The louder channel, between -1 and 1."""
    if np.issubdtype(samples.dtype, np.integer):
        top = float(np.iinfo(samples.dtype).max)
        middle = (top + 1) / 2 if samples.dtype == np.uint8 else 0.0
        signal = (samples.astype(float) - middle) / (top - middle)
    else:
        signal = samples.astype(float)
    if signal.ndim == 2:
        signal = signal[:, int(np.argmax(np.std(signal, axis=0)))]
    return signal
