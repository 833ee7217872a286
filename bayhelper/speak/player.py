"""Players that need no sound card: a folder of files, and silence."""

from __future__ import annotations

import wave
from pathlib import Path

import numpy as np
import soxr

from bayhelper.terms.errors import SpeechError
from bayhelper.terms.sound import Sound


def scaled(sound: Sound, gain: float) -> Sound:
    """The sound at another loudness; `gain` is at most 1."""
    if gain == 1:
        return sound
    samples = np.frombuffer(sound.pcm, "<i2") * gain
    return Sound(samples.astype("<i2").tobytes(), sound.rate_hz)


def float_samples(sound: Sound, rate_hz: int, gain: float) -> np.ndarray:
    """Float samples at the device's rate; shape (frames,)."""
    samples = np.frombuffer(sound.pcm, "<i2").astype(np.float32) / 32768 * np.float32(gain)
    if sound.rate_hz == rate_hz:
        return samples
    resampled = soxr.resample(samples, sound.rate_hz, rate_hz)
    return np.asarray(np.clip(resampled, -gain, gain))


def faded(samples: np.ndarray) -> np.ndarray:
    """The same, going down to nothing in the last 480 samples; a cut makes no click then."""
    faded = samples.copy()
    count = min(len(faded), 480)
    faded[len(faded) - count :] *= np.linspace(1, 0, count, dtype=np.float32)
    return faded


class FolderPlayer:
    """Writes every sound as a numbered WAV file, in the order played, after those already there."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        numbers = (file.name.partition("-")[0] for file in folder.glob("*-*.wav"))
        self._count = max((int(number) for number in numbers if number.isdecimal()), default=0)

    def play(self, sound: Sound, label: str) -> Path | None:
        """Keep the sound; gives its file. Raises SpeechError when the folder refuses."""
        self._count += 1
        file = self._folder / f"{self._count:04d}-{label}.wav"
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            with wave.open(str(file), "wb") as out:
                out.setnchannels(1)
                out.setsampwidth(2)
                out.setframerate(sound.rate_hz)
                out.writeframes(sound.pcm)
        except OSError as error:
            raise SpeechError(f"{file} cannot be written: {error}. Make room there.") from error
        return file

    def close(self) -> None:
        """Nothing is held open."""


class SilentPlayer:
    """Plays nothing; the terminal shows what would be said."""

    def play(self, sound: Sound, label: str) -> Path | None:
        """Let it pass."""
        return None

    def close(self) -> None:
        """Nothing is held open."""
