"""Hearing, speaking, questions, alerts: what can happen, and what is said of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from bayhelper.terms.choices import AnswerKind, Settled
from bayhelper.terms.command import SlotValue
from bayhelper.terms.fact import Event
from bayhelper.terms.saying import Saying


@dataclass(frozen=True, kw_only=True)
class SpeechHeard(Event):
    utterance: str
    """Id of the utterance, unique in the job."""
    text: str
    """What was read."""
    command: str = ""
    """Name of the command understood, or empty."""
    slots: dict[str, SlotValue] = field(default_factory=dict)
    """Its slots."""
    accepted: bool
    """Whether it was acted on."""
    why: str = ""
    """Reason."""
    confidence: float = 0.0
    """0 to 1."""
    engine: str = ""
    """Who read it."""
    clip: str = ""
    """File name of the FLAC in the job's folder; empty for a typed line."""
    clip_sha256: str = ""
    """SHA-256 of that file in hexadecimal digits; empty for a typed line."""


@dataclass(frozen=True, kw_only=True)
class Misheard(Event):
    decision: int
    """Number of the decision that came of a misheard recording."""


@dataclass(frozen=True, kw_only=True)
class Undone(Event):
    decision: int
    """Number of the decision taken back."""
    command: str
    """Its command."""


@dataclass(frozen=True, kw_only=True)
class Spoken(Event):
    topic: str
    """Key of the sentence."""
    text: str
    """The words."""


@dataclass(frozen=True, kw_only=True)
class QuestionAsked(Event):
    topic: str
    """What was asked or refused, such as 'dirty_pad'."""
    command: str
    """Command that waits for the answer."""
    slots: dict[str, SlotValue] = field(default_factory=dict)
    """Its slots."""
    answer: AnswerKind
    """What kind of answer it takes."""
    choices: tuple[str, ...] = ()
    """Parts to choose from, for 'which': answered by naming one."""


@dataclass(frozen=True, kw_only=True)
class QuestionSettled(Event):
    answer: Settled
    """How it ended."""


@dataclass(frozen=True, kw_only=True)
class AlertRaised(Event):
    alert: str
    """Kind: 'trial_ready', 'wipe_now', 'closing', 'overdue', 'recoat_open', 'recoat_closing',
    'recoat_missed', 'dwell_due', 'dwell_over', 'look_again', 'pad_due', 'bare_seams',
    'towels_due', 'residue_due', 'prep_stale', 'air_stale'."""
    subject: str
    """What it is about: a part ('roof', 'bonnet/left'), an agent, 'pad'."""
    due_at_utc: datetime
    """When it fell due."""
    repeat: int = 0
    """0 for the first time, then 1, 2 ..."""


@dataclass(frozen=True, kw_only=True)
class AlertAnswered(Event):
    urgency: int
    """Level that was silenced."""
    subjects: tuple[str, ...] = ()
    """What it was about."""


@dataclass(frozen=True, kw_only=True)
class ListeningSet(Event):
    mode: Literal["asleep", "awake"]
    """Whether commands are acted on."""


@dataclass(frozen=True, kw_only=True)
class NothingToUndoReply(Saying):
    """Nothing can be taken back."""


@dataclass(frozen=True, kw_only=True)
class UndoneReply(Saying, always_said=True):
    """The last act is taken back."""

    act: str
    """What is taken back, as the row of the act names it; empty for nothing."""
    panel: str
    """Panel it was about; empty for none."""


@dataclass(frozen=True, kw_only=True)
class MisheardQuestion(Saying):
    """The last command was misheard: say it again."""

    act: str
    """What is taken back, as the row of the act names it; empty for nothing."""
    panel: str
    """Panel it was about; empty for none."""


@dataclass(frozen=True, kw_only=True)
class QuieterReply(Saying):
    """Softer from now on."""


@dataclass(frozen=True, kw_only=True)
class LouderReply(Saying):
    """Louder from now on."""


@dataclass(frozen=True, kw_only=True)
class AsleepReply(Saying, always_said=True):
    """Commands are no longer acted on."""


@dataclass(frozen=True, kw_only=True)
class AwakeReply(Saying):
    """Commands are acted on again."""


@dataclass(frozen=True, kw_only=True)
class DidYouMeanQuestion(Saying):
    """The nearest thing that could be meant."""

    phrase: str
    """As it would be said."""


@dataclass(frozen=True, kw_only=True)
class LookAtBoardRefusal(Saying):
    """Not understood for the third time in a row."""


@dataclass(frozen=True, kw_only=True)
class NotNowRefusal(Saying):
    """That may not be asked for in this stage."""

    stage: str
    """Stage that is running."""


@dataclass(frozen=True, kw_only=True)
class PanelNotNowRefusal(Saying):
    """The panel cannot take that as it stands."""

    panel: str
    """Panel id."""
    half: str
    """Half, or empty for the whole panel."""
    state: str
    """State of its machine."""


@dataclass(frozen=True, kw_only=True)
class NoSuchPanelRefusal(Saying):
    """This car has no such panel."""


@dataclass(frozen=True, kw_only=True)
class NothingAskedReply(Saying):
    """No question waits for an answer."""


@dataclass(frozen=True, kw_only=True)
class LeftAloneReply(Saying):
    """What was asked about is not done."""
