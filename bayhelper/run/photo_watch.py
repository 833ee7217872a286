"""Looks into a folder now and then for photographs of the open job, and keeps the new ones."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

from bayhelper.decide.job.photographs import is_kept, placed
from bayhelper.decide.job.state import Job
from bayhelper.remember.pictures import Picture, Pictures, picture_files, picture_of
from bayhelper.terms.errors import RecordError
from bayhelper.terms.events import PhotoKept

EVERY = timedelta(seconds=10)
NEXT = timedelta(seconds=1)
"""Pictures are taken up one at a time, so that a card full of them holds up nothing."""

Stamp = tuple[int, int]
"""Size and time of a file: as long as they change, it is still being copied."""


def keep_picture(pictures: Pictures, job: Job, picture: Picture, now_utc: datetime) -> PhotoKept:
    """Copy it to the job; gives what is to be recorded. Raises RecordError."""
    kept = PhotoKept(
        at_utc=now_utc,
        file=pictures.keep(job.id, picture),
        sha256=picture.sha256,
        taken_at_utc=picture.taken_at_utc,
        time_from=picture.time_from,
    )
    return placed(job, kept)


class PhotoWatch:
    """One folder, as time passes. What lies there is left as it is."""

    def __init__(self, source: Path, pictures: Pictures) -> None:
        self._source = source
        self._pictures = pictures
        self._next_utc: datetime | None = None
        self._known: dict[Path, Stamp] = {}
        self._done: dict[Path, Stamp] = {}
        self._told = ""

    def look(self, job: Job, now_utc: datetime) -> tuple[tuple[PhotoKept, ...], str]:
        """The next photograph taken since the job was opened, once; and what is wrong, told once.

        A file is taken up when it has not changed since the last look.
        """
        if self._next_utc is not None and now_utc < self._next_utc:
            return (), ""
        kept: tuple[PhotoKept, ...] = ()
        fault = ""
        try:
            waiting = self._settled()
            self._next_utc = now_utc + (NEXT if len(waiting) > 1 else EVERY)
            if waiting:
                kept = self._taken_up(waiting[0], job, now_utc)
        except RecordError as error:
            self._next_utc = now_utc + EVERY
            fault = str(error)
        new = fault if fault != self._told else ""
        self._told = fault or self._told
        return kept, new

    def _taken_up(self, file: Path, job: Job, now_utc: datetime) -> tuple[PhotoKept, ...]:
        self._done[file] = self._known[file]
        picture = picture_of(file, None)
        if picture.taken_at_utc < job.opened_at_utc or is_kept(job, picture.sha256):
            return ()
        return (keep_picture(self._pictures, job, picture, now_utc),)

    def _settled(self) -> list[Path]:
        """Files that are new and whole; each is taken up once, and again when it changes."""
        now = {file: (s.st_size, s.st_mtime_ns) for file, s in picture_files(self._source)}
        new = [
            file
            for file, stamp in sorted(now.items())
            if self._known.get(file) == stamp and self._done.get(file) != stamp
        ]
        self._known = now
        return new
