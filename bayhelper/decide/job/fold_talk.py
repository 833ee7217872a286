"""How talking changes the job: questions, alerts, notes, and whether commands are acted on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any, TypeVar

from bayhelper.decide.job.state import AlertMemory, Job, Note, Question
from bayhelper.terms import events as ev

Kind = TypeVar("Kind", bound=ev.Event)
Row = tuple[type[ev.Event], Callable[[Job, Any], Job]]
"""A kind of fact, and what gives the job after one of it."""


def on(kind: type[Kind], change: Callable[[Job, Kind], Job]) -> Row:
    """One row of the fold; the change must take that kind of fact."""
    return kind, change


def _unchanged(job: Job, e: ev.Event) -> Job:
    """What the whole history is read for, and not the job as it stands (see decide.replay)."""
    return job


def _note_clip(job: Job, e: ev.NoteClipKept) -> Job:
    def longer(note: Note) -> Note:
        if note.id != e.note:
            return note
        return replace(
            note,
            clips=(*note.clips, e.clip) if e.clip else note.clips,
            transcripts=(*note.transcripts, e.transcript) if e.transcript else note.transcripts,
        )

    return replace(job, notes=tuple(longer(note) for note in job.notes))


def _note_transcribed(job: Job, e: ev.NoteTranscribed) -> Job:
    notes = (replace(n, again=e.transcript) if n.id == e.note else n for n in job.notes)
    return replace(job, notes=tuple(notes))


def _raised(job: Job, e: ev.AlertRaised) -> Job:
    memory = AlertMemory(due_at_utc=e.due_at_utc, raised_at_utc=e.at_utc, repeat=e.repeat)
    old = job.alerts.get((e.alert, e.subject))
    if old is not None and old.due_at_utc == e.due_at_utc:
        memory = replace(memory, answered=old.answered)
    return replace(job, alerts=job.alerts | {(e.alert, e.subject): memory})


def _answered(job: Job, e: ev.AlertAnswered) -> Job:
    silenced = {
        key: replace(memory, answered=True)
        for key, memory in job.alerts.items()
        if f"{key[0]}:{key[1]}" in e.subjects
    }
    return replace(job, alerts=job.alerts | silenced)


def _asked(job: Job, e: ev.QuestionAsked) -> Job:
    question = Question(e.topic, e.command, dict(e.slots), e.answer, e.choices)
    return replace(job, question=question)


def _heard(job: Job, e: ev.SpeechHeard) -> Job:
    return job if e.accepted else replace(job, misses=job.misses + 1)


def _note_started(job: Job, e: ev.NoteStarted) -> Job:
    note = Note(id=e.note, panel=e.panel, started_at_utc=e.at_utc)
    return replace(job, notes=(*job.notes, note), dictating=True)


TALK_CHANGES: tuple[Row, ...] = (
    on(ev.Misheard, _unchanged),
    on(ev.Undone, _unchanged),
    on(ev.SpeechHeard, _heard),
    on(ev.Spoken, lambda j, e: replace(j, last_spoken=e.text)),
    on(ev.QuestionAsked, _asked),
    on(ev.QuestionSettled, lambda j, e: replace(j, question=None)),
    on(ev.AlertRaised, _raised),
    on(ev.AlertAnswered, _answered),
    on(ev.NoteStarted, _note_started),
    on(ev.NoteClipKept, _note_clip),
    on(ev.NoteTranscribed, _note_transcribed),
    on(ev.NoteEnded, lambda j, e: replace(j, dictating=False)),
    on(ev.ListeningSet, lambda j, e: replace(j, asleep=e.mode == "asleep")),
)
"""The change that each fact about talking makes."""
