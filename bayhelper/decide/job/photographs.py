"""Where a photograph belongs: the panel and stage that were worked on when it was taken."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Literal

from bayhelper.decide.job.state import Job
from bayhelper.terms import events as ev
from bayhelper.terms.choices import Stage

NEAR = timedelta(minutes=15)
"""After so long without a word about a panel, a picture is of the car."""


def placed(job: Job, kept: ev.PhotoKept) -> ev.PhotoKept:
    """The photograph with its stage and panel, by the time at which it was taken."""
    taken_at_utc = kept.taken_at_utc
    return replace(kept, stage=_stage(job, taken_at_utc), panel=_panel(job, taken_at_utc))


def is_kept(job: Job, sha256: str) -> bool:
    """Whether the same picture is there already, whatever its name."""
    return any(photo.sha256 == sha256 for photo in job.photos)


def _stage(job: Job, taken_at_utc: datetime) -> Literal[Stage, ""]:
    """The stage then running; '' for a picture from before the job."""
    stage: Literal[Stage, ""] = ""
    for event in _done(job):
        if isinstance(event, ev.StageStarted) and event.at_utc <= taken_at_utc:
            stage = event.stage
    return stage


def _panel(job: Job, taken_at_utc: datetime) -> str:
    """The panel spoken of last before it; '' when that is long ago, or in another stage."""
    panel, said_at_utc = "", taken_at_utc - NEAR
    for event in _done(job):
        if event.at_utc > taken_at_utc:
            continue
        if isinstance(event, ev.StageStarted):
            panel = ""
        elif (named := getattr(event, "panel", "")) and event.at_utc >= said_at_utc:
            panel, said_at_utc = str(named), event.at_utc
    return panel


def _done(job: Job) -> Iterator[ev.Event]:
    """What people did, in order, without what was taken back."""
    for decision in job.decisions:
        if decision.cause == "command" and decision.number not in job.undone:
            yield from decision.events
