"""The noise of this room and the alert tones in it, as the microphone hears them."""

from __future__ import annotations

import queue
from collections.abc import Sequence
from pathlib import Path

from bayhelper.hear.capture.microphone import Microphones
from bayhelper.hear.capture.recording import read_sound
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
"""So long the noise alone is recorded (chosen, no source)."""
TONE_S = 1.5
"""So long each tone is recorded: all last less than a second (chosen, no source)."""
SETTLE_S = 1.0
"""What a microphone gives first is thrown away (chosen, no source)."""
OPEN_S = 10.0
"""A device that gives or takes nothing for so long does not work (chosen, no source)."""


def record_room(settings: Settings) -> tuple[Sound, tuple[tuple[str, Sound], ...]]:
    """The noise, then each tone as the microphone hears it.

    Raises HearingError or SpeechError without PortAudio, RunError when no sound comes.
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
