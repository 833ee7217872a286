"""Words about dictated notes, kept and read back."""

from __future__ import annotations

from bayhelper.speak.wording import says, told
from bayhelper.terms.subjects import notes as say

SENTENCES = (
    says(say.NoteKeptReply, "Note kept."),
    says(say.NoNoteReply, "No note yet."),
    says(say.NoteReadsReply, lambda saying, _: told(saying.text) or "The note has no words."),
)
"""What is said about notes."""
