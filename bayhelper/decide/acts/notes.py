"""Dictated notes: kept as sound first, with the best transcript there is."""

from __future__ import annotations

from datetime import datetime

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.act import Act, Asked
from bayhelper.decide.job.state import Job
from bayhelper.decide.outcome import Outcome
from bayhelper.terms import events as ev
from bayhelper.terms.effects import ReadNoteBack, Tone
from bayhelper.terms.errors import DecisionError
from bayhelper.terms.slots import PANEL
from bayhelper.terms.subjects import notes as say


def take_note(asked: Asked) -> Outcome:
    """Dictation begins: everything said is the note until its end, or the next act."""
    note = f"n{len(asked.job.notes) + 1}"
    started = ev.NoteStarted(at_utc=asked.at_utc, note=note, panel=asked.panel, by=asked.by)
    return Outcome((started,), (Tone("listening"),))


def end_note(asked: Asked) -> Outcome:
    """What is said from now on is no longer the note."""
    ended = ev.NoteEnded(at_utc=asked.at_utc, note=asked.job.notes[-1].id)
    return answers.did((ended,), say.NoteKeptReply())


def ended(job: Job, at_utc: datetime) -> tuple[ev.Event, ...]:
    """The end of a note that was forgotten, where one is open: the next act ends it."""
    return (ev.NoteEnded(at_utc=at_utc, note=job.notes[-1].id),) if job.dictating else ()


def read_note(asked: Asked) -> Outcome:
    """The last note is played back."""
    if not asked.job.notes:
        return answers.answer(say.NoNoteReply())
    note = asked.job.notes[-1]
    return Outcome((), (say.NoteReadsReply(text=note.text), ReadNoteBack(note.id)))


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
        raise DecisionError(
            "A stretch of dictation came while no note was being taken. Begin a note first."
        )
    kept = ev.NoteClipKept(
        at_utc=at_utc,
        note=job.notes[-1].id,
        clip=clip,
        length_s=length_s,
        transcript=transcript,
        clip_sha256=clip_sha256,
    )
    return answers.noted(kept)


ACTS = (
    Act(
        "take_note",
        "Begin dictation.",
        take_note,
        may=(PANEL,),
        when=lambda job: not job.dictating,
    ),
    Act("end_note", "End dictation.", end_note, when=lambda job: job.dictating),
    Act("read_note", "Read back the last note.", read_note),
)
"""What can be asked for about notes."""
