"""How far tones stand above the noise that they were recorded in, and what to change if too little.

The rule for a plain tone, and the masked threshold, are reckon.loudness's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log10

from bayhelper.reckon.loudness import (
    BAND_MARGIN_DB,
    BANDS_HZ,
    Levels,
    a_level_db,
    band_levels_db,
    heard,
    masked_threshold_db,
)
from bayhelper.terms.errors import ReckonError
from bayhelper.terms.sound import Sound

PIECE_S = 0.125
"""Levels are of pieces so long, as a meter's 'fast' time constant is (IEC 61672-1, from memory)."""
LEAST_DB = -90.0
"""Below this a recording holds nothing but its own rounding: 16 bits reach 96 dB down."""


@dataclass(frozen=True)
class ToneReport:
    """One tone against the noise."""

    tone: str
    """Its name."""
    above_db: Levels
    """By octave of reckon.loudness.BANDS_HZ: tone less masked threshold, dB."""
    a_above_db: float
    """A-weighted tone less A-weighted noise, dB."""
    heard: bool
    """Whether the rule for danger signals would call it plain."""
    advice: str
    """What to change; empty when nothing need be."""


def judge_room(noise: Sound, tone_sounds: Sequence[tuple[str, Sound]]) -> tuple[ToneReport, ...]:
    """Each tone, as recorded with the noise, against the noise alone, at one gain.

    The noise is what is exceeded in one piece in ten (as L10 of environmental acoustics), the tone
    the loudest piece, less the noise's power. Raises ReckonError for recordings of silence.
    """
    pieces = _pieces(noise)
    ranked = sorted(pieces, key=a_level_db)
    quiet = ranked[int(0.9 * (len(ranked) - 1))]
    if a_level_db(quiet) < LEAST_DB and not any(
        a_level_db(max(_pieces(sound), key=a_level_db)) > LEAST_DB for _, sound in tone_sounds
    ):
        raise ReckonError(
            "The microphone heard nothing at all, neither noise nor tones. See 'bayhelper check', "
            "and whether it is muted."
        )
    threshold = masked_threshold_db(quiet)
    found = []
    for name, sound in tone_sounds:
        tone = _less(max(_pieces(sound), key=a_level_db), quiet)
        above = tuple(t - m for t, m in zip(tone, threshold, strict=True))
        plain = heard(tone, quiet)
        short_db = BAND_MARGIN_DB - max(
            a for a, hz in zip(above, BANDS_HZ, strict=True) if 500 <= hz <= 2500
        )
        advice = "" if plain else _advice(short_db)
        a_above_db = a_level_db(tone) - a_level_db(quiet)
        found.append(ToneReport(name, above, a_above_db, plain, advice))
    return tuple(found)


def _advice(short_db: float) -> str:
    if short_db <= 6:
        return f"{short_db:.0f} dB short: turn the loudspeaker up, or halve its distance to you."
    return (
        f"{short_db:.0f} dB short: that is more than a louder loudspeaker should give. Wear a "
        "headset, or put the loudspeaker beside you and away from the machine."
    )


def _pieces(sound: Sound) -> list[Levels]:
    size = 2 * int(PIECE_S * sound.rate_hz)
    cut = [sound.pcm[at : at + size] for at in range(0, len(sound.pcm) - size + 1, size)]
    if not cut:
        raise ReckonError(
            f"A recording of {sound.length_s:.2f} s came; at least {PIECE_S} s is needed. "
            "Record longer."
        )
    return [band_levels_db(Sound(pcm, sound.rate_hz)) for pcm in cut]


def _less(mixed: Levels, noise: Levels) -> Levels:
    """Levels of what was added to the noise; far below it where nothing was."""
    power = [10 ** (m / 10) - 10 ** (n / 10) for m, n in zip(mixed, noise, strict=True)]
    return tuple(10 * log10(max(p, 1e-20)) for p in power)
