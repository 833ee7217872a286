"""Recordings that are kept: FLAC files, written whole or not at all, and never overwritten."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from bayhelper.remember.kept_files import keep_file
from bayhelper.sound.files import flac, load_sound
from bayhelper.terms.errors import RecordError, SoundError
from bayhelper.terms.events import Decision, NoteClipKept, SpeechHeard
from bayhelper.terms.sound import Sound


@dataclass(frozen=True)
class Clip:
    """A recording that is kept."""

    name: str
    """File name in the job's folder; empty where nothing was recorded."""
    sha256: str
    """SHA-256 of the file in hexadecimal digits; empty where that is not known."""


NO_CLIP = Clip("", "")
"""What stands for the recording of typed words."""

Fault = Literal["missing", "damaged"]


def clips_of(decisions: Iterable[Decision]) -> Iterator[Clip]:
    """Every recording that the record of a job names, in order."""
    for decision in decisions:
        for event in decision.events:
            if isinstance(event, SpeechHeard | NoteClipKept) and event.clip:
                yield Clip(event.clip, event.clip_sha256)


class Clips:
    """The clips of a data folder: DIR/clips/JOB/NAME.flac."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder / "clips"

    def keep(self, job: str, name: str, sound: Sound) -> Clip:
        """Write one clip to disk; it gets another name where that one is taken.

        Raises RecordError when it cannot be written.
        """
        packed = flac(sound)
        folder = self._folder / job
        try:
            file = keep_file(folder, f"{name}.flac", packed)
        except OSError as error:
            raise RecordError(
                f"The recording {name} of job {job} cannot be kept in {folder}: {error}. "
                "Make room on the disk."
            ) from error
        return Clip(file.name, hashlib.sha256(packed).hexdigest())

    def forgotten(self, job: str) -> bool:
        """Whether the job's folder is gone, as when somebody forgets the voices of a job."""
        return not (self._folder / job).is_dir()

    def fault(self, job: str, clip: Clip) -> Fault | None:
        """What is wrong with a kept clip; None when it is as it was written."""
        try:
            content = (self._folder / job / clip.name).read_bytes()
        except FileNotFoundError:
            return "missing"
        except OSError:
            return "damaged"
        whole = not clip.sha256 or hashlib.sha256(content).hexdigest() == clip.sha256
        return None if whole else "damaged"

    def read(self, job: str, clip: str) -> Sound:
        """A kept clip. Raises RecordError when it is gone."""
        file = self._folder / job / clip
        try:
            return load_sound(file)
        except SoundError as error:
            raise RecordError(
                f"{error} Restore it from a copy; its transcript and the rest of the record are "
                "not touched by that."
            ) from error
