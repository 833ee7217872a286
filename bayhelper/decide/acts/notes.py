"""Dictated notes: kept as sound first, with the best transcript there is."""

from __future__ import annotations

from datetime import datetime

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.answers import text_slot
from bayhelper.decide.job.state import Job
from bayhelper.decide.outcome import Outcome
from bayhelper.terms import events as ev
from bayhelper.terms.command import COMMANDS, Command
from bayhelper.terms.effects import Listen, ReadNoteBack, Say, Tone
from bayhelper.terms.errors import DecisionError


def take_note(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Dictation begins: everything said is the note until its end, or the next act."""
    note = f"n{len(job.notes) + 1}"
    started = ev.NoteStarted(
        at_utc=at_utc, note=note, panel=text_slot(command, "panel"), by=text_slot(command, "by")
    )
    return Outcome((started,), (Tone("listening"), Listen("note")))


def end_note(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Dictation ends."""
    note = job.notes[-1].id
    ended = ev.NoteEnded(at_utc=at_utc, note=note)
    return Outcome((ended,), (Say("note_kept", {"note": note}), Listen("normal")))


def ended_by(job: Job, command: Command, at_utc: datetime) -> tuple[ev.Event, ...]:
    """The end of a note that was forgotten: the next act ends it, a question does not."""
    acts = COMMANDS[command.name].undoable or command.name == "close_job"
    if not (job.dictating and acts):
        return ()
    return (ev.NoteEnded(at_utc=at_utc, note=job.notes[-1].id),)


def read_note(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """The last note is played back."""
    if not job.notes:
        return answers.answer("no_note")
    note = job.notes[-1]
    said = Say("note_reads", {"note": note.id, "text": note.text})
    return Outcome((), (said, ReadNoteBack(note.id)))


def keep_note_clip(
    job: Job,
    clip: str,
    length_s: float,
    transcript: str,
    at_utc: datetime,
    *,
    clip_sha256: str = "",
) -> Outcome:
    """A stretch of dictation is on disk.

    Raises DecisionError when no note is being dictated.
    """
    if not job.dictating or not job.notes:
        raise DecisionError("A stretch of dictation came while no note was being taken.")
    kept = ev.NoteClipKept(
        at_utc=at_utc,
        note=job.notes[-1].id,
        clip=clip,
        length_s=length_s,
        transcript=transcript,
        clip_sha256=clip_sha256,
    )
    return answers.noted(kept)
