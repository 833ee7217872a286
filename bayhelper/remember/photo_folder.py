"""A folder into which photographs are dropped: the new ones, one at a time, once they are whole."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

from bayhelper.remember.pictures import Picture, picture_files, picture_of
from bayhelper.terms.errors import RecordError

EVERY = timedelta(seconds=10)
"""So often the folder is looked at (chosen, no source)."""
NEXT = timedelta(seconds=1)
"""Pictures are taken up one at a time, so that a card full of them holds up nothing (chosen)."""

Stamp = tuple[int, int]
"""Size and time of a file: as long as they change, it is still being copied."""


class PhotoFolder:
    """One folder, as time passes. What lies there is left as it is."""

    def __init__(self, source: Path) -> None:
        self._source = source
        self._next_utc: datetime | None = None
        self._known: dict[Path, Stamp] = {}
        self._done: dict[Path, Stamp] = {}
        self._told = ""

    def look(self, now_utc: datetime) -> tuple[Picture | None, str]:
        """The next photograph that is new; and what is wrong, told once.

        A file is taken up when it has not changed since the last look.
        """
        if self._next_utc is not None and now_utc < self._next_utc:
            return None, ""
        try:
            waiting = self._settled()
            self._next_utc = now_utc + (NEXT if len(waiting) > 1 else EVERY)
            return (self._taken_up(waiting[0]) if waiting else None), ""
        except RecordError as error:
            return None, self.failed(str(error), now_utc)

    def failed(self, fault: str, now_utc: datetime) -> str:
        """The fault, unless it was told just before; the next look is a while later."""
        self._next_utc = now_utc + EVERY
        new = fault if fault != self._told else ""
        self._told = fault
        return new

    def _taken_up(self, file: Path) -> Picture:
        self._done[file] = self._known[file]
        return picture_of(file, None)

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
