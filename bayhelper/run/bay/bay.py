"""The bay's loop: an utterance or deadline comes in, a decision goes to disk, then it acts."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Literal

from bayhelper.decide.acts.catalogue import allowed, allowed_panels
from bayhelper.decide.acts.notes import keep_note_clip
from bayhelper.decide.acts.surfaces import air_measured
from bayhelper.decide.acts.talk import listening, spoken_over
from bayhelper.decide.decide import decide, not_understood
from bayhelper.decide.due.alerts import next_due_utc, take_up, tick
from bayhelper.decide.due.foresee import coming_alerts
from bayhelper.decide.job.state import Job
from bayhelper.decide.outcome import Desk, Outcome
from bayhelper.decide.replay import apply
from bayhelper.hear.patience import is_whole
from bayhelper.remember.clips import NO_CLIP, Clips
from bayhelper.remember.journal import Journal
from bayhelper.run.air_watch import AirWatch
from bayhelper.run.mouth import Speaks
from bayhelper.run.photo_watch import PhotoWatch
from bayhelper.run.timeline import Timeline
from bayhelper.speak.names import Names
from bayhelper.speak.phrasing import words
from bayhelper.terms.body import Body
from bayhelper.terms.command import Command
from bayhelper.terms.effects import Effect, ReadNoteBack, Tone, Volume
from bayhelper.terms.errors import RecordError
from bayhelper.terms.events import ClockSet, Decision, Event, SpeechHeard, Spoken
from bayhelper.terms.ports import Listener, Offer
from bayhelper.terms.saying import Saying
from bayhelper.terms.scope import Scope
from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import UNSAID, Hearing, Utterance
from bayhelper.understand.offer import Library

UNDISTURBED = timedelta(seconds=2)
"""So shortly before an alert no photograph is copied: it might come late."""
Cause = Literal["command", "deadline", "utterance", "repair"]


class Bay:
    """One bay at work: follows at most one open job, and keeps its deadlines."""

    def __init__(
        self,
        *,
        journal: Journal,
        clips: Clips,
        ear: Listener,
        library: Library,
        mouth: Speaks,
        timeline: Timeline,
        desk: Desk,
        scope: Scope,
        job: Job | None,
        follow_on_s: float,
        foresee: int = 0,
        air_watch: AirWatch | None = None,
        photo_watch: PhotoWatch | None = None,
    ) -> None:
        """`foresee` says how many alerts to come have their sentences rendered ahead; the watches
        are asked for new rows of a logger, and new photographs, as time passes.
        """
        self._journal = journal
        self._clips = clips
        self._ear = ear
        self._library = library
        self._mouth = mouth
        self._timeline = timeline
        self._desk = desk
        self._settings_scope = scope
        self._follow_on_s = follow_on_s
        self._foresee = foresee
        self._air_watch = air_watch
        self._photo_watch = photo_watch
        self._follow_until_utc: datetime | None = None
        self._heard = 0
        self.job = job

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
        if self._air_watch is not None and self.job is not None:
            self._look_at_air(self._air_watch, self.job, now_utc)
        if self._photo_watch is not None and self.job is not None:
            self._look_for_photos(self._photo_watch, self.job, now_utc)

    def _look_for_photos(self, watch: PhotoWatch, job: Job, now_utc: datetime) -> None:
        due_utc = self.next_due_utc()
        if due_utc is not None and due_utc < now_utc + UNDISTURBED:
            return
        kept, fault = watch.look(job, now_utc)
        if fault:
            self._timeline.notice(fault)
        if kept:
            self._settle(now_utc, Outcome(kept), cause="repair")

    def _look_at_air(self, watch: AirWatch, job: Job, now_utc: datetime) -> None:
        row, fault = watch.look(now_utc)
        if fault:
            self._timeline.notice(fault)
        if row is None:
            return
        outcome = air_measured(job, row.temp_c, row.rh_percent, row.at_utc, now_utc)
        if outcome.events:
            self._settle(now_utc, outcome, cause="deadline")

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
        self._follow_until_utc = None
        self._mouth.speaking_until_utc = now_utc

    def take_up(self, now_utc: datetime) -> None:
        """After a start: say at once what is overdue, with its true age."""
        if self.job is None:
            return
        outcome = take_up(self.job, now_utc)
        if outcome.events or outcome.effects:
            self._settle(now_utc, outcome, cause="deadline")
        else:
            self._prepare()

    def take(self, utterance: Utterance, at_utc: datetime) -> Hearing:
        """Listen to one utterance, decide, record, then act."""
        self.pass_time(at_utc)
        hearing = self._ear.listen(utterance, self.offer(), self._follows_on(at_utc))
        self.act_on(hearing, at_utc)
        return hearing

    def is_whole(self, utterance: Utterance, at_utc: datetime) -> bool:
        """Whether what was said up to a pause is a whole command, so that it may end there."""
        if self.job is not None and self.job.dictating:
            return False
        offer = self.offer()
        return is_whole(self._ear.listen(utterance, offer, self._follows_on(at_utc)), offer)

    def _follows_on(self, at_utc: datetime) -> bool:
        """Whether what is said now is for the helper without an address, as a note always is."""
        if self.job is not None and self.job.dictating:
            return True
        return self._follow_until_utc is not None and at_utc <= self._follow_until_utc

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
        self._settle(
            at_utc,
            decide(self.job, command, at_utc, self._desk),
            cause="command",
            command=command,
        )

    def offer(self) -> Offer:
        """What may be said now."""
        return self._library.offer(self.scope())

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
        sound = hearing.utterance.sound
        clip = self._clips.keep(job.id, self._utterance_id(job), sound) if sound else NO_CLIP
        transcript = hearing.evidence.free_text if hearing.evidence else hearing.text
        outcome = keep_note_clip(
            job, clip.name, hearing.audio_s, transcript, at_utc, clip_sha256=clip.sha256
        )
        self._settle(at_utc, outcome, cause="utterance")

    def _utterance_id(self, job: Job) -> str:
        self._heard += 1
        return f"u{job.number + 1:04d}-{self._heard:03d}"

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
        spoken = [(say, self._words(say)) for say in outcome.effects if isinstance(say, Saying)]
        job_id = self.job.id if self.job else self._desk.next_job
        events: tuple[Event, ...] = outcome.events
        if self.job is not None or events:
            heard = self._heard_event(hearing, at_utc) if hearing else ()
            said = tuple(
                Spoken(at_utc=at_utc, topic=say.topic, text=text) for say, text in spoken if text
            )
            decision = Decision(
                job=job_id,
                number=self.job.number + 1 if self.job else 1,
                at_utc=at_utc,
                cause=cause,
                command=command.name if command else "",
                slots=dict(command.slots) if command else {},
                events=(*events, *heard, *said),
            )
            self._journal.append(decision)
            self.job = apply(self.job, decision)
            for event in decision.events:
                self._timeline.event(event, at_utc)
        texts = iter(text for _, text in spoken)
        for effect in outcome.effects:
            self._perform(effect, next(texts) if isinstance(effect, Saying) else "", at_utc)
        if self.job is not None and self.job.closed_at_utc is not None:
            self.job = None
            self._desk = replace(self._desk, next_job=self._journal.next_job_id(at_utc))
        self._prepare()

    def _prepare(self) -> None:
        """Have the sentences of the alerts that come next rendered, while there is time."""
        if self._foresee:
            coming = coming_alerts(self.job, self._foresee) if self.job else ()
            self._mouth.prepare([text for say in coming if (text := self._words(say))])

    def _heard_event(self, hearing: Hearing, at_utc: datetime) -> tuple[Event, ...]:
        job = self.job
        utterance = self._utterance_id(job) if job else "u0001-000"
        sound, job_id = hearing.utterance.sound, job.id if job else self._desk.next_job
        clip = self._clips.keep(job_id, utterance, sound) if sound else NO_CLIP
        command = hearing.command
        heard = SpeechHeard(
            at_utc=at_utc,
            utterance=utterance,
            text=hearing.text,
            command=command.name if command else "",
            slots=dict(command.slots) if command else {},
            accepted=hearing.accepted,
            why=hearing.why,
            confidence=round(hearing.confidence, 3),
            engine=hearing.engine,
            clip=clip.name,
            clip_sha256=clip.sha256,
        )
        return (heard,)

    def _words(self, say: Saying) -> str:
        job = self.job
        body: Body = job.body if job else self._settings_scope.body
        dialect = job.dialect if job else self._settings_scope.dialect
        return words(say, Names(body, dialect), self._desk.chatter)

    def _perform(self, effect: Effect, text: str, at_utc: datetime) -> None:
        if isinstance(effect, Saying):
            self._mouth.say(at_utc, effect, text)
        elif isinstance(effect, Tone):
            self._mouth.tone(at_utc, effect)
        elif isinstance(effect, Volume):
            self._mouth.volume(effect)
        elif isinstance(effect, ReadNoteBack):
            self._mouth.read_back(at_utc, self._note_sounds(effect.note))
        if not (isinstance(effect, Saying) and effect.manner == "alert"):
            until_utc = max(at_utc, self._mouth.speaking_until_utc)
            self._follow_until_utc = until_utc + timedelta(seconds=self._follow_on_s)

    def _note_sounds(self, note_id: str) -> tuple[Sound, ...]:
        job = self.job
        if job is None:
            return ()
        clips = next((note.clips for note in job.notes if note.id == note_id), ())
        sounds = []
        for clip in clips:
            try:
                sounds.append(self._clips.read(job.id, clip))
            except RecordError as error:
                self._timeline.notice(str(error))
        return tuple(sounds)
