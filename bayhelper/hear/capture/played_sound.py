"""Sound in the air of a bay that has no microphone: recordings, each from its own instant on."""

from __future__ import annotations

import numpy as np

from bayhelper.hear.capture.endpoint import RATE_HZ
from bayhelper.terms.errors import HearingError
from bayhelper.terms.sound import Sound


class PlayedSound:
    """Recordings over one another, over silence; the microphone in it may be pulled out."""

    def __init__(self) -> None:
        self._sounds: list[tuple[int, np.ndarray]] = []
        self.alive = True
        """Whether the microphone delivers."""

    def play(self, sound: Sound, at_s: float) -> float:
        """Let it be heard from then on, steady seconds; gives when it ends.

        Raises HearingError unless it is 16 kHz sound.
        """
        if sound.rate_hz != RATE_HZ:
            raise HearingError(f"Expected {RATE_HZ} Hz, got {sound.rate_hz}. Use read_sound.")
        samples = np.frombuffer(sound.pcm, "<i2").astype(np.int32)
        self._sounds.append((round(at_s * RATE_HZ), samples))
        return at_s + sound.length_s

    def read(self, first: int, count: int) -> bytes:
        """So many 16-bit samples, the first of them counted from steady second 0."""
        mixed = np.zeros(count, np.int32)
        for start, samples in self._sounds:
            part = samples[max(0, first - start) : max(0, first - start + count)]
            place = max(0, start - first)
            part = part[: max(0, count - place)]
            mixed[place : place + len(part)] += part
        self._sounds = [(at, one) for at, one in self._sounds if at + len(one) > first + count]
        return np.clip(mixed, -32768, 32767).astype("<i2").tobytes()
