"""Tones: what they mean is told by rhythm and pitch, never by loudness alone.

Energy lies between 500 and 1500 Hz, inside the 500 to 2500 Hz of ISO 7731 (from memory) and low
enough for people with hearing loss or protectors.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from bayhelper.terms.errors import SpeechError
from bayhelper.terms.sound import Sound

RATE_HZ = 22_050
"""That of the voice, so that tones and words go to a loudspeaker alike."""
FADE_S = 0.008
"""At either end of a beep, so that it does not click; common practice, no source."""
LEVEL = 0.5
"""Amplitude, full scale being 1: somewhat below the voice, whose peak is at 0.7. Our own choice."""

Beep = tuple[float, float]
"""Pitch in Hz (0 for silence) and length in seconds."""
PATTERNS: dict[str, tuple[Beep, ...]] = {
    "soft": ((660.0, 0.18),),
    "due": ((880.0, 0.12), (0.0, 0.08), (880.0, 0.12)),
    "urgent": (
        (1320.0, 0.09),
        (990.0, 0.09),
        (1320.0, 0.09),
        (990.0, 0.09),
        (1320.0, 0.09),
        (990.0, 0.09),
    ),
    "not_understood": ((520.0, 0.10), (0.0, 0.05), (520.0, 0.22)),
    "listening": ((620.0, 0.08), (930.0, 0.10)),
    "noted": ((780.0, 0.06),),
}
"""Beeps by name. Our own: the more urgent, the higher and faster; one that rises for listening."""


@cache
def render(name: str) -> Sound:
    """The tone of that name. Raises SpeechError when there is none."""
    if name not in PATTERNS:
        raise SpeechError(f"There is no tone '{name}'; there are {', '.join(PATTERNS)}.")
    parts = [_beep(pitch_hz, length_s) for pitch_hz, length_s in PATTERNS[name]]
    samples = np.concatenate([*parts, np.zeros(int(0.05 * RATE_HZ))])
    return Sound((samples * LEVEL * 32767).astype("<i2").tobytes(), RATE_HZ)


def _beep(pitch_hz: float, length_s: float) -> np.ndarray:
    """A sine with a softer octave, faded in and out; shape (frames,)."""
    t = np.arange(int(length_s * RATE_HZ)) / RATE_HZ
    if pitch_hz == 0:
        return np.zeros(len(t))
    wave = 0.8 * np.sin(2 * np.pi * pitch_hz * t) + 0.2 * np.sin(4 * np.pi * pitch_hz * t)
    fade = np.minimum(1, np.minimum(t, length_s - t) / FADE_S)
    return wave * fade
