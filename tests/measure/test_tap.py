"""Frequency and damping of tapped ringing against closed-form signals."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from millcalc.errors import InputError
from millcalc.measure.recording import read_wav
from millcalc.measure.tap import tap_from_signal


def ringing(
    modes: list[tuple[float, float, float]],
    rate: int = 44100,
    noise: float = 0.002,
    taps: int = 4,
    seed: int = 1,
) -> np.ndarray:
    """Taps a second apart, each a sum of decaying sines (frequency, damping, size), with noise and a hum."""
    time = np.arange(int((taps + 0.5) * rate)) / rate
    signal = noise * np.random.default_rng(seed).standard_normal(len(time))
    for tap in range(taps):
        since = time - 0.3 - tap
        on = since > 0
        for frequency, damping, size in modes:
            swing = 2 * np.pi * frequency
            signal[on] += (
                size
                * np.exp(-damping * swing * since[on])
                * np.sin(swing * np.sqrt(1 - damping**2) * since[on])
            )
    return signal / np.max(np.abs(signal)) * 0.8


@pytest.mark.parametrize(
    ("frequency", "damping"), [(45.0, 0.03), (52.0, 0.05), (180.0, 0.02), (900.0, 0.012), (2400.0, 0.03)]
)
@pytest.mark.parametrize("rate", [8000, 44100])
def test_both_estimators_recover_a_clean_mode(frequency: float, damping: float, rate: int) -> None:
    low, high = (15.0, 250.0) if frequency < 250 else (250.0, 6000.0)
    tap = tap_from_signal(rate, ringing([(frequency, damping, 1.0)], rate), low, high)
    assert tap.frequency_hz == pytest.approx(frequency, rel=0.01)
    assert tap.damping_decrement == pytest.approx(damping, rel=0.08)
    assert tap.damping_half_power == pytest.approx(damping, rel=0.12)
    assert tap.taps == 4
    assert not tap.doubts


def test_like_a_recording_hum_second_mode_and_noise() -> None:
    """Second mode at a third of the size, mains hum, 30 dB of noise: the first mode stays within 15 %."""
    rate = 44100
    signal = ringing([(880.0, 0.015, 1.0), (2150.0, 0.02, 0.35)], rate, noise=0.02)
    hum = 0.05 * np.sin(2 * np.pi * 50.0 * np.arange(len(signal)) / rate)
    tap = tap_from_signal(rate, signal + hum, 250.0, 6000.0)
    assert tap.frequency_hz == pytest.approx(880.0, rel=0.01)
    assert tap.damping_ratio == pytest.approx(0.015, rel=0.15)
    assert any(abs(other - 2150.0) < 40 for other in tap.others_hz)


def test_doubtful_recordings_are_doubted() -> None:
    rate = 44100
    over = np.clip(4 * ringing([(900.0, 0.01, 1.0)], rate), -0.8, 0.8)
    assert any("overdriven" in doubt for doubt in tap_from_signal(rate, over, 250, 6000).doubts)
    near_hum = ringing([(50.0, 0.03, 1.0)], rate)
    assert any("mains" in doubt for doubt in tap_from_signal(rate, near_hum, 15, 250).doubts)
    one = ringing([(900.0, 0.02, 1.0)], rate, taps=1)
    assert any("1 tap only" in doubt for doubt in tap_from_signal(rate, one, 250, 6000).doubts)


def test_useless_recordings_are_refused() -> None:
    rate = 44100
    noise = np.random.default_rng(0).standard_normal(2 * rate)
    hum = np.sin(2 * np.pi * 120.0 * np.arange(2 * rate) / rate)
    for signal in (np.zeros(rate), noise, hum, np.zeros(10)):
        with pytest.raises(InputError):
            tap_from_signal(rate, signal)
    with pytest.raises(InputError):
        tap_from_signal(rate, ringing([(900.0, 0.02, 1.0)]), 500.0, 100.0)


@pytest.mark.parametrize("dtype", [np.int16, np.int32, np.uint8, np.float32])
def test_wav_files_of_every_kind(tmp_path: Path, dtype: type) -> None:
    from scipy.io import wavfile

    signal = ringing([(900.0, 0.02, 1.0)])
    if dtype is np.float32:
        data = signal.astype(np.float32)
    elif dtype is np.uint8:
        data = (128 + 127 * signal).astype(np.uint8)
    else:
        data = (signal * np.iinfo(dtype).max).astype(dtype)
    path = tmp_path / "tap.wav"
    wavfile.write(
        path,
        44100,
        np.stack([0.1 * data.astype(float), data], axis=1).astype(dtype) if dtype is not np.uint8 else data,
    )
    rate, read = read_wav(path)
    assert rate == 44100 and np.max(np.abs(read)) <= 1.0
    assert tap_from_signal(rate, read, 250, 6000).frequency_hz == pytest.approx(900.0, rel=0.01)


def test_files_that_are_no_recording(tmp_path: Path) -> None:
    text = tmp_path / "tap.wav"
    text.write_text("not a sound", encoding="utf-8")
    with pytest.raises(InputError, match="WAV"):
        read_wav(text)
    with pytest.raises(InputError):
        read_wav(tmp_path / "absent.wav")
