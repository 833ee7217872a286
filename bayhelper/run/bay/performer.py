"""Carries out what follows from a decision: by the mouth, with sounds out of the record."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from bayhelper.decide.job.state import Job
from bayhelper.remember.clips import Clips
from bayhelper.show.timeline import Timeline
from bayhelper.speak.mouth import Speaks
from bayhelper.terms.effects import Effect, ReadNoteBack, Tone, Volume
from bayhelper.terms.errors import RecordError
from bayhelper.terms.saying import Saying
from bayhelper.terms.sound import Sound


class Performer:
    """One mouth, and the clips that it may read back."""

    def __init__(self, mouth: Speaks, clips: Clips, timeline: Timeline) -> None:
        self._mouth = mouth
        self._clips = clips
        self._timeline = timeline

    def perform(self, effect: Effect, text: str, job: Job | None, at_utc: datetime) -> None:
        """One effect; `text` are the words of a Say."""
        if isinstance(effect, Saying):
            self._mouth.say(at_utc, effect, text)
        elif isinstance(effect, Tone):
            self._mouth.tone(at_utc, effect)
        elif isinstance(effect, Volume):
            self._mouth.volume(effect)
        elif isinstance(effect, ReadNoteBack) and job is not None:
            self._mouth.read_back(at_utc, self._note_sounds(job, effect.note))

    def prepare(self, texts: Sequence[str]) -> None:
        """Sentences that may come next."""
        self._mouth.prepare(texts)

    def new_time(self, now_utc: datetime) -> None:
        """The time went on, or back: nothing is being said."""
        self._mouth.speaking_until_utc = now_utc

    def _note_sounds(self, job: Job, note_id: str) -> tuple[Sound, ...]:
        clips = next((note.clips for note in job.notes if note.id == note_id), ())
        sounds = []
        for clip in clips:
            try:
                sounds.append(self._clips.read(job.id, clip))
            except RecordError as error:
                self._timeline.notice(str(error))
        return tuple(sounds)
