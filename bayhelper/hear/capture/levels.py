"""How loud sound is."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bayhelper.terms.sound import Sound

LOUD_PERCENT, SOFT_PERCENT = 95, 10
"""Percentiles of an utterance's frames that stand for its speech and its noise: not the extremes,
so that neither a click nor a moment of digital silence decides. Our own choice."""
CLEAN_BELOW_DB = 30.0
"""Range of an utterance below which what a suppressor made of it is read: between what
machines leave, 9 to 23 dB, and a quiet room, 34 to 57; see hear.operating_point."""
SAID_WITHIN_DB = 20.0
"""A word farther below the loudest was not said: a grammar that must end in a command puts one into
silence. In 58 recordings of tests the softest word lay 10 dB below."""


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


def faintest_db(sound: Sound, spans_s: Sequence[tuple[float, float]]) -> float:
    """How far the softest of some stretches (start and end, seconds) lies below the loudest, dB."""
    ends = (tuple(round(at_s * sound.rate_hz) * 2 for at_s in span) for span in spans_s)
    levels = [level_db(sound.pcm[start:end]) for start, end in ends]
    return max(levels) - min(levels) if levels else 0.0
