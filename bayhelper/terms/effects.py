"""What follows once a decision is on disk: speech, a tone, listening differently."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from bayhelper.terms.saying import Saying, Urgency

Chatter = Literal["quiet", "normal", "teaching"]
"""How much is said: acknowledgements as a tone only; in words; with the reasons as well."""


Value = str | float | int | bool | tuple[str, ...] | tuple[float, ...]


@dataclass(frozen=True)
class Say:
    """A sentence to be spoken; the words are made by `speak`, not by `decide`."""

    topic: str
    """Key of the sentence, for example 'covered' or 'overdue'."""
    params: dict[str, Value] = field(default_factory=dict)
    """What the sentence needs; units are in the names (`due_in_s`, `film_um`)."""
    urgency: Urgency | None = None
    """Tone that comes first; None for a plain reply."""
    kind: Literal["reply", "alert", "question", "refusal"] = "reply"
    """A reply opens the follow-on window when it ends; an alert does not."""


@dataclass(frozen=True)
class Tone:
    """A sound without words."""

    name: Literal["soft", "due", "urgent", "not_understood", "listening", "noted"]
    """Which pattern."""


@dataclass(frozen=True)
class Listen:
    """A change of how the ear listens."""

    mode: Literal["normal", "asleep", "note", "follow_on"]
    """asleep: only 'wake' is acted on; note: everything is dictation until the end of the note."""


@dataclass(frozen=True)
class Volume:
    """A change of loudness or chattiness."""

    step: Literal["quieter", "louder", "hush"]
    """hush silences the voice of the present urgency only."""


@dataclass(frozen=True)
class ReadNoteBack:
    """Play a kept note."""

    note: str
    """Id of the note."""


Effect = Say | Saying | Tone | Listen | Volume | ReadNoteBack
