"""The bay's loop: an utterance or a deadline comes in, a decision goes to disk, then things happen."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Protocol

from bayhelper.decide.alerts import next_due_utc, tick
from bayhelper.decide.allowed import allowed
from bayhelper.decide.decide import decide
from bayhelper.decide.fold import apply
from bayhelper.decide.job import Job
from bayhelper.decide.outcome import Desk, Outcome
from bayhelper.remember.clips import Clips
from bayhelper.remember.journal import Journal
from bayhelper.run.mouth import Mouth
from bayhelper.run.timeline import Timeline
from bayhelper.speak.names import Names
from bayhelper.speak.phrasing import words
from bayhelper.terms.body import Body
from bayhelper.terms.command import Command
from bayhelper.terms.effects import Effect, Say, Tone
from bayhelper.terms.events import Decision, Event, NoteClipKept, SpeechHeard, Spoken
from bayhelper.terms.ports import Offer
from bayhelper.terms.utterance import Hearing, Utterance
from bayhelper.understand.offer import Library, Scope


class Ear(Protocol):
    """Listens to one utterance under what may be said now."""

    def listen(self, utterance: Utterance, offer: Offer, follow_on: bool) -> Hearing:
        """Read it and judge the evidence."""
        ...


class Bay:
    """One bay at work: follows at most one open job, and keeps its clock moving."""

    def __init__(  # the bay's parts are exactly these; each is a plug-in
        self,
        *,
        journal: Journal,
        clips: Clips,
        ear: Ear,
        library: Library,
        mouth: Mouth,
        timeline: Timeline,
        desk: Desk,
        scope: Scope,
        job: Job | None,
        follow_on_s: float,
    ) -> None:
        self._journal = journal
        self._clips = clips
        self._ear = ear
        self._library = library
        self._mouth = mouth
        self._timeline = timeline
        self._desk = desk
        self._scope = scope
        self._follow_on_s = follow_on_s
        self._follow_until_utc: datetime | None = None
        self._heard = 0
        self.job = job

    # --- time

    def next_due_utc(self) -> datetime | None:
        """When the next deadline falls due, if any."""
        return next_due_utc(self.job) if self.job else None

    def pass_time(self, now_utc: datetime) -> None:
        """Let everything that fell due up to now happen."""
        if self.job is None:
            return
        outcome = tick(self.job, now_utc)
        if outcome.events or outcome.effects:
            self._settle(now_utc, outcome, cause="deadline")

    # --- speech

    def take(self, utterance: Utterance, at_utc: datetime) -> Hearing:
        """Listen to one utterance, decide, record, then act."""
        self.pass_time(at_utc)
        follow_on = self._follow_until_utc is not None and at_utc <= self._follow_until_utc
        hearing = self._ear.listen(utterance, self.offer(), follow_on)
        self._timeline.heard(at_utc, hearing)
        if self.job is not None and self.job.dictating and not self._ends_dictation(hearing):
            self._keep_note(hearing, at_utc)
        elif hearing.accepted and hearing.command is not None:
            self._act(hearing.command, hearing, at_utc)
        elif hearing.addressed:
            self._not_understood(hearing, at_utc)
        return hearing

    def offer(self) -> Offer:
        """What may be said now."""
        return self._library.offer(self.scope())

    def scope(self) -> Scope:
        """What the job, or the settings when there is none, allow to be said."""
        job = self.job
        if job is None:
            return replace(self._scope, commands=allowed(None))
        return replace(
            self._scope,
            commands=allowed(job),
            body=job.body,
            dialect=job.dialect,
            steering=job.steering,
            technicians=job.technicians,
        )

    # --- inside

    def _act(self, command: Command, hearing: Hearing, at_utc: datetime) -> None:
        outcome = decide(self.job, command, at_utc, self._desk)
        self._settle(at_utc, outcome, cause="command", command=command, hearing=hearing)

    def _not_understood(self, hearing: Hearing, at_utc: datetime) -> None:
        outcome = not_understood(self.job, hearing, at_utc)
        self._settle(at_utc, outcome, cause="utterance", hearing=hearing)

    def _keep_note(self, hearing: Hearing, at_utc: datetime) -> None:
        """Dictation: the sound goes to disk before anything else is done with it."""
        job = self.job
        if job is None:
            return
        sound = hearing.utterance.sound
        clip = self._clips.keep(job.id, self._utterance_id(job), sound) if sound else ""
        words = hearing.evidence.free_text if hearing.evidence else hearing.text
        outcome = keep_note_clip(
            job, clip, hearing.audio_s, words or hearing.utterance.typed, at_utc
        )
        self._settle(at_utc, outcome, cause="utterance")
