"""A player that needs no sound card: a folder of files."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from bayhelper.sound.wav import write_wav
from bayhelper.terms.errors import SpeechError
from bayhelper.terms.sound import Sound


def scaled(sound: Sound, gain: float) -> Sound:
    """The sound at another loudness; `gain` is at most 1."""
    if gain == 1:
        return sound
    samples = np.frombuffer(sound.pcm, "<i2") * gain
    return Sound(samples.astype("<i2").tobytes(), sound.rate_hz)


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
            write_wav(file, sound)
        except OSError as error:
            raise SpeechError(f"{file} cannot be written: {error}. Make room there.") from error
        return file

    def close(self) -> None:
        """Nothing is held open."""
