"""How far a tone stands above the noise: octave bands, A-weighting and the ISO 7731 rule.

Levels are relative to full scale, never absolute dB(A): a microphone here is no sound level
meter. Only differences between two recordings made at the same gain mean anything.
"""

from __future__ import annotations

import numpy as np

from bayhelper.terms.errors import ReckonError
from bayhelper.terms.sound import Sound

BANDS_HZ = tuple(1000.0 * 10 ** (0.3 * n) for n in range(-4, 4))
"""Exact mid-band frequencies of the nominal octaves 63 to 8000 Hz (IEC 61260-1, from memory)."""
HALF_BAND = 10**0.15
"""From the middle of an octave to its edge (IEC 61260-1, from memory)."""
SIGNAL_BANDS_HZ = (500.0, 2500.0)
"""Where the octave lies that makes a signal plain (ISO 7731, from memory)."""
MASKING_SLOPE_DB = 7.5
"""By which masking falls from one octave to the next higher (ISO 7731, from memory)."""
A_MARGIN_DB = 15.0
"""By which a signal stands above the noise in A-level (ISO 7731, from memory)."""
BAND_MARGIN_DB = 13.0
"""By which it stands above the masked threshold in one octave (ISO 7731, from memory)."""
FLOOR_DB = -200.0
"""Level of digital silence, which has no logarithm: below any 16-bit sound (chosen)."""

Levels = tuple[float, ...]
"""One level in dB for each of BANDS_HZ."""


def a_weight_db(frequency_hz: float) -> float:
    """A-weighting in dB by the analytic form of IEC 61672-1 (constants from memory)."""
    f2 = frequency_hz**2
    low = (f2 + 20.6**2) * (f2 + 12194.0**2)
    gain = 12194.0**2 * f2**2 / (low * np.sqrt((f2 + 107.7**2) * (f2 + 737.9**2)))
    return float(20 * np.log10(gain) + 2.0)


def band_levels_db(sound: Sound) -> Levels:
    """Mean-square level in each octave, dB re full scale. Raises ReckonError under 0.1 s."""
    if sound.length_s < 0.1:
        raise ReckonError(f"Expected at least 0.1 s of sound, got {sound.length_s:.3f} s.")
    samples = np.frombuffer(sound.pcm, "<i2") / 32768.0
    power = 2 * np.abs(np.fft.rfft(samples)) ** 2 / len(samples) ** 2
    hz = np.fft.rfftfreq(len(samples), 1 / sound.rate_hz)
    return tuple(
        max(FLOOR_DB, float(10 * np.log10(power[_inside(hz, mid)].sum() + 1e-30)))
        for mid in BANDS_HZ
    )


def a_level_db(levels: Levels) -> float:
    """A-weighted sum of octave levels, dB."""
    parts = [10 ** ((x + a_weight_db(mid)) / 10) for x, mid in zip(levels, BANDS_HZ, strict=True)]
    return float(10 * np.log10(sum(parts)))


def masked_threshold_db(noise: Levels) -> Levels:
    """Masked threshold per octave: the noise, or the octave below less 7.5 dB, the higher.

    The octave method of ISO 7731, from memory.
    """
    out: list[float] = []
    for level in noise:
        out.append(max(level, out[-1] - MASKING_SLOPE_DB) if out else level)
    return tuple(out)


def heard(tone: Levels, noise: Levels) -> bool:
    """Whether a tone alone is plain by ISO 7731: 15 dB in A-level, or 13 dB in one octave.

    The octave's mid-band frequency must lie in 500 to 2500 Hz (from memory).
    """
    if a_level_db(tone) - a_level_db(noise) >= A_MARGIN_DB:
        return True
    low, high = SIGNAL_BANDS_HZ
    threshold = masked_threshold_db(noise)
    return any(
        low <= mid <= high and t - m >= BAND_MARGIN_DB
        for t, m, mid in zip(tone, threshold, BANDS_HZ, strict=True)
    )


def _inside(hz: np.ndarray, mid_hz: float) -> np.ndarray:
    inside: np.ndarray = (hz >= mid_hz / HALF_BAND) & (hz < mid_hz * HALF_BAND)
    return inside
