"""Photographs that are kept with a job: copied byte for byte, never altered, never overwritten."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from pathlib import Path
from typing import Literal

import exifread

from bayhelper.remember.kept_files import keep_file
from bayhelper.terms.errors import RecordError

ENDINGS = (".jpg", ".jpeg", ".png", ".heic", ".webp", ".tif", ".tiff")
"""Names of photographs as cameras and telephones write them (common practice, no source)."""
TAKEN, OFFSET = "EXIF DateTimeOriginal", "EXIF OffsetTimeOriginal"
"""Tags of the Exif standard (CIPA DC-008), as the library names them."""


@dataclass(frozen=True)
class Picture:
    """A photograph as it was found."""

    file: Path
    """Where it lies."""
    sha256: str
    """SHA-256 of the file in hexadecimal digits."""
    taken_at_utc: datetime
    """When it was taken."""
    time_from: Literal["exif", "file"]
    """Whether the picture itself says so, or only the file."""


def pictures_in(folder: Path, zone: tzinfo | None) -> Iterator[Picture]:
    """The photographs of a folder, in the order in which they were taken; see picture_of.

    Raises RecordError when the folder cannot be read.
    """
    found = [picture_of(file, zone) for file, _ in picture_files(folder)]
    yield from sorted(found, key=lambda one: (one.taken_at_utc, one.file.name))


def picture_files(folder: Path) -> list[tuple[Path, os.stat_result]]:
    """The files of a folder that are photographs by their name, with size and time.

    Raises RecordError when the folder cannot be read.
    """
    try:
        files = [file for file in folder.iterdir() if file.suffix.lower() in ENDINGS]
        return [(file, file.stat()) for file in files if file.is_file()]
    except OSError as error:
        raise RecordError(
            f"The photographs in {folder} cannot be read: {error}. Name the folder they lie in."
        ) from error


def picture_of(file: Path, zone: tzinfo | None) -> Picture:
    """A photograph with its time and checksum.

    A camera that writes no offset from UTC is taken to show the time of `zone`, or this computer's.
    Raises RecordError when the file cannot be read.
    """
    try:
        content = file.read_bytes()
        with file.open("rb") as stream:
            tags = exifread.process_file(stream, details=False)
        written = datetime.fromtimestamp(file.stat().st_mtime, UTC)
    except OSError as error:
        raise RecordError(f"The photograph {file} cannot be read: {error}. Look at it.") from error
    taken = _taken(str(tags.get(TAKEN, "")), str(tags.get(OFFSET, "")), zone)
    return Picture(
        file=file,
        sha256=hashlib.sha256(content).hexdigest(),
        taken_at_utc=taken or written,
        time_from="exif" if taken else "file",
    )


def _taken(stamp: str, offset: str, zone: tzinfo | None) -> datetime | None:
    """The instant of an Exif date such as '2026:03:02 09:12:10'; None when it is none."""
    for text, form in ((f"{stamp} {offset}", "%Y:%m:%d %H:%M:%S %z"), (stamp, "%Y:%m:%d %H:%M:%S")):
        try:
            found = datetime.strptime(text, form)
        except ValueError:
            continue
        return (found if found.tzinfo else found.replace(tzinfo=zone)).astimezone(UTC)
    return None


class Pictures:
    """The photographs of a data folder: DIR/photos/JOB/NAME."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder / "photos"

    def keep(self, job: str, picture: Picture) -> str:
        """Copy it; gives its name there, which is another where that one is taken.

        Raises RecordError when it cannot be copied.
        """
        folder = self._folder / job
        try:
            file = keep_file(folder, picture.file.name, picture.file.read_bytes())
        except OSError as error:
            raise RecordError(
                f"The photograph {picture.file} cannot be kept in {folder}: {error}. "
                "Make room on the disk."
            ) from error
        return file.name

    def is_whole(self, job: str, name: str, sha256: str) -> bool:
        """Whether the copy is there as it was kept."""
        file = self._folder / job / name
        return file.is_file() and hashlib.sha256(file.read_bytes()).hexdigest() == sha256
