"""Mono 16-bit WAV files by the standard library, for programs that must start at once."""

from __future__ import annotations

import wave
from pathlib import Path

from bayhelper.terms.sound import Sound


def write_wav(file: Path, sound: Sound) -> None:
    """Write a whole file, over one that is there. Raises OSError when the system refuses."""
    with wave.open(str(file), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(sound.rate_hz)
        out.writeframes(sound.pcm)
