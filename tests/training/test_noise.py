"""Noise is repeatable, differs by kind, and is mixed in at the ratio that was asked for."""

from __future__ import annotations

import numpy as np
import pytest

from training.noise import KINDS, babble, mix, noise
from training.sound_files import RATE_HZ, Samples
from training.speakers import RecipeError


def decibels(values: np.ndarray) -> float:
    return float(10 * np.log10(np.mean(np.square(values, dtype=np.float64))))


@pytest.mark.parametrize("snr_db", [20.0, 10.0, 5.0, 0.0])
def test_the_ratio_is_the_one_asked_for(snr_db: float) -> None:
    # A steady tone speaks in every frame, so its level is that of the whole.
    t = np.arange(2 * RATE_HZ) / RATE_HZ
    speech = Samples((0.1 * np.sin(2 * np.pi * 300 * t)).astype(np.float32), RATE_HZ)
    mixed = mix(speech, noise("washer", 5.0, 1), snr_db, 3)
    added = mixed.values - speech.values
    assert decibels(speech.values) - decibels(added) == pytest.approx(snr_db, abs=0.1)


def test_silence_around_the_speech_does_not_change_the_ratio() -> None:
    t = np.arange(RATE_HZ) / RATE_HZ
    tone = (0.1 * np.sin(2 * np.pi * 300 * t)).astype(np.float32)
    padded = Samples(np.pad(tone, RATE_HZ), RATE_HZ)
    added = mix(padded, noise("washer", 5.0, 1), 10.0, 3).values - padded.values
    assert decibels(tone) - decibels(added) == pytest.approx(10.0, abs=0.3)


def test_loud_mixtures_are_turned_down_rather_than_clipped() -> None:
    speech = Samples(np.full(RATE_HZ, 0.7, dtype=np.float32), RATE_HZ)
    assert np.abs(mix(speech, noise("polisher", 2.0, 1), 0.0, 1).values).max() <= 0.9 + 1e-6


def test_the_same_seed_gives_the_same_noise_and_another_does_not() -> None:
    for kind in KINDS:
        first = noise(kind, 0.5, 1).values
        assert np.array_equal(first, noise(kind, 0.5, 1).values)
        assert not np.allclose(first, noise(kind, 0.5, 2).values)


def test_a_washer_hisses_and_a_compressor_rumbles() -> None:
    def share_below_1_khz(kind: str) -> float:
        power = np.abs(np.fft.rfft(noise(kind, 4.0, 1).values)) ** 2
        hz = np.fft.rfftfreq(4 * RATE_HZ, 1 / RATE_HZ)
        return float(power[hz < 1000].sum() / power.sum())

    assert share_below_1_khz("compressor") > 0.8
    assert share_below_1_khz("washer") < 0.4


def test_what_cannot_be_made_is_refused() -> None:
    with pytest.raises(RecipeError, match="got 'harp'"):
        noise("harp", 1.0, 1)
    with pytest.raises(RecipeError, match="make the talk corpus first"):
        babble([], 1.0, 3, 1)
    with pytest.raises(RecipeError, match="make a longer one"):
        mix(noise("washer", 2.0, 1), noise("washer", 1.0, 1), 5.0, 1)
