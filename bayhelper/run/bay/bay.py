"""The bay: what was heard or fell due is decided, the decision goes to disk, then it acts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from bayhelper.decide.acts.catalogue import allowed, allowed_panels
from bayhelper.decide.acts.notes import keep_note_clip
from bayhelper.decide.acts.talk import listening, spoken_over
from bayhelper.decide.decide import decide, not_understood
from bayhelper.decide.due.alerts import next_due_utc, take_up, tick
from bayhelper.decide.due.foresee import coming_alerts
from bayhelper.decide.job.state import Job
from bayhelper.decide.outcome import Desk, Outcome
from bayhelper.decide.replay import apply
from bayhelper.remember.clips import NO_CLIP
from bayhelper.remember.journal import Journal
from bayhelper.run.bay.performer import Performer
from bayhelper.run.bay.sound_keeper import SoundKeeper
from bayhelper.run.bay.watches import Watch
from bayhelper.show.timeline import Timeline
from bayhelper.speak.names import Names
from bayhelper.speak.phrasing import words
from bayhelper.terms.command import Command
from bayhelper.terms.events import Cause, ClockSet, Decision, Event, Spoken
from bayhelper.terms.saying import Saying
from bayhelper.terms.scope import Scope
from bayhelper.terms.utterance import UNSAID, Hearing


class Bay:
    """One bay at work: follows at most one open job, and keeps its deadlines."""

    def __init__(
        self,
        *,
        journal: Journal,
        keeper: SoundKeeper,
        performer: Performer,
        timeline: Timeline,
        desk: Desk,
        scope: Scope,
        job: Job | None,
        foresee: int = 0,
        watches: Sequence[Watch] = (),
    ) -> None:
        """`foresee` says how many alerts to come have their sentences rendered ahead; the watches
        are asked as time passes.
        """
        self._journal = journal
        self._keeper = keeper
        self._performer = performer
        self._timeline = timeline
        self._desk = desk
        self._settings_scope = scope
        self._foresee = foresee
        self._watches = watches
        self.job = job

    @property
    def dictating(self) -> bool:
        """Whether what is said now is a note."""
        return self.job is not None and self.job.dictating

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
        for watch in self._watches:
            self._look(watch, now_utc)

    def _look(self, watch: Watch, now_utc: datetime) -> None:
        if self.job is None:
            return
        sighting = watch.look(self.job, now_utc, self.next_due_utc())
        if sighting.fault:
            self._timeline.notice(sighting.fault)
        if sighting.outcome.events:
            self._settle(now_utc, sighting.outcome, cause=watch.cause)

    def clock_set(self, step_s: float, now_utc: datetime) -> None:
        """The computer's clock was set: keep it in the record, where ages go on as they were."""
        way = "forward" if step_s > 0 else "back"
        what = f"The computer's clock was set {way} by {abs(step_s):.0f} s."
        if self.job is None:
            self._timeline.notice(what)
            return
        self._timeline.notice(f"{what} The times of this job go on by the clock as it was.")
        outcome = Outcome((ClockSet(at_utc=now_utc, step_s=step_s),))
        self._settle(now_utc, outcome, cause="repair")

    def new_time(self, now_utc: datetime, moved_s: float) -> None:
        """Between two jobs the time may change, also back: nothing waits for an instant of it."""
        self._timeline.began_utc += timedelta(seconds=moved_s)
        self._performer.new_time(now_utc)

    def take_up(self, now_utc: datetime) -> None:
        """After a start: say at once what is overdue, with its true age."""
        if self.job is None:
            return
        outcome = take_up(self.job, now_utc)
        if outcome.events or outcome.effects:
            self._settle(now_utc, outcome, cause="deadline")
        else:
            self._prepare()

    def act_on(self, hearing: Hearing, at_utc: datetime) -> None:
        """Decide on what was heard, record, then act."""
        self.pass_time(at_utc)
        self._timeline.heard(at_utc, hearing)
        near = hearing.near
        if self.job is not None and self.job.dictating and not self._is_command(hearing):
            self._keep_note(self.job, hearing, at_utc)
        elif hearing.accepted and hearing.command is not None:
            outcome = decide(self.job, hearing.command, at_utc, self._desk)
            command = outcome.command or hearing.command
            self._settle(at_utc, outcome, cause="command", command=command, hearing=hearing)
        elif self.job is not None and hearing.addressed and hearing.why == UNSAID:
            self._settle(at_utc, listening(self.job), cause="utterance", hearing=hearing)
        elif self.job is not None and (hearing.addressed or (near and near.likely)):
            outcome = not_understood(self.job, near, at_utc, self._desk)
            self._settle(at_utc, outcome, cause="utterance", hearing=hearing)
        self.pass_time(at_utc)

    def ask_again(self, hearing: Hearing, at_utc: datetime) -> None:
        """Somebody spoke over our own voice, and it is not sure what: say so.

        In words if it was meant for us, else with a tone.
        """
        self.pass_time(at_utc)
        self._timeline.heard(at_utc, hearing)
        self._settle(at_utc, spoken_over(hearing.addressed), cause="utterance", hearing=hearing)

    def press(self, command: Command, at_utc: datetime) -> None:
        """A button stands for this command."""
        self.pass_time(at_utc)
        outcome = decide(self.job, command, at_utc, self._desk)
        self._settle(at_utc, outcome, cause="command", command=command)

    def scope(self) -> Scope:
        """What the job, or the settings when there is none, allow to be said."""
        job = self.job
        if job is None:
            return replace(self._settings_scope, commands=allowed(None))
        return replace(
            self._settings_scope,
            commands=allowed(job),
            panels=allowed_panels(job),
            body=job.body,
            dialect=job.dialect,
            steering=job.steering,
            technicians=job.technicians,
        )

    def _is_command(self, hearing: Hearing) -> bool:
        """During dictation only an addressed command is one; all else is the note."""
        return hearing.accepted and (hearing.addressed or hearing.engine == "typed")

    def _keep_note(self, job: Job, hearing: Hearing, at_utc: datetime) -> None:
        clip = NO_CLIP
        if hearing.utterance.sound is not None:
            clip = self._keeper.keep(hearing.utterance, job, job.id).clip
        transcript = hearing.evidence.free_text if hearing.evidence else hearing.text
        outcome = keep_note_clip(
            job, clip.name, hearing.audio_s, transcript, at_utc, clip_sha256=clip.sha256
        )
        self._settle(at_utc, outcome, cause="utterance")

    def _settle(
        self,
        at_utc: datetime,
        outcome: Outcome,
        *,
        cause: Cause,
        command: Command | None = None,
        hearing: Hearing | None = None,
    ) -> None:
        """Record one decision, and only then do what follows from it."""
        texts = [self._words(e) if isinstance(e, Saying) else "" for e in outcome.effects]
        if self.job is not None or outcome.events:
            self._record(at_utc, outcome, texts, cause=cause, command=command, hearing=hearing)
        for effect, text in zip(outcome.effects, texts, strict=True):
            self._performer.perform(effect, text, self.job, at_utc)
        if self.job is not None and self.job.closed_at_utc is not None:
            self.job = None
            self._desk = replace(self._desk, next_job=self._journal.next_job_id(at_utc))
        self._prepare()

    def _record(
        self,
        at_utc: datetime,
        outcome: Outcome,
        texts: Sequence[str],
        *,
        cause: Cause,
        command: Command | None,
        hearing: Hearing | None,
    ) -> None:
        """One decision, with what was heard and what is going to be said, in one transaction."""
        job_id = self.job.id if self.job else self._desk.next_job
        heard: tuple[Event, ...] = ()
        if hearing is not None:
            heard = (self._keeper.heard(hearing, self.job, job_id, at_utc),)
        said = tuple(
            Spoken(at_utc=at_utc, topic=effect.topic, text=text)
            for effect, text in zip(outcome.effects, texts, strict=True)
            if isinstance(effect, Saying) and text
        )
        decision = Decision(
            job=job_id,
            number=self.job.number + 1 if self.job else 1,
            at_utc=at_utc,
            cause=cause,
            command=command.name if command else "",
            slots=dict(command.slots) if command else {},
            events=(*outcome.events, *heard, *said),
        )
        self._journal.append(decision)
        self.job = apply(self.job, decision)
        for event in decision.events:
            self._timeline.event(event, at_utc)

    def _prepare(self) -> None:
        """Have the sentences of the alerts that come next rendered, while there is time."""
        if self._foresee:
            coming = coming_alerts(self.job, self._foresee) if self.job else ()
            self._performer.prepare([text for say in coming if (text := self._words(say))])

    def _words(self, say: Saying) -> str:
        source = self.job or self._settings_scope
        return words(say, Names(source.body, source.dialect), self._desk.chatter)
