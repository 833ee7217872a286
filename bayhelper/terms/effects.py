"""What follows once a decision is on disk: a sentence, a tone, another loudness."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bayhelper.terms.saying import Saying

Chatter = Literal["quiet", "normal", "teaching"]
"""How much is said: acknowledgements as a tone only; in words; with the reasons as well."""


@dataclass(frozen=True)
class Tone:
    """A sound without words."""

    name: Literal["soft", "due", "urgent", "not_understood", "listening", "noted"]
    """Which pattern."""


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


Effect = Saying | Tone | Volume | ReadNoteBack
