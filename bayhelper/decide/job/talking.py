"""Which facts are talk: a decision that holds nothing else cannot be taken back."""

from __future__ import annotations

from bayhelper.terms import events as ev

TALK = (
    ev.SpeechHeard,
    ev.Spoken,
    ev.QuestionAsked,
    ev.QuestionSettled,
    ev.AlertRaised,
    ev.AlertAnswered,
    ev.Misheard,
    ev.NoteStarted,
    ev.NoteClipKept,
    ev.NoteTranscribed,
    ev.NoteEnded,
    ev.PhotoKept,
)
"""Facts about talking, notes and pictures."""


def is_talk(event: ev.Event) -> bool:
    """Whether the fact stays when the decision it came with is taken back."""
    return isinstance(event, TALK)
