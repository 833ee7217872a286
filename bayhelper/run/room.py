"""How far the alert tones stand above the noise of this room, where the microphone is."""

from __future__ import annotations

import queue
from collections.abc import Sequence
from dataclasses import dataclass
from math import log10
from pathlib import Path

from bayhelper.hear.capture.microphone import Microphones
from bayhelper.hear.capture.recording import read_sound
from bayhelper.reckon.loudness import (
    BAND_MARGIN_DB,
    BANDS_HZ,
    Levels,
    a_level_db,
    band_levels_db,
    heard,
    masked_threshold_db,
)
from bayhelper.run.clock import steady_s
from bayhelper.run.parts import wanted_microphones
from bayhelper.run.settings import Settings
from bayhelper.speak import tones
from bayhelper.speak.speaker import Speaker
from bayhelper.speak.speaker_reports import Ended, SpeakerReport
from bayhelper.terms.errors import RunError
from bayhelper.terms.sound import Sound

TONES = ("soft", "due", "urgent")
"""Tones of the three urgencies."""
NOISE_S = 4.0
TONE_S = 1.5
SETTLE_S = 1.0
PIECE_S = 0.125
"""Levels are of pieces so long, as a meter's 'fast' time constant is (IEC 61672-1, from memory)."""
OPEN_S = 10.0
LEAST_DB = -90.0
"""Below this a recording holds nothing but its own rounding."""
ASSUMED = (
    "It is assumed that your ear is as far from the loudspeaker as the microphone is: every "
    "doubling of the distance costs some 6 dB in the open, less in a room. The microphone is no "
    "sound level meter: only the differences mean anything, and hearing protection is not counted."
)


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
    the loudest piece, less the noise's power. Raises RunError for recordings of silence.
    """
    pieces = _pieces(noise)
    ranked = sorted(pieces, key=a_level_db)
    quiet = ranked[int(0.9 * (len(ranked) - 1))]
    if a_level_db(quiet) < LEAST_DB and not any(
        a_level_db(max(_pieces(sound), key=a_level_db)) > LEAST_DB for _, sound in tone_sounds
    ):
        raise RunError(
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
        raise RunError(
            f"A recording of {sound.length_s:.2f} s came; at least {PIECE_S} s is needed. "
            "Record longer."
        )
    return [band_levels_db(Sound(pcm, sound.rate_hz)) for pcm in cut]


def _less(mixed: Levels, noise: Levels) -> Levels:
    """Levels of what was added to the noise; far below it where nothing was."""
    power = [10 ** (m / 10) - 10 ** (n / 10) for m, n in zip(mixed, noise, strict=True)]
    return tuple(10 * log10(max(p, 1e-20)) for p in power)


def record_room(settings: Settings) -> tuple[Sound, tuple[tuple[str, Sound], ...]]:
    """The noise, then each tone as the microphone hears it.

    Raises SoundError without PortAudio, RunError when no sound comes.
    """
    done: queue.Queue[SpeakerReport] = queue.Queue()
    microphones = Microphones(wanted_microphones(settings)[:1], steady_s)
    try:
        _record(microphones, SETTLE_S)
        noise = _record(microphones, NOISE_S)
        found = []
        with Speaker(
            done.put, steady_s, device=settings.speaker, maximum=settings.loudness_max
        ) as speaker:
            for number, name in enumerate(TONES):
                speaker.say(number, (tones.render(name),), urgency=1)
                found.append((name, _record(microphones, TONE_S)))
                _wait(done, number)
    finally:
        microphones.close()
    return noise, tuple(found)


def _record(microphones: Microphones, length_s: float) -> Sound:
    pcm, until_s = b"", steady_s() + OPEN_S
    while len(pcm) < 2 * 16_000 * length_s:
        states = microphones.poll()
        heard_now = microphones.read(0.2)
        pcm += heard_now.pcm if heard_now else b""
        if not pcm and steady_s() > until_s:
            told = "; ".join(state.text for state in states) or "it stays silent"
            raise RunError(f"No sound came from the microphone ({told}). See 'bayhelper check'.")
    return Sound(pcm, 16_000)


def _wait(done: queue.Queue[SpeakerReport], number: int) -> None:
    while True:
        try:
            report = done.get(timeout=OPEN_S)
        except queue.Empty:
            raise RunError(
                "The loudspeaker did not play the tone. See 'bayhelper check'."
            ) from None
        if isinstance(report, Ended) and report.number == number and not report.again:
            return


def read_room(files: Sequence[Path]) -> tuple[Sound, tuple[tuple[str, Sound], ...]]:
    """The same from recordings: the noise first, then each tone in it, made at one gain."""
    if len(files) != 1 + len(TONES):
        raise RunError(
            f"Expected {1 + len(TONES)} recordings, noise, {', '.join(TONES)}, got {len(files)}."
        )
    noise, *with_tone = (read_sound(file) for file in files)
    return noise, tuple(zip(TONES, with_tone, strict=True))
