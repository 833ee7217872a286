"""Recordings that are kept: FLAC files, written whole or not at all, and never overwritten."""

from __future__ import annotations

import io
import os
from pathlib import Path

import numpy as np
import soundfile

from bayhelper.terms.errors import RecordError
from bayhelper.terms.sound import Sound


class Clips:
    """The clips of a data folder: DIR/clips/JOB/NAME.flac."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder / "clips"

    def keep(self, job: str, name: str, sound: Sound) -> str:
        """Write one clip to disk and give its file name.

        Raises RecordError when it cannot be written.
        """
        packed = io.BytesIO()
        soundfile.write(packed, np.frombuffer(sound.pcm, "<i2"), sound.rate_hz, format="FLAC")
        folder = self._folder / job
        try:
            folder.mkdir(parents=True, exist_ok=True)
            file = folder / f"{name}.flac"
            number = 1
            while file.exists():
                number += 1
                file = folder / f"{name}-{number}.flac"
            part = file.with_suffix(".part")
            with part.open("wb") as stream:
                stream.write(packed.getvalue())
                stream.flush()
                os.fsync(stream.fileno())
            part.rename(file)
            _sync_folder(folder)
        except OSError as error:
            raise RecordError(
                f"The recording {name} of job {job} cannot be kept in {folder}: {error}. "
                "Make room on the disk."
            ) from error
        return file.name

    def read(self, job: str, clip: str) -> Sound:
        """A kept clip. Raises RecordError when it is gone."""
        file = self._folder / job / clip
        try:
            samples, rate_hz = soundfile.read(file, dtype="int16")
        except (OSError, soundfile.SoundFileError) as error:
            raise RecordError(f"The recording {file} cannot be read: {error}.") from error
        return Sound(samples.astype("<i2").tobytes(), rate_hz)


def _sync_folder(folder: Path) -> None:
    """Bring the new name to disk too: fsync of a file does not cover its directory entry."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
