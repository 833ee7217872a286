"""Dictated notes and photographs: what can happen, and what is said of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from bayhelper.terms.choices import Stage
from bayhelper.terms.fact import Event
from bayhelper.terms.saying import Saying


@dataclass(frozen=True, kw_only=True)
class NoteStarted(Event):
    note: str
    """Id of the note."""
    panel: str = ""
    """Panel it is about, if said."""


@dataclass(frozen=True, kw_only=True)
class NoteClipKept(Event):
    note: str
    """Id of the note."""
    clip: str
    """File name of the FLAC in the job's folder; empty for a typed line."""
    length_s: float
    """Seconds of sound."""
    transcript: str = ""
    """Best transcript there is."""
    clip_sha256: str = ""
    """SHA-256 of that file in hexadecimal digits; empty for a typed line."""


@dataclass(frozen=True, kw_only=True)
class NoteTranscribed(Event):
    note: str
    """Id of the note."""
    transcript: str
    """What its recordings say, read again; the earlier transcripts stay."""
    made_by: str
    """Which recogniser read them."""


@dataclass(frozen=True, kw_only=True)
class NoteEnded(Event):
    note: str
    """Id of the note."""


@dataclass(frozen=True, kw_only=True)
class PhotoKept(Event):
    file: str
    """Name of the copy in the job's folder of photographs."""
    sha256: str
    """SHA-256 of it in hexadecimal digits."""
    taken_at_utc: datetime
    """When it was taken."""
    time_from: Literal["exif", "file"]
    """'exif' when the picture says so, 'file' when only the file does."""
    stage: Literal[Stage, ""] = ""
    """Stage then running; empty before the job."""
    panel: str = ""
    """Panel then worked on; empty for the car."""


@dataclass(frozen=True, kw_only=True)
class NoteKeptReply(Saying):
    """The note is kept."""


@dataclass(frozen=True, kw_only=True)
class NoNoteReply(Saying):
    """There is no note yet."""


@dataclass(frozen=True, kw_only=True)
class NoteReadsReply(Saying):
    """The last note, read back."""

    text: str
    """Its best transcript; empty when it has no words."""
