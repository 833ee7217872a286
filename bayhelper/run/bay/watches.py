"""What the bay looks at now and then: the logger's air, and photographs of the open job."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Protocol

from bayhelper.decide.acts.surfaces import air_measured
from bayhelper.decide.job.photographs import is_kept, placed
from bayhelper.decide.job.state import Job
from bayhelper.decide.outcome import Outcome
from bayhelper.remember.photo_folder import PhotoFolder
from bayhelper.remember.pictures import Picture, Pictures
from bayhelper.sheets.air_watch import AirWatch
from bayhelper.terms.errors import RecordError
from bayhelper.terms.events import Cause, PhotoKept

UNDISTURBED = timedelta(seconds=2)
"""So shortly before an alert no photograph is copied: it might come late (chosen, no source)."""


@dataclass(frozen=True)
class Sighting:
    """What came of one look."""

    outcome: Outcome = field(default_factory=Outcome)
    """What is to be recorded."""
    fault: str = ""
    """What is wrong, told once; else empty."""


class Watch(Protocol):
    """Is asked as time passes; most of the time there is nothing."""

    cause: Cause
    """Of the decisions that come of it."""

    def look(self, job: Job, now_utc: datetime, due_utc: datetime | None) -> Sighting:
        """Look, unless that was done just now; `due_utc` is when the next alert falls due."""
        ...


class AirLook:
    """The last row of a logger's file becomes the air of the job."""

    cause: Cause = "deadline"

    def __init__(self, watch: AirWatch) -> None:
        self._watch = watch

    def look(self, job: Job, now_utc: datetime, due_utc: datetime | None) -> Sighting:
        row, fault = self._watch.look(now_utc)
        if row is None:
            return Sighting(fault=fault)
        outcome = air_measured(job, row.temp_c, row.rh_percent, row.at_utc, now_utc)
        return Sighting(outcome, fault)


class PhotoLook:
    """New photographs of a folder are kept with the job. What lies there is left as it is."""

    cause: Cause = "repair"

    def __init__(self, source: Path, pictures: Pictures) -> None:
        self._folder = PhotoFolder(source)
        self._pictures = pictures

    def look(self, job: Job, now_utc: datetime, due_utc: datetime | None) -> Sighting:
        """See Watch; a picture from before the job, or that is kept already, is passed over."""
        if due_utc is not None and due_utc < now_utc + UNDISTURBED:
            return Sighting()
        picture, fault = self._folder.look(now_utc)
        if picture is None or picture.taken_at_utc < job.opened_at_utc:
            return Sighting(fault=fault)
        if is_kept(job, picture.sha256):
            return Sighting(fault=fault)
        try:
            kept = keep_picture(self._pictures, job, picture, now_utc)
        except RecordError as error:
            return Sighting(fault=self._folder.failed(str(error), now_utc))
        return Sighting(Outcome((kept,)), fault)


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
