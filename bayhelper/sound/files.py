"""Sound files, WAV and FLAC, by libsndfile.

What libsndfile or the system refuses comes out as a SoundError that says what is wrong with which
file. What to do about it depends on whose file it is; whoever asked adds that.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from bayhelper.terms.errors import SoundError
from bayhelper.terms.sound import Sound

BLOCKS_PER_S = 10
"""A file is read by tenths of a second, a word or so at a time; our own choice."""


@dataclass(frozen=True)
class SoundFile:
    """A sound file that is open for reading."""

    rate_hz: int
    """Frames per second."""
    frames: int
    """Its length; 0 for an empty one."""
    blocks: Iterator[NDArray[np.float32]]
    """Its samples in -1 to 1 as mono, the mean of its channels, each of shape (frames,)."""


@contextmanager
def open_sound(path: Path) -> Iterator[SoundFile]:
    """Read a file block by block. Raises SoundError when it is missing or no sound file."""
    try:
        with soundfile.SoundFile(path) as file:
            size = max(file.samplerate // BLOCKS_PER_S, 1)
            found = file.blocks(size, dtype="float32", always_2d=True)
            blocks = (block.mean(axis=1) for block in found)
            yield SoundFile(file.samplerate, file.frames, blocks)
    except (OSError, soundfile.SoundFileError) as error:
        raise _unreadable(path, error) from error


def sound_length_s(path: Path) -> float:
    """Length of a sound file, seconds. Raises SoundError when it cannot be read."""
    try:
        return float(soundfile.info(path).duration)
    except (OSError, soundfile.SoundFileError) as error:
        raise _unreadable(path, error) from error


def load_sound(path: Path) -> Sound:
    """A whole mono file, sample for sample. Raises SoundError when it cannot be read."""
    try:
        samples, rate_hz = soundfile.read(path, dtype="int16")
    except (OSError, soundfile.SoundFileError) as error:
        raise _unreadable(path, error) from error
    return Sound(samples.astype("<i2").tobytes(), rate_hz)


def flac(sound: Sound) -> bytes:
    """The content of a FLAC file that gives back every sample."""
    packed = io.BytesIO()
    soundfile.write(packed, np.frombuffer(sound.pcm, "<i2"), sound.rate_hz, format="FLAC")
    return packed.getvalue()


def _unreadable(path: Path, error: Exception) -> SoundError:
    return SoundError(f"{path} cannot be read as a recording: {error}.")
