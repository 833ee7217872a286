"""One session in the bay: everything opened in order, and closed again."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from datetime import datetime
from pathlib import Path
from typing import TextIO, TypeVar

from bayhelper.decide.job.state import Job
from bayhelper.decide.replay import fold
from bayhelper.remember.clips import Clips
from bayhelper.remember.history import History
from bayhelper.remember.journal import Journal
from bayhelper.remember.pictures import Pictures
from bayhelper.run.air_watch import AirWatch
from bayhelper.run.bay.bay import Bay
from bayhelper.run.mouth import Mouth, Speaks
from bayhelper.run.parts import build_desk, build_library, build_scope
from bayhelper.run.photo_watch import PhotoWatch
from bayhelper.run.settings import Settings
from bayhelper.run.timeline import Timeline
from bayhelper.speak.voice_process import VoiceProcess
from bayhelper.terms.errors import BayhelperError
from bayhelper.terms.ports import Listener, Player, Voice

AnyMouth = TypeVar("AnyMouth", bound=Speaks)

FORESEEN = 2
"""So many alerts to come are rendered ahead: the next one, and the one after it."""


@contextmanager
def open_session(
    folder: Path,
    settings: Settings,
    *,
    ear: Listener,
    player: Player,
    now_utc: datetime,
    terminal: TextIO | None = None,
    timeline_file: Path | None = None,
    live: bool = False,
) -> Iterator[tuple[Bay, Mouth]]:
    """The same with a mouth that plays one sound after the other."""
    with open_bay(
        folder,
        settings,
        ear=ear,
        make_mouth=lambda voice, timeline: Mouth(voice, player, timeline),
        now_utc=now_utc,
        terminal=terminal,
        timeline_file=timeline_file,
        live=live,
    ) as opened:
        yield opened


@contextmanager
def open_bay(
    folder: Path,
    settings: Settings,
    *,
    ear: Listener,
    make_mouth: Callable[[Voice, Timeline], AnyMouth],
    now_utc: datetime,
    terminal: TextIO | None = None,
    timeline_file: Path | None = None,
    live: bool = False,
) -> Iterator[tuple[Bay, AnyMouth]]:
    """A bay on a data folder; an open job is taken up where it stood.

    `live` where people wait for its sentences: those of the next alerts are rendered ahead. On a
    clock that advances by what is said nobody waits, and the work would be for nothing.
    """
    with ExitStack() as stack:
        journal = stack.enter_context(Journal.open(folder))
        timeline = Timeline(now_utc, timeline_file, terminal)
        stack.callback(timeline.close)
        voice = stack.enter_context(
            VoiceProcess(rate_wpm=settings.voice_rate_wpm, voice=settings.voice)
        )
        mouth = make_mouth(voice, timeline)
        bay = Bay(
            journal=journal,
            clips=Clips(folder),
            ear=ear,
            library=build_library(),
            mouth=mouth,
            timeline=timeline,
            desk=build_desk(settings, journal.next_job_id(now_utc)),
            scope=build_scope(settings),
            job=open_job(folder),
            follow_on_s=settings.follow_on_s,
            foresee=FORESEEN if live else 0,
            air_watch=AirWatch(Path(settings.air_file)) if settings.air_file else None,
            photo_watch=_photo_watch(folder, settings.photo_folder),
        )
        bay.take_up(now_utc)
        yield bay, mouth


def _photo_watch(folder: Path, source: str) -> PhotoWatch | None:
    return PhotoWatch(Path(source), Pictures(folder)) if source else None


def open_job(folder: Path) -> Job | None:
    """The job that was left open last, or None.

    Raises RecordError when the last job cannot be read: it may be open, with panels that wait. An
    older one is passed over, because it is none of today's work; `check` names it.
    """
    with History.open(folder) as history:
        names = history.jobs()
        for name in reversed(names):
            try:
                job = fold(history.decisions(name))
            except BayhelperError:
                if name == names[-1]:
                    raise
                continue
            if job.closed_at_utc is None:
                return job
    return None
