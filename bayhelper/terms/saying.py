"""What every sentence of the helper has in common: manner, urgency and the key of its kind."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import IntEnum
from typing import ClassVar, Literal

Manner = Literal["reply", "alert", "question", "refusal"]
"""How a sentence is meant. After all but an alert the ear stays open for a follow-on command."""


class Urgency(IntEnum):
    """How soon a person has to act; three levels, told apart by rhythm and pitch."""

    SOFT = 1
    """Good to know: a trial may be made, look again, clean the pad."""
    DUE = 2
    """Act now: wipe off, rinse."""
    URGENT = 3
    """The panel is closing or overdue."""


@dataclass(frozen=True, kw_only=True)
class Saying:
    """A sentence to be spoken, one class a sentence. The words are made by `speak`.

    The last word of a class's name tells its manner, the words before it the topic:
    `DirtyPadGuard` is a refusal of the topic 'dirty_pad'.
    """

    _MANNERS: ClassVar[dict[str, Manner]] = {
        "Reply": "reply",
        "Alert": "alert",
        "Question": "question",
        "Refusal": "refusal",
        "Guard": "refusal",
    }
    _TONE: ClassVar[Urgency | None] = None
    always_said: ClassVar[bool] = False
    """Whether it is said in words where acknowledgements are a tone: numbers are read back, and
    safety, what was taken back and what ends listening are told at every level."""

    def __init_subclass__(
        cls, *, urgency: Urgency | None = None, always_said: bool = False
    ) -> None:
        cls._TONE = urgency
        cls.always_said = always_said

    @property
    def topic(self) -> str:
        """Key of the sentence in record and timeline, such as 'covered' or 'dirty_pad'."""
        return topic_of(type(self))

    @property
    def manner(self) -> Manner:
        """How it is meant, by the last word of its class."""
        return self._MANNERS[re.findall("[A-Z][a-z]*", type(self).__name__)[-1]]

    @property
    def urgency(self) -> Urgency | None:
        """Tone that comes first; None for a plain reply."""
        return self._TONE


def topic_of(kind: type[Saying]) -> str:
    """Key of the sentences of a class: its name in snake case, without the manner."""
    return "_".join(re.findall("[A-Z][a-z]*", kind.__name__)[:-1]).lower()


@dataclass(frozen=True)
class Called:
    """One of the things that an alert calls for."""

    alert: str
    """Name of its kind, such as 'wipe_now'."""
    subject: str
    """What it is about: a part ('roof', 'bonnet/left'), an agent, 'pad'."""
    due_in_s: float
    """Seconds until it is due; negative when it was."""
    left_s: float
    """Seconds until it is too late."""
    urgency: Urgency
    """How soon it wants to be acted on."""
    for_whom: str
    """Name of the person it is for; '' for whoever is near."""


@dataclass(frozen=True, kw_only=True)
class DueAlert(Saying):
    """What falls due, in one sentence, the most urgent first."""

    called: tuple[Called, ...]
    """At least one."""
    neighbours: tuple[str, ...]
    """Panels across the bare seams of the first."""
    reason: str
    """Why the first matters, in one clause, for the teaching level; '' where there is no time."""

    @property
    def topic(self) -> str:
        """The kind of the first."""
        return self.called[0].alert

    @property
    def urgency(self) -> Urgency:
        """That of the first."""
        return self.called[0].urgency
