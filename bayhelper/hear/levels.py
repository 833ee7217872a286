"""How loud sound is."""

from __future__ import annotations

import numpy as np

from bayhelper.terms.sound import Sound

LOUD_PERCENT, SOFT_PERCENT = 95, 10
CLEAN_BELOW_DB = 30.0
"""Range of an utterance below which what a suppressor made of it is read."""


def level_db(pcm: bytes) -> float:
    """Root mean square level of 16-bit samples, dB of full scale, at least -100."""
    samples = np.frombuffer(pcm, "<i2").astype(np.float64) / 32768
    power = float(np.mean(samples**2)) if len(samples) else 0.0
    return max(-100.0, 10 * float(np.log10(power + 1e-12)))


def range_db(sound: Sound) -> float:
    """Between the loud and the soft 10 ms frames, dB; 0 for less than one."""
    size = sound.rate_hz // 100
    samples = np.frombuffer(sound.pcm, "<i2").astype(np.float64) / 32768
    frames = samples[: len(samples) // size * size].reshape(-1, size)
    if not len(frames):
        return 0.0
    levels = 10 * np.log10(np.mean(frames**2, axis=1) + 1e-10)
    soft, loud = np.percentile(levels, (SOFT_PERCENT, LOUD_PERCENT))
    return float(loud - soft)
