"""One session in the bay: everything opened in order, and closed again."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Generic, TextIO, TypeVar

from bayhelper.decide.job.state import Job
from bayhelper.decide.replay import fold
from bayhelper.hear.ear_process import Parts
from bayhelper.hear.patience import Judge
from bayhelper.remember.clips import Clips
from bayhelper.remember.history import History
from bayhelper.remember.journal import Journal
from bayhelper.remember.pictures import Pictures
from bayhelper.run.bay.bay import Bay
from bayhelper.run.bay.conversation import Conversation
from bayhelper.run.bay.door import caught_now
from bayhelper.run.bay.performer import Performer
from bayhelper.run.bay.reader import ReadsHere
from bayhelper.run.bay.sound_keeper import SoundKeeper
from bayhelper.run.bay.watches import AirLook, PhotoLook, Watch
from bayhelper.run.clock import BayClock
from bayhelper.run.parts import build_desk, build_library, build_scope
from bayhelper.run.settings import Settings
from bayhelper.sheets.air_watch import AirWatch
from bayhelper.show.timeline import Timeline
from bayhelper.speak.mouth import Mouth, Speaks
from bayhelper.speak.voice_process import VoiceProcess
from bayhelper.terms.errors import BayhelperError
from bayhelper.terms.ports import Player, Voice
from bayhelper.terms.utterance import Utterance

AnyMouth = TypeVar("AnyMouth", bound=Speaks)
AnyMouth_co = TypeVar("AnyMouth_co", bound=Speaks, covariant=True)

FORESEEN = 2
"""So many alerts to come are rendered ahead: the next one, and the one after it."""


@dataclass(frozen=True)
class OpenBay(Generic[AnyMouth_co]):
    """A bay on a data folder, and what speaks and shows for it."""

    bay: Bay
    """With the job that was left open, taken up where it stood."""
    mouth: AnyMouth_co
    """Through which it speaks."""
    timeline: Timeline
    """Where it shows what happens."""
    clock: BayClock
    """Its time."""


@dataclass(frozen=True)
class Session(OpenBay[Mouth]):
    """A bay that reads what it hears at once, in this process."""

    conversation: Conversation
    """With those who speak to it."""

    def hear(self, utterance: Utterance) -> None:
        """Read and act on what was said just now."""
        self.conversation.handle(caught_now(utterance, self.clock.steady_s()))
        self.conversation.look_after()


@contextmanager
def open_session(
    folder: Path,
    settings: Settings,
    *,
    ear: Judge,
    player: Player,
    clock: BayClock,
    terminal: TextIO | None = None,
    timeline_file: Path | None = None,
    live: bool = False,
) -> Iterator[Session]:
    """A bay that plays one sound after the other, where nobody hears them; see open_bay."""
    with open_bay(
        folder,
        settings,
        voice=None,
        make_mouth=lambda voice, timeline: Mouth(voice, player, timeline, clock.steady_s),
        clock=clock,
        terminal=terminal,
        timeline_file=timeline_file,
        live=live,
    ) as opened:
        conversation = Conversation(
            bay=opened.bay,
            mouth=opened.mouth,
            reader=ReadsHere(Parts(ear, build_library().offer)),
            timeline=opened.timeline,
            clock=clock,
            follow_on_s=settings.follow_on_s,
        )
        yield Session(opened.bay, opened.mouth, opened.timeline, clock, conversation)


@contextmanager
def open_bay(
    folder: Path,
    settings: Settings,
    *,
    voice: Voice | None,
    make_mouth: Callable[[Voice, Timeline], AnyMouth],
    clock: BayClock,
    terminal: TextIO | None = None,
    timeline_file: Path | None = None,
    live: bool = False,
) -> Iterator[OpenBay[AnyMouth]]:
    """A bay on a data folder; an open job is taken up where it stood.

    `voice` None is the one that the settings name. `live` where people wait for its sentences:
    those of the next alerts are rendered ahead. On a clock that advances by what is said nobody
    waits, and the work would be for nothing.
    """
    now_utc = clock.now_utc()
    with ExitStack() as stack:
        journal = stack.enter_context(Journal.open(folder))
        timeline = Timeline(now_utc, timeline_file, terminal)
        stack.callback(timeline.close)
        if voice is None:
            voice = stack.enter_context(
                VoiceProcess(rate_wpm=settings.voice_rate_wpm, voice=settings.voice)
            )
        mouth = make_mouth(voice, timeline)
        clips = Clips(folder)
        bay = Bay(
            journal=journal,
            keeper=SoundKeeper(clips),
            performer=Performer(mouth, clips, timeline),
            timeline=timeline,
            desk=build_desk(settings, journal.next_job_id(now_utc)),
            scope=build_scope(settings),
            job=open_job(folder),
            foresee=FORESEEN if live else 0,
            watches=tuple(_watches(folder, settings)),
        )
        bay.take_up(now_utc)
        yield OpenBay(bay, mouth, timeline, clock)


def _watches(folder: Path, settings: Settings) -> Iterator[Watch]:
    if settings.air_file:
        yield AirLook(AirWatch(Path(settings.air_file)))
    if settings.photo_folder:
        yield PhotoLook(Path(settings.photo_folder), Pictures(folder))


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
